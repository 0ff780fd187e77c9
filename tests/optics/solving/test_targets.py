"""What is asked for, and what the mount can turn."""

import math

import pytest

from render.errors import SettingError
from render.optics.solving.targets import Freedom, Target


def test_a_target_is_a_ray_and_a_depth() -> None:
    """A point 2 m right, 1 m down and 10 m ahead is on the ray of slopes 0.2 and 0.1."""
    target = Target.at(2, 1, 10, name="bench")

    assert (target.slope_x, target.slope_y, target.depth_m) == (0.2, 0.1, 10)
    assert Target(0.1, 0.1, math.inf).depth_m == math.inf


@pytest.mark.parametrize(
    ("make", "sentence"),
    [
        (lambda: Target.at(0, 1, -2, name="gate"), '"gate" lies behind the camera'),
        (lambda: Target.at(0, 1, 0), "behind the camera"),
        (lambda: Target(0, 0, math.nan), "behind the camera"),
        (lambda: Target(math.nan, 0, 5), "finite direction"),
        (lambda: Target(0, 0, 5, weight=0), "weight"),
        (lambda: Freedom(limit_deg=90), "tilt limit"),
        (lambda: Freedom(limit_deg=math.nan), "tilt limit"),
        (lambda: Freedom(tilt=False, tilt_deg=8, limit_deg=5), "held fixed"),
    ],
)
def test_impossible_wishes_are_refused(make: object, sentence: str) -> None:
    """A point behind the camera or without number, and limits that cannot be, are refused."""
    with pytest.raises(SettingError, match=sentence):
        make()  # type: ignore[operator]
