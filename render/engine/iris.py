"""The aperture's outline as the engine draws it."""

import math

import numpy as np
from numpy.typing import NDArray

from render.optics.iris import iris_corners, lens_plane_axes
from render.optics.lens import Iris
from render.optics.plane import FocusedLens

__all__ = ["outline", "outline_moment", "rimmed_outline"]

#: Sides of the polygon that stands for a disc where a rim cuts it; its area is the disc's.
_SIDES = 48


def outline(iris: Iris, lens: FocusedLens) -> NDArray[np.float32]:
    """Corners of the aperture on the unit circle's disc, in the lens plane.

    Axes as in `render.optics.blur`: u1 in the lens plane and parallel to the sensor, u2 steepest.

    Returns
    -------
    ndarray, shape (corners, 2), float32
        Empty for a disc.
    """
    n = np.array(lens.axis)
    sine = math.hypot(n[0], n[1])
    hx, hy = (n[0] / sine, n[1] / sine) if sine > 0 else (0.0, 1.0)
    u1 = np.array([hy, -hx, 0.0])
    u2 = np.array([hx * n[2], hy * n[2], -sine])
    points = iris_corners(iris) @ lens_plane_axes(lens.axis)
    return np.stack([points @ u1, points @ u2], axis=-1).astype(np.float32)


def rimmed_outline(iris: Iris, lens: FocusedLens) -> NDArray[np.float32]:
    """The outline that a rim cuts, a disc as a polygon too; empty where the lens has no rim."""
    if lens.rim is None:
        return np.zeros((0, 2), np.float32)
    corners = outline(iris, lens)
    if corners.shape[0] > 0:
        return corners
    step = 2 * math.pi / _SIDES
    angle, radius = step * np.arange(_SIDES), math.sqrt(step / math.sin(step))
    return np.stack([radius * np.cos(angle), radius * np.sin(angle)], axis=-1).astype(np.float32)


def outline_moment(corners: NDArray[np.float32]) -> float:
    """Second moment of an even outline about its centre, as a share of the unit disc's (1/4)."""
    if corners.shape[0] == 0:
        return 1.0
    x0, y0 = corners.astype(float).T
    x1, y1 = np.roll(x0, -1), np.roll(y0, -1)
    cross = x0 * y1 - x1 * y0
    area = cross.sum() / 2
    second = (cross * (x0 * x0 + x0 * x1 + x1 * x1 + y0 * y0 + y0 * y1 + y1 * y1)).sum() / 12
    return float(second / area / 2 * 4)
