"""Shots: one declaration, read and written as TOML."""

from pathlib import Path

import pytest

from render.errors import InputError, SettingError
from render.files.shots import (
    PictureSpot,
    Shot,
    input_files,
    merged,
    read_shot,
    shot_keys,
    write_shot,
)
from render.optics.lens import FocusDistance, FocusExtension

ROOF = """
format = 1
picture = "roof.jpg"
height = "4 storeys"
horizon = "8%"
lens = 45
f = "f/2.8"
tilt = "up 8"
focus = "50%,62%"
"""


def _write(folder: Path, text: str) -> Path:
    path = folder / "roof.toml"
    path.write_text(text, encoding="utf-8")
    return path


def test_a_shot_reads_in_the_words_people_use(tmp_path: Path) -> None:
    """Numbers, units and directions become signed values; names are beside the file."""
    shot = read_shot(_write(tmp_path, ROOF))

    assert shot.picture == str(tmp_path / "roof.jpg")
    assert shot.vantage.height_m == 12
    assert shot.vantage.horizon == (0.08, True)
    assert (shot.lens.focal_mm, shot.lens.f_number, shot.lens.tilt_deg) == (45, 2.8, -8)
    assert shot.lens.focus == PictureSpot(0.5, 0.62, x_is_share=True, y_is_share=True)


def test_a_shot_survives_writing(tmp_path: Path) -> None:
    """What is written reads back as the same shot, from another folder too."""
    shot = read_shot(_write(tmp_path, ROOF))
    other = tmp_path / "elsewhere"
    other.mkdir()

    write_shot(other / "copy.toml", shot)

    again = read_shot(other / "copy.toml")
    assert Path(again.picture or "").resolve() == (tmp_path / "roof.jpg").resolve()
    assert (again.vantage, again.lens, again.camera) == (shot.vantage, shot.lens, shot.camera)


@pytest.mark.parametrize(
    ("old", "new", "sentence"),
    [
        ('tilt = "up 8"', 'tilt = "8"', r"roof.toml, tilt: .*one direction"),
        ('tilt = "up 8"', 'tild = "up 8"', r"tild is not known \(is tilt meant\?\); known are"),
        ("format = 1", "format = 7", r"format = 7 is not known; write format = 1"),
        ("format = 1", "", r"add the line format = 1"),
        ("lens = 45", "lens = [45]", r"lens = \[45\]: give a number"),
        ("lens = 45", "lens = -45", r"lens: .*above 0"),
        ('picture = "roof.jpg"', "picture = 3", r"picture = 3: give its name in quotes"),
        ('picture = "roof.jpg"', 'picture = "a"\nscene = "b"', "not both"),
        ("lens = 45", "lens = ", "not a readable TOML file"),
    ],
)
def test_mistakes_name_file_key_and_what_is_allowed(
    tmp_path: Path, old: str, new: str, sentence: str
) -> None:
    """A wrong key, type or value is refused in one sentence that says where."""
    path = _write(tmp_path, ROOF.replace(old, new))

    with pytest.raises((InputError, SettingError), match=sentence):
        read_shot(path)


def test_a_missing_shot_is_one_sentence(tmp_path: Path) -> None:
    """The name is in it."""
    with pytest.raises(InputError, match=r"nothing\.toml cannot be read"):
        read_shot(tmp_path / "nothing.toml")


def test_options_lie_over_a_shot() -> None:
    """A value given again replaces the one before, and only that one."""
    shot = merged(Shot(scene="market"), {"f": "4", "tilt": "up 3"}, "")

    again = merged(shot, {"f": "8"}, "")

    assert (again.lens.f_number, again.lens.tilt_deg) == (8, -3)


@pytest.mark.parametrize(
    ("text", "focus"),
    [
        ("812, 640", PictureSpot(812, 640, x_is_share=False, y_is_share=False)),
        ("18 m", FocusDistance(18)),
        ("infinity", FocusDistance(float("inf"))),
        ("extension 46.2 mm", FocusExtension(46.2)),
    ],
)
def test_focus_is_a_spot_a_distance_or_an_extension(text: str, focus: object) -> None:
    """Each of the three ways to focus has one spelling."""
    assert merged(Shot(), {"focus": text}, "").lens.focus == focus


@pytest.mark.parametrize("text", ["18", "near", "1,2,3", "extension", "a,b"])
def test_an_unclear_focus_is_refused(text: str) -> None:
    """18 alone could be metres or pixels, so it is asked for again."""
    with pytest.raises(SettingError, match="focus: "):
        merged(Shot(), {"focus": text}, "{name}")


@pytest.mark.parametrize("text", ["Chapel Mole", "Museum", "Inn"])
def test_the_name_of_a_thing_is_sent_to_solve(text: str) -> None:
    """Also one that ends like a length in metres."""
    with pytest.raises(SettingError, match=f"hingeline solve ... --sharp '{text}' works out"):
        merged(Shot(), {"focus": text}, "{name}")


def test_every_value_has_its_own_option() -> None:
    """A value's name in a file is its option without the dashes, and leads to where it lies."""
    for name, key in shot_keys().items():
        assert key.option == f"--{name}"
        assert hasattr(getattr(Shot(), key.table), key.attribute)


def test_input_files_are_all_that_a_shot_is_made_from() -> None:
    """Picture and depth file: neither of them may be written over."""
    given = {"depth": "d.npy", "height": "12"}
    shot = merged(Shot(picture="left.jpg"), given, "{name}")

    assert input_files(shot) == [Path("left.jpg"), Path("d.npy")]
    assert input_files(Shot(scene="market")) == []


def test_cats_eyes_are_said_in_one_phrase() -> None:
    """Light left and widest aperture together; one without the other is asked for again."""
    assert merged(Shot(), {"cats-eye": "50% at f/2.8"}, "").lens.cats_eye == (0.5, 2.8)
    for text in ("50%", "0.5 at f/2.8", "5% at 2.8", "50% at wide"):
        with pytest.raises(SettingError, match="cats-eye"):
            merged(Shot(), {"cats-eye": text}, "{name}")
