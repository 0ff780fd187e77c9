"""Axes: read as written, varied one by one."""

import pytest

from render.errors import SettingError
from render.shot.axes import Axis, parse_axis, varied
from render.shot.shot import Shot


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


@pytest.mark.parametrize(
    ("text", "near"),
    [
        ("tillt=up 3", "tilt"),
        ("aperture=2,4", "f"),
        ("sensor=36x24,23.6x15.7", "format"),
        ("focal=20,24", "lens"),
    ],
)
def test_a_mistyped_axis_is_answered_with_the_nearest(text: str, near: str) -> None:
    """What is meant is named, and only settings that are varied are listed, with words."""
    with pytest.raises(SettingError, match=rf"did you mean {near}\?") as refused:
        parse_axis(text)
    assert "depth-kind" not in str(refused.value)
    assert "swing (left or right)" in str(refused.value)


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
