"""Things to lay the plane of sharp focus through, placed by tape measure instead of by pixel.

Places are said as a person on the spot would: so many metres ahead along the ground, to the right,
and above the ground. The result are points of the camera's frame, shape (N, 3), in metres.
"""

import math

import numpy as np
from numpy.typing import ArrayLike, NDArray

from render.errors import SettingError
from render.optics.camera import Vantage
from render.optics.terrain import rise_m

__all__ = ["ahead_m", "face_m", "ground_m", "place_m", "row_m", "wall_m"]

Array = NDArray[np.float64]

#: Half the size of a face, m (from memory: about 16 cm by 24 cm).
_FACE_HALF_M = (0.08, 0.12)


def place_m(vantage: Vantage, ahead_m: float, right_m: float, above_m: float) -> Array:
    """Point of the camera's frame for a place on site.

    Parameters
    ----------
    vantage : Vantage
    ahead_m, right_m : float
        From the point below the lens, level, along and across the heading.
    above_m : float
        Above the ground.

    Returns
    -------
    ndarray, shape (3,)
        Right, down, forward of the lens; it may lie behind the camera.
    """
    p, r = math.radians(vantage.pitch_deg), math.radians(vantage.roll_deg)
    below = vantage.height_m - above_m - float(rise_m(vantage, right_m, ahead_m))
    down = below * math.cos(p) - ahead_m * math.sin(p)
    forward = below * math.sin(p) + ahead_m * math.cos(p)
    return np.array(
        [
            right_m * math.cos(r) + down * math.sin(r),
            -right_m * math.sin(r) + down * math.cos(r),
            forward,
        ]
    )


def ahead_m(vantage: Vantage, point_m: ArrayLike) -> float:
    """How far ahead, level, a point of the camera's frame lies: undoes `place_m`."""
    x, y, z = np.asarray(point_m, float)
    p, r = math.radians(vantage.pitch_deg), math.radians(vantage.roll_deg)
    down = x * math.sin(r) + y * math.cos(r)
    return float(z * math.cos(p) - down * math.sin(p))


def row_m(first: ArrayLike, last: ArrayLike, count: int = 7) -> Array:
    """Points of a straight row from `first` to `last`, ends included, shape (count, 3)."""
    if count < 2:
        raise SettingError(f"a row needs at least 2 things, not {count}")
    part = np.linspace(0.0, 1.0, count)[:, None]
    return np.asarray((1 - part) * np.asarray(first, float) + part * np.asarray(last, float))


def ground_m(vantage: Vantage, near_m: float, far_m: float, half_angle_deg: float) -> Array:
    """Corners of the ground from near to far, as wide as the view, shape (4, 3).

    Blur of a plane is affine in the picture, so its corners hold the largest; of ground that is
    not level more points are taken in between, shape (35, 3).
    """
    if not 0 < near_m < far_m < math.inf:
        raise SettingError(
            "ground runs from a near to a farther distance, such as 4 m to 60 m, not "
            f"{near_m:g} m to {far_m:g} m"
        )
    spread = math.tan(math.radians(half_angle_deg))
    ways, sides = (2, 2) if vantage.terrain is None else (7, 5)
    return np.array(
        [
            place_m(vantage, ahead, side * spread * ahead, 0.0)
            for ahead in np.geomspace(near_m, far_m, ways).tolist()
            for side in np.linspace(-1.0, 1.0, sides).tolist()
        ]
    )


def wall_m(
    vantage: Vantage, left_m: float, right_m: float, half_angle_deg: float, height_m: float = 3.0
) -> Array:
    """Corners of an upright wall across the view, shape (4, 3).

    Parameters
    ----------
    left_m, right_m : float
        Distances ahead at which it enters the view on the left and leaves it on the right.
    height_m : float
        From the ground; 3 m is a storey.
    """
    if not (0 < left_m < math.inf and 0 < right_m < math.inf and height_m > 0):
        raise SettingError("a wall needs distances on the left and the right and a height above 0")
    spread = math.tan(math.radians(half_angle_deg))
    return np.array(
        [
            place_m(vantage, ahead, side * spread * ahead, above)
            for side, ahead in ((-1, left_m), (1, right_m))
            for above in (0.0, height_m)
        ]
    )


def face_m(distance_m: float, back_deg: float = 0.0, turned_deg: float = 0.0) -> Array:
    """Corners of a face in front of the lens, shape (4, 3).

    Parameters
    ----------
    distance_m : float
        Along the camera's axis.
    back_deg : float
        Leaning back: the forehead farther than the chin; negative leans forward.
    turned_deg : float
        Turned so that its right side in the picture is farther; negative the other way.
    """
    if not 0.2 < distance_m < math.inf:
        raise SettingError(f"a face needs a distance of more than 0.2 m, not {distance_m:g} m")
    if not (abs(back_deg) < 90 and abs(turned_deg) < 90):
        raise SettingError("a face leans and turns by less than 90°")
    b, t = math.radians(back_deg), math.radians(turned_deg)
    down = np.array([0.0, math.cos(b), -math.sin(b)])
    across = np.array([math.cos(t), 0.0, math.sin(t)])
    half_width, half_height = _FACE_HALF_M
    return np.array(
        [
            [0.0, 0.0, distance_m] + side * half_width * across + end * half_height * down
            for end in (-1, 1)
            for side in (-1, 1)
        ]
    )
