"""The vantage from what a shot says of it."""

import pytest

from render.errors import SettingError
from render.load.vantages import marks_of, vantage_of
from render.optics.camera import Camera
from render.shot.shot import Shot, merged

CAMERA = Camera(200, 100, 150.0)


def _shot(**given: object) -> Shot:
    return merged(Shot(), {k.replace("_", "-"): v for k, v in given.items()}, "--{name}")  # type: ignore[misc]


def test_the_horizon_stands_for_the_pitch() -> None:
    """The horizon in the middle is a level camera, one above it looks down."""
    level, _ = vantage_of(_shot(height="10", horizon="50%").vantage, CAMERA)
    down, said = vantage_of(_shot(height="10", horizon="20%").vantage, CAMERA)

    assert level is not None
    assert down is not None
    assert level.pitch_deg == pytest.approx(0)
    assert down.pitch_deg == pytest.approx(11.31, abs=0.01)
    assert "looks 11.31° down" in said[0]


def test_a_vantage_given_twice_is_refused() -> None:
    """Height beside known things on the ground is a contradiction waiting to happen."""
    with pytest.raises(SettingError, match="given twice"):
        vantage_of(_shot(height="10", ground_mark=("1,90 5 m", "1,60 9 m")).vantage, CAMERA)
    with pytest.raises(SettingError, match="--pitch and --horizon both say"):
        vantage_of(_shot(height="10", pitch="5", horizon="8%").vantage, CAMERA)


def test_shares_and_pixels_of_marks_agree() -> None:
    """50 % of the width and half its pixels are one place; how it was measured is kept."""
    marks = marks_of(_shot(mark=("50%,25% 18 m map", "100,25 18 m range")).depth.marks, CAMERA)

    assert [(m.x_px, m.y_px, m.measured) for m in marks] == [
        (100.0, 25.0, "map"),
        (100.0, 25.0, "range"),
    ]
