"""The aperture's outline."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from render.optics.iris import iris_corners, lens_plane_axes
from render.optics.lens import Iris
from render.optics.plane import lens_axis


@given(st.integers(3, 18), st.floats(-360, 360))
def test_straight_blades_make_a_regular_polygon(blades: int, turn_deg: float) -> None:
    """Corners lie on the circle, evenly, the first at the stated turn from right towards down."""
    corners = iris_corners(Iris(blades=blades, rotation_deg=turn_deg))

    turn = math.radians(turn_deg)
    np.testing.assert_allclose(np.hypot(*corners.T), 1)
    np.testing.assert_allclose(corners[0], [math.cos(turn), math.sin(turn)], atol=1e-12)
    sides = np.hypot(*(np.roll(corners, -1, axis=0) - corners).T)
    np.testing.assert_allclose(sides, 2 * math.sin(math.pi / blades))


@given(st.integers(3, 18), st.floats(0.05, 0.95))
def test_rounding_lies_between_polygon_and_circle(blades: int, roundness: float) -> None:
    """No point lies outside the circle or inside the straight blade."""
    radius = np.hypot(*iris_corners(Iris(blades=blades, roundness=roundness)).T)

    straight = math.cos(math.pi / blades)
    assert radius.max() <= 1 + 1e-12
    assert radius.min() == pytest.approx(straight + roundness * (1 - straight))


@pytest.mark.parametrize("iris", [Iris(), Iris(blades=7, roundness=1)])
def test_a_disc_has_no_corners(iris: Iris) -> None:
    """None, and wholly rounded blades, are the circle itself."""
    assert iris_corners(iris).shape == (0, 2)


@given(st.floats(-60, 60), st.floats(-60, 60))
def test_the_lens_plane_turns_with_the_lens(tilt_deg: float, swing_deg: float) -> None:
    """Right and down are unit vectors, at right angles to each other and to the lens axis."""
    axis = lens_axis(tilt_deg, swing_deg)

    right, down = lens_plane_axes(tuple(axis))

    frame = np.stack([right, down, axis])
    np.testing.assert_allclose(frame @ frame.T, np.eye(3), atol=1e-12)
    assert right[0] > 0
    assert down[1] > 0
