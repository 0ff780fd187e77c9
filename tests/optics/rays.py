"""Rays through an ideal thin lens, traced by its slope law alone: no formula of render.optics.

In the lens's own frame a ray that meets the lens at height h leaves with slope
``slope_in - h / f``. Everything else here is geometry. Lengths in mm, frame of
`render.optics.camera`; landing points are picture coordinates (the sensor turned by 180 degrees).
"""

import math

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


def turned_axis(tilt_deg: float, swing_deg: float) -> Array:
    """Axis (0, 0, 1) turned by rotation matrices: down about x, then right about fixed y."""
    t, s = math.radians(tilt_deg), math.radians(swing_deg)
    about_x = np.array([[1, 0, 0], [0, math.cos(t), math.sin(t)], [0, -math.sin(t), math.cos(t)]])
    about_y = np.array([[math.cos(s), 0, math.sin(s)], [0, 1, 0], [-math.sin(s), 0, math.cos(s)]])
    return np.asarray(about_y @ about_x @ np.array([0.0, 0.0, 1.0]))


def lens_plane(axis: Array) -> tuple[Array, Array]:
    """Two unit vectors that span the lens plane."""
    other = np.array([1.0, 0.0, 0.0]) if abs(axis[0]) < 0.9 else np.array([0.0, 1.0, 0.0])
    first = other - (other @ axis) * axis
    first /= np.linalg.norm(first)
    return first, np.cross(axis, first)


def rim(count: int) -> Array:
    """Unit circle, shape (count, 2)."""
    angle = np.linspace(0, 2 * np.pi, count, endpoint=False)
    return np.stack([np.cos(angle), np.sin(angle)], axis=1)


def landing_mm(
    point: Array, at_infinity: bool, axis: Array, focal_mm: float, extension_mm: float, h: Array
) -> Array:
    """Where rays from a point (or direction) through lens heights `h` (k, 2) meet the picture."""
    first, second = lens_plane(axis)
    lens_points = h[:, :1] * first + h[:, 1:] * second
    incoming = np.repeat(-point[None], len(h), 0) if at_infinity else lens_points - point
    forward = -(incoming @ axis)
    slopes = np.stack([incoming @ first, incoming @ second], 1) / forward[:, None] - h / focal_mm
    outgoing = slopes[:, :1] * first + slopes[:, 1:] * second - axis
    way = (-extension_mm - lens_points[:, 2]) / outgoing[:, 2]
    return np.asarray(-(lens_points[:, :2] + way[:, None] * outgoing[:, :2]))


def ellipse(points: Array) -> tuple[Array, Array]:
    """Centre and shape matrix ``M M^T`` of the ellipse through points, by least squares."""
    middle = points.mean(0)
    scale = np.abs(points - middle).max()
    x, y = ((points - middle) / scale).T
    k = np.linalg.lstsq(np.stack([x * x, x * y, y * y, x, y], 1), np.ones(len(x)), rcond=None)[0]
    form = np.array([[k[0], k[1] / 2], [k[1] / 2, k[2]]])
    centre = -np.linalg.solve(form, k[3:]) / 2
    form /= 1 + centre @ form @ centre
    return middle + scale * centre, np.linalg.inv(form) * scale * scale
