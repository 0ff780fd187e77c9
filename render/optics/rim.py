"""Cat's-eye: slanting light must pass a second circle, a rim some way before the iris.

Seen from a scene point the rim's circle is shifted against the iris, and only what both leave
open passes. The common area of two circles is the "lens" of plane geometry; that a lens' front
and rear rims clip the pupil so is textbook matter (W. J. Smith, "Modern Optical Engineering",
"vignetting", from memory). One rim as wide as the widest aperture is a model, derived here.
"""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from render.optics.lens import CatsEye

__all__ = ["Rim", "common_share", "rim_circles", "rim_for"]


@dataclass(frozen=True, slots=True)
class Rim:
    """A circle round the lens axis, `before_mm` in front of the iris."""

    before_mm: float
    radius_mm: float


def common_share(distance: ArrayLike, radius: ArrayLike) -> NDArray[np.float64]:
    """Share of the unit disc that lies inside another circle, by their common area.

    Parameters
    ----------
    distance, radius : array_like, shape (...)
        From centre to centre, and of the other circle.

    Returns
    -------
    ndarray, shape (...), float64
        0 to 1.
    """
    t, r = np.broadcast_arrays(np.abs(np.asarray(distance, float)), np.asarray(radius, float))
    apart = np.maximum(t, 1e-12)
    one = np.arccos(np.clip((t * t + 1 - r * r) / (2 * apart), -1, 1))
    other = np.arccos(np.clip((t * t + r * r - 1) / (2 * apart * r), -1, 1))
    kite = np.maximum((1 + r - t) * (t + 1 - r) * (t - 1 + r) * (t + 1 + r), 0)
    crossing = (one + r * r * other - np.sqrt(kite) / 2) / math.pi
    inside = np.minimum(r, 1.0) ** 2
    return np.asarray(np.where(t >= 1 + r, 0.0, np.where(t <= np.abs(1 - r), inside, crossing)))


def rim_for(focal_mm: float, eye: CatsEye) -> Rim:
    """The rim that leaves the stated light at the stated place, focused at infinity, no tilt."""
    from scipy.optimize import brentq  # a quarter of a second, and seldom asked for

    radius_mm = focal_mm / (2.0 * eye.widest_f_number)
    shift = brentq(lambda t: float(common_share(t, 1.0)) - eye.light_left, 0.0, 2.0)
    return Rim(before_mm=shift * radius_mm * focal_mm / eye.corner_mm, radius_mm=radius_mm)


def rim_circles(
    rim: Rim,
    aperture_radius_mm: float,
    axis: tuple[float, float, float],
    slopes: ArrayLike,
    inverse_depth: ArrayLike,
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Where the rim is seen on the lens plane from scene points, in units of the iris' radius.

    A ray from P through the lens point A (n.A = 0) passes the rim's plane n.X = L at
    ``A (1 - L/n.P) + P L/n.P``. So A passes where it lies within ``rim / (1 - L/n.P)`` of
    ``-L (D - (n.D) n) / (n.D - L/z)``, with P = z D.

    Parameters
    ----------
    axis : tuple of 3 floats
        The lens axis n.
    slopes : array_like, shape (..., 2)
    inverse_depth : array_like, shape (...)
        1/z in 1/m.

    Returns
    -------
    centre : ndarray, shape (..., 2)
        Along u1 and u2 of `render.optics.blur.spots`.
    radius : ndarray, shape (...)
    """
    q = np.asarray(slopes, float)
    nx, ny, nz = axis
    sine = math.hypot(nx, ny)
    hx, hy = (nx / sine, ny / sine) if sine > 0 else (0.0, 1.0)
    steep = hx * q[..., 0] + hy * q[..., 1]
    along = nz + sine * steep
    left = along - rim.before_mm / 1000.0 * np.asarray(inverse_depth, float)
    scale = -rim.before_mm / aperture_radius_mm / left
    centre = np.stack(
        [scale * (hy * q[..., 0] - hx * q[..., 1]), scale * (nz * steep - sine)], axis=-1
    )
    return centre, np.asarray(rim.radius_mm / aperture_radius_mm * along / left)
