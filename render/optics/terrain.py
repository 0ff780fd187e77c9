"""Ground that is not level: where the rays of a picture meet it.

Rays are marched outwards until the ground rises over them (the way every height field is traced),
and the crossing is then narrowed by halving and false position in turn.
"""

import math
from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import ArrayLike, NDArray

from render.optics.camera import Camera, Vantage

__all__ = [
    "GroundLine",
    "before_ground",
    "ground_line",
    "ground_shows",
    "level_axes",
    "meets_ground",
    "over_ground_m",
    "rise_before",
    "rise_m",
]

Floats = NDArray[np.float64]

#: Beyond this the ground is called the horizon, m.
_FAR_M = 11_000.0
#: How much farther out each step of a march is, and how often a crossing is narrowed.
_GROWTH, _NARROWED = 1.02, 6
#: Rays down a column: over the frame and a part of it beyond; from there up past the horizon, as
#: far as hills may rise, and down to the feet.
_ROWS, _BEYOND, _OUTER_ROWS, _HILLS_DEG, _STEEPEST_RAD = 300, 0.25, 60, 15.0, 1.535
#: A skyline is looked for among so many rays, and among as many between two of them.
_SKYLINE_RAYS = 40


#: What stands no more before or behind the ground than this, as a share of its distance, is the
#: ground. Seen from H, what is h high stands ``h / H`` before it; over twelve demo scenes paving
#: and sills lie within 0.01, things from 0.03 on, and next to nothing between (`optics/README.md`).
_THE_GROUND = 0.03


def level_axes(vantage: Vantage) -> Floats:
    """Unit vectors right, down, ahead of the level world in the camera's frame, rows of (3, 3).

    "Ahead" is where the camera looks, laid level; "right" is level too.
    """
    p, r = math.radians(vantage.pitch_deg), math.radians(vantage.roll_deg)
    down = np.array([math.sin(r) * math.cos(p), math.cos(r) * math.cos(p), math.sin(p)])
    ahead = np.array([-math.sin(r) * math.sin(p), -math.cos(r) * math.sin(p), math.cos(p)])
    return np.stack([np.cross(down, ahead), down, ahead])


def rise_m(vantage: Vantage, right_m: ArrayLike, ahead_m: ArrayLike) -> Floats:
    """Height of the ground at metres to the right and ahead, over that below the lens."""
    right, ahead = np.broadcast_arrays(np.asarray(right_m, float), np.asarray(ahead_m, float))
    if vantage.terrain is None:
        return np.zeros(right.shape)
    return np.asarray(vantage.terrain.rise_m(right, ahead), float)


def rise_before(
    height_m: Callable[[Floats, Floats], Floats],
    east_m: float,
    north_m: float,
    heading_deg: float,
    right_m: Floats,
    ahead_m: Floats,
) -> Floats:
    """Height (m) of mapped ground at metres to the right and ahead, over that where one stands.

    Parameters
    ----------
    height_m : callable
        Height (m) of the ground at metres east and north, arrays of one shape.
    east_m, north_m : float
        Where one stands.
    heading_deg : float
        Compass heading that one looks in.
    right_m, ahead_m : ndarray
        Of one shape, which the result has too.
    """
    a = math.radians(heading_deg)
    east = east_m + right_m * math.cos(a) + ahead_m * math.sin(a)
    north = north_m - right_m * math.sin(a) + ahead_m * math.cos(a)
    return height_m(east, north) - height_m(np.array(east_m), np.array(north_m))


def over_ground_m(vantage: Vantage, slopes: ArrayLike, inverse_depth: ArrayLike) -> Floats:
    """Level distance (m) from the point below the lens to points on rays; inf where 1/z is 0.

    Parameters
    ----------
    slopes : array_like, shape (..., 2)
    inverse_depth : array_like, shape (...)
        1/z, in 1/m.
    """
    right, _, ahead = _along_axes(vantage, np.asarray(slopes, float))
    with np.errstate(divide="ignore"):
        return np.asarray(np.hypot(right, ahead) / np.asarray(inverse_depth, float))


def before_ground(vantage: Vantage, slopes: ArrayLike, inverse_depth: ArrayLike) -> Floats:
    """How much nearer than the ground rays end, as a share of where they end; ``inf`` with none.

    On level ground what is ``h`` high, seen from ``H``, has ``1/z (H - h) = g H`` with the
    ground's ``g``: the share is ``h / H`` (derived here).

    Parameters
    ----------
    slopes : array_like, shape (N, 2)
    inverse_depth : array_like, shape (N,)
        1/z, in 1/m.
    """
    ground = meets_ground(vantage, slopes)
    with np.errstate(divide="ignore", invalid="ignore"):
        share = 1.0 - ground / np.asarray(inverse_depth, float)
    return np.where(ground > 0, share, np.inf)


def ground_shows(
    vantage: Vantage, slopes: ArrayLike, inverse_depth: ArrayLike
) -> NDArray[np.bool_]:
    """Where rays (N, 2) that end at 1/z (N,) end on the ground, shape (N,)."""
    return np.asarray(np.abs(before_ground(vantage, slopes, inverse_depth)) <= _THE_GROUND)


