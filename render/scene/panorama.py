"""A panorama, and the flat picture that a camera in its middle would take of it."""

import math
from dataclasses import dataclass
from typing import Literal

import numpy as np
import scipy
from numpy.typing import ArrayLike, NDArray

from render.errors import InputError, SettingError
from render.optics.camera import Camera

__all__ = ["Panorama", "flat_picture", "holds_view"]

#: How far a spline reaches beyond the place it is asked at, px.
_REACH_PX = 8
#: A place this far past the last pixel's middle is still that pixel.
_EDGE_PX = 0.75


@dataclass(frozen=True, slots=True)
class Panorama:
    """How a panorama's pixels lie round its level viewpoint.

    Attributes
    ----------
    form : {"equirectangular", "cylindrical"}
        Rows equally spaced in elevation, or in its tangent; columns in heading.
    px_per_rad : float
        Columns a radian of heading.
    left_px, horizon_px : float
        Where the panorama's own middle heading and its horizon lie, px from left and top.
    heading_deg : float or None
        Compass heading of that middle; None where nobody measured it.
    closed : bool
        Whether it goes all the way round.
    """

    form: Literal["equirectangular", "cylindrical"]
    px_per_rad: float
    left_px: float
    horizon_px: float
    heading_deg: float | None = None
    closed: bool = False

    def __post_init__(self) -> None:
        if not (math.isfinite(self.px_per_rad) and self.px_per_rad > 0):
            raise InputError("a panorama needs columns that span an angle above 0")

    def positions(
        self, right: ArrayLike, down: ArrayLike, forward: ArrayLike
    ) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        """Column and row (px, pixel middles at .5) of directions.

        Directions are seen from the middle of the panorama, level: right, down, and forward
        to its middle heading; any length, all of one shape.
        """
        x, y, z = (np.asarray(part, np.float64) for part in (right, down, forward))
        level = np.hypot(x, z)
        column = self.left_px + self.px_per_rad * np.arctan2(x, z)
        rise = np.arctan2(y, level) if self.form == "equirectangular" else y / level
        return column, self.horizon_px + self.px_per_rad * rise


def flat_picture(
    light: NDArray[np.float32],
    panorama: Panorama,
    camera: Camera,
    *,
    turned_deg: float = 0.0,
    pitch_deg: float = 0.0,
) -> NDArray[np.float32]:
    """The rectilinear picture that `camera` takes from the middle of a panorama.

    Parameters
    ----------
    light : ndarray, shape (H, W, 3), float32
        The panorama, linear.
    camera : Camera
        Of the picture that is wanted.
    turned_deg : float
        Heading of its axis, to the right of the panorama's middle.
    pitch_deg : float
        How far it looks down.

    Returns
    -------
    ndarray, shape (camera.height_px, camera.width_px, 3), float32
        Cubic splines in linear light, kept inside the range of the panorama.

    Raises
    ------
    SettingError
        If it looks past the panorama's edges: how much of it is missing.

    References
    ----------
    Cylindrical and equirectangular projections: J. P. Snyder, *Map Projections: A Working
    Manual*, USGS 1395, 1987 (plate carrée; central cylindrical).
    """
    height, width = light.shape[:2]
    slope_x, slope_y = camera.grid()
    across, along = np.broadcast_arrays(slope_x[None, :], slope_y[:, None])
    column, row = _seen_at(panorama, across, along, turned_deg, pitch_deg)
    if panorama.closed:
        column %= width
        light = np.concatenate([light[:, -_REACH_PX:], light, light[:, :_REACH_PX]], axis=1)
        column += _REACH_PX
        width += 2 * _REACH_PX
    _refuse_beyond(column, row, width, height)
    top, bottom = int(max(0, row.min() - _REACH_PX)), int(min(height, row.max() + _REACH_PX + 1))
    left = int(max(0, column.min() - _REACH_PX))
    right_px = int(min(width, column.max() + _REACH_PX + 1))
    part = light[top:bottom, left:right_px]
    places = np.stack([row - top - 0.5, column - left - 0.5])
    flat = np.empty((*across.shape, 3), np.float32)
    for channel in range(3):
        source = part[..., channel]
        spline = scipy.ndimage.map_coordinates(
            source, places, order=3, mode="nearest", output=np.float32
        )
        np.clip(spline, source.min(), source.max(), out=flat[..., channel])
    return flat


def holds_view(
    panorama: Panorama,
    size_px: tuple[int, int],
    camera: Camera,
    *,
    turned_deg: float = 0.0,
    pitch_deg: float = 0.0,
) -> bool:
    """Whether a panorama of `size_px` (width, height) holds all that `camera` sees: its border."""
    width, height = size_px
    x, y = camera.grid()
    across = np.concatenate([x, x, np.full(len(y), x[0]), np.full(len(y), x[-1])])
    along = np.concatenate([np.full(len(x), y[0]), np.full(len(x), y[-1]), y, y])
    column, row = _seen_at(panorama, across, along, turned_deg, pitch_deg)
    if panorama.closed:
        column %= width
    past = _beyond(column, row, width, height)
    return not any(one.any() for one in past.values())


def _seen_at(
    panorama: Panorama,
    across: NDArray[np.float64],
    along: NDArray[np.float64],
    turned_deg: float,
    pitch_deg: float,
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Column and row in the panorama of a turned camera's rays."""
    pitch, turn = math.radians(pitch_deg), math.radians(turned_deg)
    down = math.cos(pitch) * along + math.sin(pitch)
    level = math.cos(pitch) - math.sin(pitch) * along
    right = math.cos(turn) * across + math.sin(turn) * level
    forward = math.cos(turn) * level - math.sin(turn) * across
    return panorama.positions(right, down, forward)


def _beyond(
    column: NDArray[np.float64], row: NDArray[np.float64], width: int, height: int
) -> dict[str, NDArray[np.bool_]]:
    """What lies past each edge of the panorama."""
    return {
        "left": column < -_EDGE_PX,
        "right": column > width + _EDGE_PX,
        "top": row < -_EDGE_PX,
        "bottom": row > height + _EDGE_PX,
    }


def _refuse_beyond(
    column: NDArray[np.float64], row: NDArray[np.float64], width: int, height: int
) -> None:
    """Refuse a view that the panorama does not hold, and say where it ends."""
    beyond = _beyond(column, row, width, height)
    shares = {side: 100 * float(np.mean(past)) for side, past in beyond.items() if past.any()}
    missing = [f"{f'{s:.0f}' if s >= 0.5 else 'under 1'} % {side}" for side, s in shares.items()]
    if missing:
        raise SettingError(
            f"the view is not all in the panorama (missing of it: {', '.join(missing)}): turn with "
            "--heading or --pitch, or take a longer lens or a smaller --view"
        )
