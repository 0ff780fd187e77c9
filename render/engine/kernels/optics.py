"""The blur figure of one place, and where a rim is seen from it."""

import numpy as np

from render.compiled import step

__all__ = ["ellipse", "rim_circle"]


@step(forceinline=True)
def ellipse(optic, d, x, y):
    """Blur ellipse [[a, b], [b, c]] in px^2 and its offset in px, for defocus d at (x, y) px."""
    qx, qy = (x - optic.centre_x) * optic.slope, (y - optic.centre_y) * optic.slope
    s = optic.radius * d
    k = optic.keystone * (np.float32(1.0) - d)
    shrink = np.float32(1.0) / (np.float32(1.0) - k * k)
    m1x = s * (optic.tilt_x * optic.axis_z + qx * optic.sine) * shrink
    m1y = s * (optic.tilt_y * optic.axis_z + qy * optic.sine) * shrink
    first = s * s * shrink
    a = first * optic.tilt_y * optic.tilt_y + m1x * m1x
    b = -first * optic.tilt_x * optic.tilt_y + m1x * m1y
    c = first * optic.tilt_x * optic.tilt_x + m1y * m1y
    return a, b, c, -m1x * k, -m1y * k


@step(forceinline=True)
def rim_circle(optic, d, px, py):
    """Where the rim is seen on the lens plane: centre along u1, u2, radius, in iris radii."""
    qx, qy = (px - optic.centre_x) * optic.slope, (py - optic.centre_y) * optic.slope
    steep = optic.tilt_x * qx + optic.tilt_y * qy
    along = optic.axis_z + optic.sine * steep
    left = along - optic.rim_near * (d - np.float32(1.0) + optic.longer * along)
    scale = -optic.rim_before / left
    x = scale * (optic.tilt_y * qx - optic.tilt_x * qy)
    y = scale * (optic.axis_z * steep - optic.sine)
    return x, y, optic.rim_radius * along / left