def meets_ground(vantage: Vantage, slopes: ArrayLike) -> Floats:
    """Inverse depth (1/m) at which rays first meet the ground; 0 where they never do.

    Parameters
    ----------
    slopes : array_like, shape (N, 2)

    Returns
    -------
    ndarray, shape (N,), float64
    """
    right, lower, ahead = _along_axes(vantage, np.asarray(slopes, float))
    across = np.hypot(right, ahead)
    if vantage.terrain is None:
        return np.maximum(lower, 0.0) / vantage.height_m

    def clear(z: Floats) -> Floats:
        return vantage.height_m - z * lower - rise_m(vantage, z * right, z * ahead)

    first = 0.1 * vantage.height_m / max(1.0, float(np.max(np.abs(lower))))
    last = _FAR_M / np.maximum(across, 1e-3)
    steps = math.ceil(math.log(float(last.max()) / first) / math.log(_GROWTH))
    near, far = np.zeros(len(lower)), np.full(len(lower), np.inf)
    open_rays = np.arange(len(lower))
    for z in first * _GROWTH ** np.arange(steps + 1):
        over = vantage.height_m - z * lower[open_rays]
        over -= rise_m(vantage, z * right[open_rays], z * ahead[open_rays])
        hit = over <= 0
        far[open_rays[hit]] = z
        open_rays = open_rays[~hit & (z <= last[open_rays])]
        near[open_rays] = z
    met = np.isfinite(far)
    low, high = near.copy(), np.where(met, far, near)
    above, under = clear(low), clear(high)
    middle = high
    for turn in range(_NARROWED):
        with np.errstate(divide="ignore", invalid="ignore"):
            share = above / (above - under) if turn % 2 else 0.5
            middle = np.where(above > under, low + (high - low) * share, high)
        found = clear(middle)
        low, above = np.where(found > 0, middle, low), np.where(found > 0, found, above)
        high, under = np.where(found > 0, high, middle), np.where(found > 0, under, found)
    with np.errstate(divide="ignore"):
        return np.where(met, 1.0 / middle, 0.0)


@dataclass(frozen=True, slots=True, eq=False)
class GroundLine:
    """The bare ground down one column of a picture and beyond it, from the sky to the feet.

    Attributes
    ----------
    slopes : ndarray, shape (N, 2)
    inverse_depth : ndarray, shape (N,)
        1/z in 1/m; 0 is the sky.
    over_m : ndarray, shape (N,)
        Level distance from the point below the lens.
    """

    slopes: Floats
    inverse_depth: Floats
    over_m: Floats


@lru_cache(maxsize=12)
def ground_line(camera: Camera, vantage: Vantage, x_px: float) -> GroundLine:
    """The bare ground down the picture column at `x_px`; a skyline has a sample of its own."""
    x = (x_px - camera.centre_x_px) / camera.focal_px
    beyond = np.array([-_BEYOND, 1.0 + _BEYOND]) * camera.height_px
    top, bottom = (beyond - camera.centre_y_px) / camera.focal_px
    _, down, _ = level_axes(vantage)
    hills = math.atan2(-(down[0] * x + down[2]), down[1]) - math.radians(_HILLS_DEG)
    y = np.linspace(top, bottom, _ROWS)
    if hills < math.atan(top):
        outer = np.linspace(max(hills, -_STEEPEST_RAD), math.atan(top), _OUTER_ROWS)
        y = np.concatenate([np.tan(outer[:-1]), y])
    if math.atan(bottom) < _STEEPEST_RAD:
        outer = np.linspace(math.atan(bottom), _STEEPEST_RAD, _OUTER_ROWS)
        y = np.concatenate([y, np.tan(outer[1:])])
    inverse = meets_ground(vantage, _column(x, y))
    for row in np.flatnonzero((inverse[:-1] == 0) & (inverse[1:] > 0))[::-1]:
        above, below, last = y[row], y[row + 1], inverse[row + 1]
        for _ in range(2):
            between = np.linspace(above, below, _SKYLINE_RAYS)
            met = meets_ground(vantage, _column(x, between))
            first = max(1, int(np.argmax(met > 0)))
            above, below, last = between[first - 1], between[first], met[first]
        y, inverse = np.insert(y, row + 1, below), np.insert(inverse, row + 1, last)
    slopes = _column(x, y)
    over = over_ground_m(vantage, slopes, inverse)
    return GroundLine(slopes, inverse, np.where(over > 0.9 * _FAR_M, np.inf, over))


def _column(x: float, y: Floats) -> Floats:
    return np.stack([np.full_like(y, x), y], axis=-1)


def _along_axes(vantage: Vantage, slopes: Floats) -> tuple[Floats, Floats, Floats]:
    """Right, down and ahead, in the level world, of rays one metre deep."""
    rays = np.concatenate([slopes, np.ones((*slopes.shape[:-1], 1))], axis=-1)
    right, down, ahead = np.moveaxis(rays @ level_axes(vantage).T, -1, 0)
    return right, down, ahead
