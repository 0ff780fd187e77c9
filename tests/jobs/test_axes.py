"""Axes: read as written, ready-made sheets, words."""

import numpy as np
import pytest

from render.errors import InputError, SettingError
from render.jobs.axes import KINDS, Axis, axes_of, axis_words, parse_axis, varied
from render.optics.camera import Camera
from render.optics.lens import FocusDistance, FocusSpot, LensSetting
from render.scene.scene import Scene
from render.shot.shot import Shot, merged

SCENE = Scene(
    np.full((40, 60, 3), 0.2, np.float32), np.full((40, 60), 20.0, np.float32), Camera(60, 40, 60.0)
)
SETTING = LensSetting(
    focal_mm=45, f_number=5.6, tilt_deg=-8, swing_deg=3, rise_mm=6, focus=FocusDistance(20)
)


@pytest.mark.parametrize(
    ("text", "axis"),
    [
        ("f=2.8,4, 5.6", Axis("f", ("2.8", "4", "5.6"))),
        ("--tilt = up 4, down 4", Axis("tilt", ("up 4", "down 4"))),
        ("focus=50%,40%; 50%,60%", Axis("focus", ("50%,40%", "50%,60%"))),
        ("height=1 storey", Axis("height", ("1 storey",))),
    ],
)
def test_axes_are_read_as_people_write_them(text: str, axis: Axis) -> None:
    """A name, a sign, values between commas, or between semicolons where they hold commas."""
    assert parse_axis(text) == axis


@pytest.mark.parametrize("text", ["f", "colour=1,2", "f=", "=2", "f=,,", ""])
def test_what_is_no_axis_is_refused(text: str) -> None:
    """The sentence says how to write one."""
    with pytest.raises(SettingError, match=r"f=2\.8,4"):
        parse_axis(text)


@pytest.mark.parametrize(("text", "near"), [("tillt=up 3", "tilt"), ("aperture=2,4", "f")])
def test_a_mistyped_axis_is_answered_with_the_nearest(text: str, near: str) -> None:
    """What is meant is named, and only settings that are varied are listed, with words."""
    with pytest.raises(SettingError, match=rf"did you mean {near}\?") as refused:
        parse_axis(text)
    assert "depth-kind" not in str(refused.value)
    assert "swing (lens left or right)" in str(refused.value)


def test_a_value_that_cannot_be_read_names_its_axis() -> None:
    """Tilt without a direction: the sentence names the axis."""
    with pytest.raises(SettingError, match="axis tilt"):
        varied(Shot(picture="a.jpg"), (Axis("tilt", ("8",)),))


def test_two_axes_give_every_combination_last_fastest() -> None:
    """Rows of tilt, columns of f-number."""
    made = varied(Shot(picture="a.jpg"), (Axis("tilt", ("up 4", "0")), Axis("f", ("2.8", "8"))))

    assert [values for values, _ in made] == [
        ("up 4", "2.8"),
        ("up 4", "8"),
        ("0", "2.8"),
        ("0", "8"),
    ]
    assert [(s.lens.tilt_deg, s.lens.f_number) for _, s in made] == [
        (-4, 2.8),
        (-4, 8),
        (0, 2.8),
        (0, 8),
    ]


def test_the_stop_sheet_goes_from_wide_open_to_f16() -> None:
    """Whole stops from the shot's own f-number, f/2.8 where none is given."""
    wide = merged(Shot(picture="a.jpg"), {"f": "3.5"}, "{name}")

    assert axes_of("stops", Shot(picture="a.jpg"), SCENE)[0].values == (
        *("2.8", "4", "5.6"),
        *("8", "11", "16"),
    )
    assert axes_of("stops", wide, SCENE)[0].values == ("3.5", "4", "5.6", "8", "11", "16")


def test_the_grid_tilts_both_ways() -> None:
    """Up and down by the shot's tilt and half of it, and none."""
    down, across = axes_of("grid", merged(Shot(picture="a.jpg"), {"tilt": "up 6"}, "{name}"), SCENE)

    assert down.values == ("up 6", "up 3", "0", "down 3", "down 6")
    assert across.name == "f"


def test_the_lens_sheet_holds_only_lenses_that_fit() -> None:
    """The widest lens of the picture is 36 mm; nothing shorter is tried."""
    values = axes_of("lenses", Shot(picture="a.jpg"), SCENE)[0].values

    assert values[0] == "45"
    assert all(float(value) >= 36 for value in values)


def test_a_picture_has_one_vantage() -> None:
    """A vantage strip of a picture is refused, of a scene it is heights in storeys."""
    with pytest.raises(InputError, match="one place only"):
        axes_of("vantages", Shot(picture="a.jpg"), SCENE)

    assert axes_of("vantages", Shot(scene="market"), SCENE)[0].values[:4] == (
        *("1 storey", "2 storeys"),
        *("3 storeys", "4 storeys"),
    )


def test_an_unknown_sheet_is_refused_with_the_known_ones() -> None:
    """The sentence lists every kind."""
    with pytest.raises(SettingError, match=", ".join(KINDS)):
        axes_of("stripes", Shot(picture="a.jpg"), SCENE)


def test_values_are_said_in_words() -> None:
    """Each axis in the trade's words with its unit."""
    spot = LensSetting(focal_mm=45, f_number=4, focus=FocusSpot(0, 0, 29.0))

    assert [axis_words(n, "x", SETTING) for n in ("f", "lens", "tilt", "swing", "rise")] == [
        "f/5.6",
        "45 mm",
        "lens up 8°",
        "lens right 3°",
        "rise 6 mm",
    ]
    assert axis_words("focus", "50%,60%", spot) == "focus at 29.0 m (50%, 60%)"
    assert axis_words("focus", "20 m", SETTING) == "focus 20 m"
    assert axis_words("height", "4 storeys", SETTING) == "from 4 storeys"
    assert axis_words("blades", "7", SETTING) == "blades 7"
