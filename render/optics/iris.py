"""The aperture's outline in the lens plane's own axes."""

import math

import numpy as np
from numpy.typing import NDArray

from render.optics.lens import Iris

__all__ = ["iris_corners", "lens_plane_axes"]

#: Straight pieces that stand for one rounded blade.
_PIECES = 6


def lens_plane_axes(axis: tuple[float, float, float]) -> NDArray[np.float64]:
    """The lens plane's own right and down, unit vectors in the camera's frame, shape (2, 3).

    Right is ``(0, 1, 0) x n``, down is ``n x right``; without tilt they are the picture's own.
    """
    n = np.array(axis)
    right = np.cross((0.0, 1.0, 0.0), n)
    right /= np.linalg.norm(right)
    return np.stack([right, np.cross(n, right)])


def iris_corners(iris: Iris) -> NDArray[np.float64]:
    """Corners of the aperture, right and down in the lens plane, in units of f / 2N.

    Returns
    -------
    ndarray, shape (corners, 2), float64
        Empty for a disc. Rounded blades are drawn with several straight pieces each.
    """
    if iris.blades == 0 or iris.roundness == 1:
        return np.zeros((0, 2))
    half = math.pi / iris.blades
    pieces = _PIECES if iris.roundness > 0 else 1
    within = np.arange(pieces) * (2 * half / pieces)  # angle past a corner
    straight = math.cos(half) / np.cos(within - half)
    radius = np.tile(straight + iris.roundness * (1 - straight), iris.blades)
    angle = math.radians(iris.rotation_deg) + np.arange(radius.size) * (2 * half / pieces)
    return np.stack([radius * np.cos(angle), radius * np.sin(angle)], axis=-1)
