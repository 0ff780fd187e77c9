"""How a mount makes tilt, swing and shift, and what else moves with them."""

import math
from dataclasses import dataclass

from render.optics.plane import FocusedLens, lens_axis

__all__ = [
    "Carried",
    "Pivot",
    "mount_turn",
    "revolved",
    "total_and_azimuth",
]


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


def mount_turn(azimuth_deg: float) -> tuple[float, str]:
    """How to reach a lean on a mount that turns.

    Returns
    -------
    turn_deg, way : float, str
        How far to turn the tilt axis clockwise, seen from behind the camera, from where it tilts
        up and down; and whether to tilt "up" or "down" then.
    """
    down = (azimuth_deg - 90.0 + 180.0) % 360.0 - 180.0
    if abs(down) <= 90:
        return down, "down"
    return (azimuth_deg + 90.0 + 180.0) % 360.0 - 180.0, "up"


@dataclass(frozen=True, slots=True)
class Carried:
    """Where turning a lens about its tilt axis carries it, the focus ring left alone.

    Attributes
    ----------
    extension_mm : float
        Lens centre to sensor afterwards, along z.
    moved_mm : tuple of 3 floats
        How far the lens centre moved: right, down, forward. The view moves with the first two.
    """

    extension_mm: float
    moved_mm: tuple[float, float, float]


@dataclass(frozen=True, slots=True)
class Pivot:
    """What tilting about an axis `behind_mm` behind the lens centre does besides tilting.

    Attributes
    ----------
    behind_mm : float
        From the lens centre back to the tilt axis; negative if the axis lies in front.
    """

    behind_mm: float

    def carried(self, lens: FocusedLens, tilt_deg: float, swing_deg: float) -> Carried:
        """Where the centre of a focused lens comes to lie when it is turned to another angle.

        The centre stands ``r + e`` before the tilt axis along the lens's own axis n, e being how
        far the ring has moved it out from v = f, and the tilt axis stands ``f - r`` before the
        sensor: so ``v = f - r + (r + e) n_z``, and the centre moves by ``(r + e)`` times the
        change of n.
        """
        before, after = lens.axis, lens_axis(tilt_deg, swing_deg)
        out_mm = (lens.extension_mm - lens.focal_mm + self.behind_mm) / float(before[2])
        x, y, z = (out_mm * (float(b) - float(a)) for a, b in zip(before, after, strict=True))
        return Carried(lens.extension_mm + z, (x, y, z))

    def view_moves_mm(self, lens: FocusedLens) -> tuple[float, float]:
        """How far right and down leaning has moved a focused lens, and its view with it, mm.

        ``(r + e) n_xy``: from where the straight lens would stand with the ring as it is.
        """
        x, y, _ = self.carried(lens, 0.0, 0.0).moved_mm
        return -x + 0.0, -y + 0.0
