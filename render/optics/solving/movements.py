"""How a mount makes tilt, swing and shift, and what else moves with them."""

import math
from dataclasses import dataclass

from render.optics.plane import FocusedLens

__all__ = ["Pivot", "image_circle_centre_mm", "revolved", "total_and_azimuth", "vanishing_y_mm"]


def revolved(total_deg: float, azimuth_deg: float) -> tuple[float, float]:
    """Tilt and swing of a lens that tilts about one axis on a revolving mount.

    Parameters
    ----------
    total_deg : float
        What the tilt scale says.
    azimuth_deg : float
        Where the lens axis leans to, from right (0) towards down (90).

    Returns
    -------
    tuple of 2 floats
        (tilt_deg, swing_deg): ``t = asin n_y``, ``s = atan2(n_x, n_z)``.

    Examples
    --------
    >>> tilt, swing = revolved(8, 90)
    >>> round(tilt, 9), abs(round(swing, 9))
    (8.0, 0.0)
    """
    theta, phi = math.radians(total_deg), math.radians(azimuth_deg)
    nx, ny = math.sin(theta) * math.cos(phi), math.sin(theta) * math.sin(phi)
    return math.degrees(math.asin(ny)), math.degrees(math.atan2(nx, math.cos(theta)))


def total_and_azimuth(tilt_deg: float, swing_deg: float) -> tuple[float, float]:
    """Angle of the lens to the sensor and where it leans to: the inverse of `revolved`."""
    t, s = math.radians(tilt_deg), math.radians(swing_deg)
    nx, ny, nz = math.sin(s) * math.cos(t), math.sin(t), math.cos(s) * math.cos(t)
    return math.degrees(math.atan2(math.hypot(nx, ny), nz)), math.degrees(math.atan2(ny, nx))


def image_circle_centre_mm(lens: FocusedLens) -> tuple[float, float]:
    """Where the lens axis meets the sensor, picture coordinates from the z axis, mm.

    ``v n_xy / n_z``: tilting carries the image circle along, so corners go dark sooner.
    """
    nx, ny, nz = lens.axis
    return lens.extension_mm * nx / nz, lens.extension_mm * ny / nz


def vanishing_y_mm(extension_mm: float, pitch_deg: float) -> float:
    """Where verticals meet when the camera is pitched down: ``v / tan p`` below the axis, mm.

    ``inf`` for a level camera: verticals stay parallel, however the lens is tilted.
    """
    slope = math.tan(math.radians(pitch_deg))
    return extension_mm / slope if slope else math.inf


@dataclass(frozen=True, slots=True)
class Pivot:
    """What tilting about an axis `behind_mm` behind the lens centre does besides tilting.

    Attributes
    ----------
    behind_mm : float
        From the lens centre back to the tilt axis; negative if the axis lies in front.
    """

    behind_mm: float

    def centre_moves_mm(self, tilt_deg: float) -> float:
        """How far the lens centre moves down (tilt > 0) and the framing with it: ``r sin t``."""
        return self.behind_mm * math.sin(math.radians(tilt_deg))

    def extension_shrinks_mm(self, tilt_deg: float) -> float:
        """How much nearer the sensor the centre comes: ``r (1 - cos t)``."""
        return self.behind_mm * (1.0 - math.cos(math.radians(tilt_deg)))
