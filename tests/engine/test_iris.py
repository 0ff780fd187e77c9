"""The aperture's outline as the engine draws it."""

import math

import numpy as np
import pytest

from render.engine.iris import outline, outline_moment
from render.optics.iris import lens_plane_axes
from render.optics.lens import Iris
from render.optics.plane import FocusedLens, lens_axis


def _lens(tilt_deg: float, swing_deg: float) -> FocusedLens:
    x, y, z = lens_axis(tilt_deg, swing_deg)
    return FocusedLens(50.0, 9.0, 51.0, (float(x), float(y), float(z)))


@pytest.mark.parametrize(("tilt_deg", "swing_deg"), [(0, 0), (8, 0), (-5, 6), (0, 9)])
def test_corners_are_the_same_points_in_other_axes(tilt_deg: float, swing_deg: float) -> None:
    """In space the first corner lies where the iris says: its turn from right towards down."""
    lens = _lens(tilt_deg, swing_deg)
    corners = outline(Iris(blades=5, rotation_deg=20), lens).astype(float)

    nx, ny, nz = lens.axis
    sine = math.hypot(nx, ny)
    hx, hy = (nx / sine, ny / sine) if sine else (0.0, 1.0)
    u1, u2 = np.array([hy, -hx, 0.0]), np.array([hx * nz, hy * nz, -sine])
    right, down = lens_plane_axes(lens.axis)
    turn = math.radians(20)
    np.testing.assert_allclose(
        corners[0, 0] * u1 + corners[0, 1] * u2,
        math.cos(turn) * right + math.sin(turn) * down,
        atol=1e-6,
    )


@pytest.mark.parametrize("blades", [3, 4, 5, 6, 8, 18])
def test_the_second_moment_is_the_polygons(blades: int) -> None:
    """(2 + cos(2 pi / n)) / 3 of the disc's, the closed form for a regular polygon."""
    corners = outline(Iris(blades=blades), _lens(0, 0))

    wanted = (2 + math.cos(2 * math.pi / blades)) / 3
    assert outline_moment(corners) == pytest.approx(wanted, rel=1e-6)


def test_a_disc_is_a_disc() -> None:
    """It has no corners and the disc's own moment."""
    corners = outline(Iris(), _lens(8, 0))

    assert corners.shape == (0, 2)
    assert outline_moment(corners) == 1.0
