"""The aperture's outline."""

import math

import numpy as np
import pytest

from render.engine.iris import outline, outline_moment
from render.optics.lens import FocusDistance, Iris, LensSetting
from render.optics.plane import focus_lens

LENS = focus_lens(
    LensSetting(focal_mm=90, f_number=2.8, focus=FocusDistance(5.0), tilt_deg=5.0, swing_deg=3.0)
)


def test_a_disc_needs_no_corners():
    """No blades, or blades rounded all the way, leave the exact ellipse."""
    assert outline(Iris(), LENS).shape == (0, 2)
    assert outline(Iris(7, 10.0, 1.0), LENS).shape == (0, 2)


@pytest.mark.parametrize("blades", [5, 6, 9, 18])
def test_corners_lie_on_the_circle_of_the_f_number(blades):
    """Straight blades: as many corners as blades, all at the full radius, evenly apart."""
    corners = outline(Iris(blades, 12.0), LENS)

    np.testing.assert_allclose(np.hypot(*corners.T), 1, atol=1e-6)
    sides = np.hypot(*(corners - np.roll(corners, 1, axis=0)).T)
    np.testing.assert_allclose(sides, 2 * math.sin(math.pi / blades), atol=1e-5)


def test_rounded_blades_lie_between_straight_ones_and_the_circle():
    """Area grows from the polygon's n/2 sin(2 pi/n) towards pi with roundness."""

    def area(roundness: float) -> float:
        x, y = outline(Iris(6, 0.0, roundness), LENS).astype(float).T
        return float(np.sum(x * np.roll(y, -1) - np.roll(x, -1) * y) / 2)

    assert area(0.0) == pytest.approx(3 * math.sin(math.pi / 3), abs=1e-5)
    assert area(0.0) < area(0.3) < area(0.9) < math.pi


def test_second_moment_of_a_regular_polygon():
    """(2 + cos(2 pi/n)) / 3 of the disc's (second moment of area of a regular n-gon, textbooks)."""
    for blades in (5, 6, 8):
        corners = outline(Iris(blades), LENS)
        wanted = (2 + math.cos(2 * math.pi / blades)) / 3
        assert outline_moment(corners) == pytest.approx(wanted, abs=1e-4)
    assert outline_moment(outline(Iris(), LENS)) == 1
