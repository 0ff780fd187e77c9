"""Shots: one declaration, read and written as TOML."""

from pathlib import Path

import pytest

from render.errors import InputError, OutputError, SettingError
from render.files.shipped import shipped_maps
from render.files.shots import read_shot, write_shot
from render.shot.declaring import PictureSpot
from render.shot.shot import Shot, merged

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
    marked = read_shot(_write(tmp_path, f"\ufeff{ROOF}"))  # as some editors begin a file

    assert (marked.picture, marked.lens) == (shot.picture, shot.lens)
    assert shot.picture == str(tmp_path / "roof.jpg")
    assert shot.vantage.height_m == 12
    assert shot.vantage.horizon == (0.08, True)
    assert (shot.lens.focal_mm, shot.lens.f_number, shot.lens.tilt_deg) == (45, 2.8, -8)
    assert shot.lens.focus == PictureSpot(0.5, 0.62, x_is_share=True, y_is_share=True)


def test_a_shot_survives_writing(tmp_path: Path) -> None:
    """What is written reads back as the same shot, from another folder too."""
    shot = read_shot(_write(tmp_path, f'{ROOF}film-length = "1 min"\n'))
    other = tmp_path / "elsewhere"
    other.mkdir()

    write_shot(other / "copy.toml", shot)

    again = read_shot(other / "copy.toml")
    assert Path(again.picture or "").resolve() == (tmp_path / "roof.jpg").resolve()
    assert (again.film_s, shot.film_s) == (60.0, 60.0)
    assert (again.vantage, again.lens, again.camera) == (shot.vantage, shot.lens, shot.camera)


def test_the_planned_sensor_has_a_name_of_its_own_in_a_file(tmp_path: Path) -> None:
    """`--format 44x33` beside the file's own format, and back."""
    shot = merged(read_shot(_write(tmp_path, ROOF)), {"format": "44x33"}, "{name}")
    write_shot(tmp_path / "copy.toml", shot)

    assert 'planned-format = "44x33"' in (tmp_path / "copy.toml").read_text()
    assert read_shot(tmp_path / "copy.toml").camera.sensor_mm == (44, 33)


@pytest.mark.parametrize(
    ("old", "new", "sentence"),
    [
        ('tilt = "up 8"', 'tilt = "8"', r"roof.toml, tilt: .*one direction"),
        ('tilt = "up 8"', 'tild = "up 8"', r"tild is not known \(is tilt meant\?\); known are"),
        ("format = 1", "format = 7", r"format = 7 is not known; write format = 1"),
        ("format = 1", "", r"add the line format = 1"),
        ("lens = 45", "lens = [45]", r"lens = \[45\]: give a number"),
        ("lens = 45", 'check = "Ann=5%,5%"', r'in brackets, check = \["Ann=5%,5%"\]$'),
        ("lens = 45", "fnumber = 5.6", r"fnumber is not known \(is f meant\?\)"),
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
    with pytest.raises(InputError, match=r"nothing\.toml is not there"):
        read_shot(tmp_path / "nothing.toml")


def test_a_shipped_map_is_written_by_name(tmp_path: Path) -> None:
    """So that the shot reads back on another machine, where it lies elsewhere."""
    path = tmp_path / "quillby.toml"

    write_shot(path, Shot(scene=str(shipped_maps()["quillby"])))

    assert 'scene = "quillby"' in path.read_text(encoding="utf-8")
    assert read_shot(path).scene == str(shipped_maps()["quillby"])


def test_names_that_are_no_text_are_refused(tmp_path: Path) -> None:
    """A file name that is not UTF-8 can't stand in a shot file: one sentence, nothing written."""
    with pytest.raises(OutputError, match="no text in UTF-8"):
        write_shot(tmp_path / "a.toml", Shot(picture="roof\udcff.jpg"))

    assert list(tmp_path.iterdir()) == []
