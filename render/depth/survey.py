"""Depth of a place from a survey of it: a height model or a point cloud seen from a map position.

The survey becomes a height field; each ray is followed until it goes below it. Trees in a point
cloud make a comb of a top surface; it is closed before (grey closing, J. Serra, 1982).
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import scipy
from numpy.typing import NDArray

from render.depth.depthmap import DepthMap
from render.depth.sampling import reduced_size
from render.depth.survey_kernels import march
from render.errors import InputError
from render.optics.camera import Camera, Vantage
from render.optics.terrain import level_axes, rise_before
from render.words import length_words, percent

__all__ = [
    "GroundOfSurvey",
    "HeightField",
    "View",
    "eye_height",
    "field_of_points",
    "seen_from",
    "vantage_over",
    "view_from_pairs",
]

_LONG_SIDE_PX = 1200
_GAP_SPACINGS = 6.0  # farther from any point than this nothing is known
_SURVEY_DOUBT = 0.03
_STAND_IN_DOUBT = 0.4  # of ground that no survey shows (ours)
#: What is narrower than this and stands up is no ground; its grid need not be finer than this.
_STANDING_WIDTH_M, _GROUND_CELLS = 40.0, 400
_LEVEL_M, _LEAST_HEIGHT_M = 0.3, 0.3  # ground that varies less is level; the lens lies on it
_LEAST_FALL = 0.003  # a ray that falls less ends at the horizon, in the haze (ours)


@dataclass(frozen=True, slots=True, eq=False)
class HeightField:
    """Heights on a square grid.

    Attributes
    ----------
    heights_m : ndarray, shape (R, C), float32
        Rows go north, columns east; NaN where nothing is known.
    east_m, north_m : float
        Of the centre of the first cell.
    cell_m : float
    """

    heights_m: NDArray[np.float32]
    east_m: float
    north_m: float
    cell_m: float

    def __post_init__(self) -> None:
        if self.heights_m.ndim != 2 or min(self.heights_m.shape) < 2:
            raise InputError("a height model needs two rows and two columns or more")
        if not (math.isfinite(self.cell_m) and self.cell_m > 0):
            raise InputError(f"a height model's cells must be above 0 m, not {self.cell_m!r}")
        if not np.isfinite(self.heights_m).any():
            raise InputError("the height model holds no heights")


@dataclass(frozen=True, slots=True)
class View:
    """Where a camera stands on the map and how it is held.

    Attributes
    ----------
    east_m, north_m, eye_m : float
        The lens, in the survey's coordinates; eye_m is its elevation.
    heading_deg : float
        0 looks north, 90 east.
    pitch_deg, roll_deg : float
        As in `render.optics.camera.Vantage`.
    """

    east_m: float
    north_m: float
    eye_m: float
    heading_deg: float
    pitch_deg: float = 0.0
    roll_deg: float = 0.0

    def axes(self) -> NDArray[np.float64]:
        """Camera x, y, z as columns in (east, north, up), shape (3, 3)."""
        right, down, ahead = level_axes(Vantage(1.0, self.pitch_deg, self.roll_deg))
        a = math.radians(self.heading_deg)
        level = np.array(
            [[math.cos(a), -math.sin(a), 0.0], [0.0, 0.0, -1.0], [math.sin(a), math.cos(a), 0.0]]
        )
        return np.asarray(level.T @ np.stack([right, down, ahead]))


def field_of_points(points_m: NDArray[np.float64], cell_m: float | None = None) -> HeightField:
    """Top surface of a point cloud as a height field.

    Parameters
    ----------
    points_m : ndarray, shape (N, 3)
        East, north, up.
    cell_m : float, optional
        Half the mean spacing of the points unless given.

    Raises
    ------
    InputError
        If there are fewer than 100 points, or they are not numbers.
    """
    if len(points_m) < 100 or not np.all(np.isfinite(points_m)):
        raise InputError("the point cloud needs at least 100 points with finite coordinates")
    least = points_m.min(axis=0)
    extent = np.ptp(points_m[:, :2], axis=0)
    spacing = math.sqrt(float(np.prod(np.maximum(extent, 1e-6))) / len(points_m))
    cell = cell_m or max(spacing / 2, float(extent.max()) / 6000)
    column, row = ((points_m[:, :2] - least[:2]) / cell).astype(np.intp).T
    top = np.full((int(row.max()) + 1, int(column.max()) + 1), -np.inf, np.float32)
    np.maximum.at(top, (row, column), points_m[:, 2].astype(np.float32))
    away, (near_row, near_column) = scipy.ndimage.distance_transform_edt(
        np.isinf(top), return_indices=True
    )
    whole = scipy.ndimage.median_filter(
        scipy.ndimage.grey_closing(top[near_row, near_column], size=(5, 5)), 3
    )
    whole[away * cell > _GAP_SPACINGS * spacing] = np.nan
    return HeightField(whole, float(least[0] + cell / 2), float(least[1] + cell / 2), float(cell))


def eye_height(field: HeightField, east_m: float, north_m: float, above_m: float) -> float:
    """Elevation of a lens so high above what the survey has at a place.

    Raises
    ------
    InputError
        If the place lies outside the survey or in a gap of it.
    """
    column = round((east_m - field.east_m) / field.cell_m)
    row = round((north_m - field.north_m) / field.cell_m)
    rows, columns = field.heights_m.shape
    inside = 0 <= row < rows and 0 <= column < columns
    if not inside or not math.isfinite(field.heights_m[row, column]):
        far = (columns - 1) * field.cell_m, (rows - 1) * field.cell_m
        raise InputError(
            f"the place {east_m:.1f}, {north_m:.1f} m lies outside the survey (east "
            f"{field.east_m:.1f} to {field.east_m + far[0]:.1f}, north {field.north_m:.1f} to "
            f"{field.north_m + far[1]:.1f}) or in a gap of it: give the elevation of the lens too"
        )
    return float(field.heights_m[row, column]) + above_m


@dataclass(frozen=True, slots=True, eq=False)
class GroundOfSurvey:
    """A survey's ground as it lies before a camera, for `render.optics.camera.Vantage`.

    Attributes
    ----------
    ground : HeightField
        Without gaps.
    view : View
    """

    ground: HeightField
    view: View

    def rise_m(
        self, right_m: NDArray[np.float64], ahead_m: NDArray[np.float64]
    ) -> NDArray[np.float64]:
        """Height (m) over the ground below the lens at level metres to the right and ahead."""
        view = self.view
        place = view.east_m, view.north_m, view.heading_deg
        return rise_before(self.height_m, *place, right_m, ahead_m)

    def height_m(
        self, east_m: NDArray[np.float64], north_m: NDArray[np.float64]
    ) -> NDArray[np.float64]:
        """Elevation (m) at places; bilinear, and beyond the survey it goes on as it ends."""
        row = (north_m - self.ground.north_m) / self.ground.cell_m
        column = (east_m - self.ground.east_m) / self.ground.cell_m
        places = np.stack([np.ravel(row), np.ravel(column)])
        found = scipy.ndimage.map_coordinates(
            self.ground.heights_m, places, order=1, mode="nearest", output=np.float64
        )
        return np.asarray(found.reshape(np.shape(row)))


def vantage_over(field: HeightField, view: View) -> Vantage:
    """How a camera stands over the ground of a survey.

    The ground is what is left when all that is narrower than 40 m is taken off the surface: a grey
    opening (J. Serra, 1982), as K. Zhang et al. ("A progressive morphological filter for removing
    nonground measurements", 2003) take ground from airborne surveys.
    """
    ground = _ground_of(field)
    terrain = GroundOfSurvey(ground, view)
    below = float(terrain.height_m(np.array(view.east_m), np.array(view.north_m)))
    level = float(np.ptp(ground.heights_m)) < _LEVEL_M
    height = max(view.eye_m - below, _LEAST_HEIGHT_M)
    return Vantage(height, view.pitch_deg, view.roll_deg, None if level else terrain)


def _ground_of(field: HeightField) -> HeightField:
    known = np.isfinite(field.heights_m)
    row, column = scipy.ndimage.distance_transform_edt(
        ~known, return_distances=False, return_indices=True
    )
    whole = field.heights_m[row, column]
    step = max(1, math.ceil(max(whole.shape) / _GROUND_CELLS))
    rows, columns = (step * max(2, math.ceil(n / step)) for n in whole.shape)
    whole = np.pad(whole, ((0, rows - whole.shape[0]), (0, columns - whole.shape[1])), mode="edge")
    least = whole.reshape(rows // step, step, columns // step, step).min(axis=(1, 3))
    cell = step * field.cell_m
    across = 2 * round(_STANDING_WIDTH_M / cell / 2) + 1
    opened = scipy.ndimage.uniform_filter(
        scipy.ndimage.grey_opening(least, size=across), min(across, 3)
    )
    shift = (step - 1) / 2 * field.cell_m
    return HeightField(opened, field.east_m + shift, field.north_m + shift, cell)


def seen_from(field: HeightField, camera: Camera, view: View) -> DepthMap:
    """Depth of a height field seen by a camera.

    Rays that fall and meet nothing end beyond the survey or in a gap of it: there level ground at
    the survey's middle height stands in, and says how unsure it is. Only rays that rise are sky.

    Raises
    ------
    InputError
        If nothing of the survey is in view, the lens lies below its surface, or so far away from
        it that it must be another place.
    """
    rows, columns = reduced_size(camera.height_px, camera.width_px, _LONG_SIDE_PX)
    slopes_x, slopes_y = camera.resized(columns, rows).grid()
    eye = np.array(
        [
            (view.east_m - field.east_m) / field.cell_m,
            (view.north_m - field.north_m) / field.cell_m,
            view.eye_m / field.cell_m,
        ]
    )
    size = field.heights_m.shape
    if 0 <= eye[0] < size[1] - 1 and 0 <= eye[1] < size[0] - 1:
        below = float(field.heights_m[round(eye[1]), round(eye[0])])
        if view.eye_m < below - 0.5:
            raise InputError(
                f"the lens at {view.eye_m:.1f} m lies inside the survey, whose surface there is at "
                f"{below:.1f} m: raise it"
            )
    _refuse_elsewhere(field, view)
    reach = math.hypot(*size) + math.hypot(eye[0] - size[1] / 2, eye[1] - size[0] / 2)
    depth = np.empty((rows, columns), np.float32)
    heights = np.ascontiguousarray(field.heights_m / np.float32(field.cell_m), np.float32)
    highest = float(np.nanmax(heights))
    march(heights, highest, eye, view.axes(), slopes_x, slopes_y, 1.5 * reach, depth)
    if not np.isfinite(depth).any():
        raise InputError("nothing of the survey is in view: check position, heading and pitch")
    depth *= np.float32(field.cell_m)
    unknown = _stood_in(depth, field, view, slopes_x, slopes_y)
    row = ((np.arange(camera.height_px) + 0.5) * rows / camera.height_px).astype(np.intp)
    column = ((np.arange(camera.width_px) + 0.5) * columns / camera.width_px).astype(np.intp)
    full = depth[np.ix_(row, column)]
    height_m = vantage_over(field, view).height_m
    how = (
        f"a survey seen from {length_words(height_m)} over its ground, heading "
        f"{view.heading_deg:.1f}°"
    )
    if not unknown.any():
        return DepthMap(full, how, _SURVEY_DOUBT, ())
    where = unknown[np.ix_(row, column)]
    unsure = np.where(where, np.float32(_STAND_IN_DOUBT), np.float32(_SURVEY_DOUBT))
    remark = (
        f"{percent(float(unknown.mean()))} of the picture lies beyond the survey or in its "
        "gaps: level ground at the survey's middle height stands in there"
    )
    return DepthMap(full, how, unsure, (remark,))


def _refuse_elsewhere(field: HeightField, view: View) -> None:
    rows, columns = field.heights_m.shape
    east, north = field.east_m + columns * field.cell_m, field.north_m + rows * field.cell_m
    away = math.hypot(
        max(field.east_m - view.east_m, view.east_m - east, 0.0),
        max(field.north_m - view.north_m, view.north_m - north, 0.0),
    )
    if away > math.hypot(east - field.east_m, north - field.north_m):
        raise InputError(
            f"the place {view.east_m:.1f}, {view.north_m:.1f} m lies {away / 1000:.1f} km outside "
            f"the survey (east {field.east_m:.1f} to {east:.1f}, north {field.north_m:.1f} to "
            f"{north:.1f} m): give it in the survey's own coordinates and unit"
        )


def _stood_in(
    depth_m: NDArray[np.float32],
    field: HeightField,
    view: View,
    slopes_x: NDArray[np.float64],
    slopes_y: NDArray[np.float64],
) -> NDArray[np.bool_]:
    """Put level ground where falling rays met nothing; returns where."""
    level = float(np.nanmedian(field.heights_m))
    up = view.axes()[2]
    falls = -(up[0] * slopes_x[None, :] + up[1] * slopes_y[:, None] + up[2])
    unknown = np.isinf(depth_m) & (falls > _LEAST_FALL)
    if view.eye_m <= level:
        return np.zeros(depth_m.shape, bool)
    depth_m[unknown] = (view.eye_m - level) / falls[unknown]
    return np.asarray(unknown)


def view_from_pairs(
    camera: Camera,
    pairs: Sequence[tuple[tuple[float, float], tuple[float, float, float]]],
    east_m: float,
    north_m: float,
    eye_m: float,
) -> View:
    """Heading, pitch and roll from three or more places seen in the picture and in the survey.

    Parameters
    ----------
    pairs : sequence of ((x, y) px, (east, north, up) m)

    Raises
    ------
    InputError
        If there are fewer than three pairs, or no direction explains them within 2 % of the
        picture's width.
    """
    from scipy.optimize import least_squares  # a quarter of a second, and seldom asked for

    if len(pairs) < 3:
        raise InputError("the direction of the camera needs three marked pairs or more")
    seen = np.array([place for place, _ in pairs], float)
    ways = np.array([known for _, known in pairs], float) - (east_m, north_m, eye_m)

    def misfit(angles: NDArray[np.float64]) -> NDArray[np.float64]:
        view = View(east_m, north_m, eye_m, *(float(a) for a in angles))
        inside = ways @ view.axes()
        depth = np.where(np.abs(inside[:, 2:]) < 1e-6, 1e-6, inside[:, 2:])
        found = camera.positions(inside[:, :2] / depth)
        behind = np.where(inside[:, 2] > 0, 0.0, 10.0 * camera.width_px)
        off = (found - seen) / camera.width_px
        return np.append(np.clip(off, -10, 10).ravel(), behind)

    start = math.degrees(math.atan2(*np.mean(ways[:, :2], axis=0)))
    fits = [
        least_squares(misfit, (start, pitch, 0.0), bounds=([-720, -80, -40], [720, 80, 40]))
        for pitch in (0.0, 20.0, 45.0)
    ]
    best = min(fits, key=lambda fit: fit.cost)
    if not math.sqrt(2 * best.cost / len(pairs)) < 0.02:
        raise InputError(
            "no direction of the camera explains the marked pairs: check their places, the "
            "position, and the focal length"
        )
    heading, pitch, roll = (float(a) for a in best.x)
    return View(east_m, north_m, eye_m, heading % 360.0, pitch, roll)
