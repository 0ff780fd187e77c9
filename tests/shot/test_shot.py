"""A shot: declared once, read in the words people use."""

from pathlib import Path

import pytest

from render.errors import SettingError
from render.optics.lens import FocusDistance, FocusExtension
from render.shot.declaring import PictureSpot
from render.shot.dialled import ExtensionOf
from render.shot.shot import Shot, input_files, merged, shot_keys
from render.shot.things import ThingName


def test_what_is_said_last_holds_in_whatever_words() -> None:
    """A horizon over a pitch, a view over a focal length; what is said at once stays together."""
    shot = merged(Shot(picture="a.jpg"), {"pitch": "12", "focal": "5", "sensor": "6x4"}, "")

    over = merged(shot, {"horizon": "8%", "view": "60"}, "")

    assert (over.vantage.pitch_deg, over.taken.focal_mm) == (None, None)
    assert dict(over.written) == {"sensor": "6x4", "horizon": "8%", "view": "60"}
    both = merged(Shot(picture="a.jpg"), {"pitch": "12", "horizon": "8%"}, "")
    assert (both.vantage.pitch_deg, both.vantage.horizon) == (12, (0.08, True))


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
        ("5' 2\"", FocusDistance(1.5748)),
        ("infinity", FocusDistance(float("inf"))),
        ("extension 46.2 mm", FocusExtension(46.2)),
        ("extension 46.2 mm of 45 mm", ExtensionOf(46.2, 45)),
    ],
)
def test_focus_is_a_spot_a_distance_or_an_extension(text: str, focus: object) -> None:
    """Each of the three ways to focus has one spelling."""
    assert merged(Shot(), {"focus": text}, "").lens.focus == focus


def test_a_ring_found_for_one_lean_is_set_anew_for_another() -> None:
    """On what is checked; where nothing is, it stays and that is said. A focus said again holds."""
    solved = {"swing": "right 8", "focus": "extension 48.5 mm"}
    checked = merged(Shot(scene="hall"), {**solved, "check": ("her face=face",)}, "")

    straight = merged(checked, {"swing": "0"}, "")

    assert straight.lens.focus == ThingName("face")
    assert dict(straight.written)["focus"] == "face"
    assert straight.ring.endswith("set anew on her face")
    two = merged(checked, {"check": ("her face=face", "his=door")}, "")
    assert "her face, the first of 2 to check; solve" in merged(two, {"swing": "0"}, "").ring
    for same in ({"swing": "right 8"}, {"f": "8"}, {"swing": "0", "focus": "extension 48.5 mm"}):
        assert merged(checked, same, "").lens.focus == FocusExtension(48.5)
        assert not merged(checked, same, "").ring
    unchecked = merged(merged(Shot(), solved, ""), {"tilt": "up 2"}, "")
    assert unchecked.lens.focus == FocusExtension(48.5)
    assert "is kept: give --focus" in unchecked.ring


@pytest.mark.parametrize("text", ["18", "1,2,3", "extension", "a,b"])
def test_an_unclear_focus_is_refused(text: str) -> None:
    """18 alone could be metres or pixels, so it is asked for again."""
    with pytest.raises(SettingError, match="focus: "):
        merged(Shot(), {"focus": text}, "{name}")


@pytest.mark.parametrize("text", ["Chapel Mole", "Museum", "Inn"])
def test_the_name_of_a_thing_is_a_focus(text: str) -> None:
    """Also one that ends like a length in metres."""
    assert merged(Shot(), {"focus": text}, "{name}").lens.focus == ThingName(text)


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


def test_a_moment_may_be_written_with_its_unit() -> None:
    """As key frames are; one beyond all reason is refused."""
    assert merged(Shot(), {"time": "250 ms"}, "{name}").demo.time_s == 0.25
    with pytest.raises(SettingError, match="later than any moment"):
        merged(Shot(), {"time": "9999999"}, "{name}")
