"""Metric depth of the ground seen from a vantage; the horizon; the vantage from known things.

A plane ``m . P = 1`` is seen along the ray ``D = (x/z, y/z, 1)`` at ``1/z = m . D``: inverse
depth is affine in the pixel. All of this module rests on that line (derived here).
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from render.depth.mark import Mark, marked_depths, marked_slopes, plumb_line
from render.errors import InputError, SettingError
from render.optics.camera import Camera, Vantage
from render.optics.terrain import level_axes
from render.words import pitch_words

__all__ = [
    "LEVEL",
    "Slope",
    "ground_depth",
    "ground_plane",
    "height_over_ground",
    "horizon_row",
    "pitch_from_horizon",
    "plane_depth",
    "plane_inverse_depth",
    "vantage_from_distances",
    "vantage_from_heights",
]


_LOWEST = 0.98  # of how far things lie below the lens: what is deeper is noise


@dataclass(frozen=True, slots=True)
class Slope:
    """How the ground climbs.

    Attributes
    ----------
    climb_deg : float
        Steepness, > 0 climbing, inside (-90, 90); the vantage's height is taken at its foot.
    bearing_deg : float
        Level direction of the climb: 0 straight away from the camera, 90 to the right.
    """

    climb_deg: float = 0.0
    bearing_deg: float = 0.0

    def rise_m(
        self, right_m: NDArray[np.float64], ahead_m: NDArray[np.float64]
    ) -> NDArray[np.float64]:
        """Height (m) over its foot at level metres to the right and ahead."""
        climb, bearing = math.tan(math.radians(self.climb_deg)), math.radians(self.bearing_deg)
        return np.asarray(climb * (ahead_m * math.cos(bearing) + right_m * math.sin(bearing)))

    def __post_init__(self) -> None:
        if not abs(self.climb_deg) < 90:
            raise SettingError(f"a slope must lie between -90 and 90 degrees: {self.climb_deg!r}")
        if not math.isfinite(self.bearing_deg):
            raise SettingError(f"a slope's bearing must be a number, not {self.bearing_deg!r}")


LEVEL = Slope()


def ground_plane(vantage: Vantage, slope: Slope = LEVEL) -> NDArray[np.float64]:
    """Ground as a plane ``m . P = 1`` in the camera's frame; m in 1/m, shape (3,).

    In the level world (X right, Y down, F ahead) the ground is
    ``Y + tan(s) (F cos b + X sin b) = h``: h below the lens, climbing by s towards b.
    """
    climb, bearing = math.tan(math.radians(slope.climb_deg)), math.radians(slope.bearing_deg)
    level = np.array([climb * math.sin(bearing), 1.0, climb * math.cos(bearing)])
    return np.asarray(level @ level_axes(vantage) / vantage.height_m)


def plane_inverse_depth(camera: Camera, plane_per_m: NDArray[np.float64]) -> NDArray[np.float32]:
    """Inverse depth (1/m) of a plane ``m . P = 1``, 0 where the plane is behind or never met."""
    columns, rows = camera.grid()
    across = (plane_per_m[0] * columns).astype(np.float32)
    down = (plane_per_m[1] * rows + plane_per_m[2]).astype(np.float32)
    inverse: NDArray[np.float32] = np.add.outer(down, across)
    np.maximum(inverse, np.float32(0), out=inverse)
    return inverse


def plane_depth(camera: Camera, plane_per_m: NDArray[np.float64]) -> NDArray[np.float32]:
    """Depth z (m) of a plane ``m . P = 1``; ``inf`` where it is not met. Shape (H, W)."""
    depth = plane_inverse_depth(camera, plane_per_m)
    with np.errstate(divide="ignore", over="ignore"):
        return np.reciprocal(depth, out=depth)


def height_over_ground(
    depth_m: NDArray[np.float32], camera: Camera, pitch_deg: float, roll_deg: float = 0.0
) -> float | None:
    """Height (m) of the lens over the ground that a depth map shows, its pitch known.

    The ground is the lowest that is seen: how far the nearer half of what is seen lies below the
    lens, near its greatest (derived here). None where nothing lies below it.
    """
    seen = np.isfinite(depth_m)
    if not seen.any():
        return None
    _, down, _ = level_axes(Vantage(1.0, pitch_deg, roll_deg))
    x, y = camera.grid()
    below_m = (down[0] * x[None, :] + down[1] * y[:, None] + down[2]) * np.where(seen, depth_m, 0)
    nearer = seen & (depth_m <= np.median(depth_m[seen]))
    height_m = float(np.quantile(below_m[nearer], _LOWEST))
    return height_m if height_m > 0 else None


def ground_depth(camera: Camera, vantage: Vantage, slope: Slope = LEVEL) -> NDArray[np.float32]:
    """Depth of level or sloping ground; everything above its horizon is sky.

    Parameters
    ----------
    camera : Camera
    vantage : Vantage
        Height over the ground below the camera, pitch and roll.
    slope : Slope
        How the ground climbs; level unless said.

    Returns
    -------
    ndarray, shape (H, W), float32
        z in metres, ``inf`` above the horizon.

    Raises
    ------
    InputError
        If no ground is in view at all.
    """
    depth = plane_depth(camera, ground_plane(vantage, slope))
    corners = depth[:: max(1, camera.height_px - 1), :: max(1, camera.width_px - 1)]
    if not np.any(np.isfinite(corners)):  # affine: if no corner meets the ground, nothing does
        raise InputError(
            "the ground lies below the whole picture: the horizon must be inside it or above "
            f"its bottom edge, so check pitch or horizon (the camera looks "
            f"{pitch_words(vantage.pitch_deg)})"
        )
    return depth


def horizon_row(camera: Camera, vantage: Vantage) -> float:
    """Picture row y (px) of the level horizon in the column of the principal point.

    From ``n . (0, s, 1) = 0`` with the plumb line n: ``s = -tan(pitch) / cos(roll)``.
    """
    slope = -math.tan(math.radians(vantage.pitch_deg)) / math.cos(math.radians(vantage.roll_deg))
    return camera.centre_y_px + camera.focal_px * slope


def pitch_from_horizon(camera: Camera, y_px: float, roll_deg: float = 0.0) -> float:
    """Pitch (degrees down) of a camera that sees the level horizon at row `y_px`.

    The row is taken in the column of the principal point (the middle of an unshifted picture);
    it may lie outside the picture. Inverse of `horizon_row`.
    """
    if not math.isfinite(y_px):
        raise InputError(f"the horizon's row must be a number of pixels, not {y_px!r}")
    slope = (y_px - camera.centre_y_px) / camera.focal_px
    return math.degrees(math.atan(-slope * math.cos(math.radians(roll_deg))))


def vantage_from_distances(camera: Camera, marks: Sequence[Mark], roll_deg: float = 0.0) -> Vantage:
    """Height and pitch from two or more known distances to things on level ground.

    With ``u = s_x sin r + s_y cos r`` level ground is ``1/z = A u + B``, ``A = cos p / h``,
    ``B = sin p / h``: linear in A and B (least squares in inverse depth for more than two).
    Distances from a map depend on the pitch: the one at which they agree on a height is taken.

    Raises
    ------
    InputError
        If there are fewer than two marks, they lie equally low in the picture, or the nearer
        one lies higher (then they are not on level ground).
    """
    places = tuple(marks)
    if len(places) < 2:
        raise InputError("height and pitch need two known things on the ground; one is not enough")
    roll = math.radians(roll_deg)
    low = marked_slopes(camera, places) @ np.array([math.sin(roll), math.cos(roll)])
    if not np.ptp(low) * camera.focal_px > 2:
        raise InputError(
            "the known things lie equally low in the picture, so they cannot tell the pitch: "
            "mark one near and one far"
        )
    pitch = 0.0
    if any(mark.measured == "map" for mark in places):
        pitch = _pitch_of_one_height(camera, places, low, roll_deg)
    inverse = 1.0 / marked_depths(camera, places, Vantage(1.0, pitch, roll_deg))
    design = np.stack([low, np.ones(len(places))], axis=1)
    across, along = np.linalg.lstsq(design, inverse, rcond=None)[0]
    if not across > 0:
        raise InputError(
            "the nearer of the known things lies higher in the picture: on level ground near "
            "things lie lower, so check the distances"
        )
    pitch = math.degrees(math.atan2(along, across))
    return Vantage(1.0 / math.hypot(across, along), pitch, roll_deg)


def _pitch_of_one_height(
    camera: Camera, marks: tuple[Mark, ...], low: NDArray[np.float64], roll_deg: float
) -> float:
    """Pitch at which all marks say most nearly the same height (each says ``z n.D``).

    For level distances a second, steeper answer mirrors it about 45 degrees of depression:
    the flatter one is taken.
    """
    from scipy.optimize import minimize_scalar

    def spread(pitch_deg: float) -> float:
        depth = marked_depths(camera, marks, Vantage(1.0, pitch_deg, roll_deg))
        p = math.radians(pitch_deg)
        return float(np.var(np.log(depth * (low * math.cos(p) + math.sin(p)))))

    lowest = math.degrees(-math.atan(float(low.min()))) + 1e-3  # the farthest still lies below
    angles = np.degrees(np.arctan([low.min(), low.max()]))
    tried = np.linspace(lowest, 45.0 - float(angles.mean()), 181)
    best = int(np.argmin([spread(float(p)) for p in tried]))
    span = (float(tried[max(best - 1, 0)]), float(tried[min(best + 1, 180)]))
    return float(minimize_scalar(spread, bounds=span, options={"xatol": 1e-9}).x)


def vantage_from_heights(
    camera: Camera,
    things: Sequence[tuple[tuple[float, float], tuple[float, float], float]],
    roll_deg: float = 0.0,
) -> Vantage:
    """Height and pitch from two or more upright things of known height on level ground.

    Each thing is (foot (x, y) px, top (x, y) px, height m). The foot lies at ``F h / (n.F)``
    along its ray F, the top at ``s T`` along T. Foot and top share their part along g, the level
    way ahead, and their parts along the plumb line n are h and h - H, which leaves
    ``H / h = 1 - (n.T) (g.F) / ((n.F) (g.T))``. Solved for h and pitch by least squares.

    Raises
    ------
    InputError
        If there are fewer than two things, or no height and pitch explain them.
    """
    from scipy.optimize import least_squares

    if len(things) < 2:
        raise InputError("height and pitch need two upright things of known height")
    feet = np.array([[*camera.slopes(*foot), 1.0] for foot, _, _ in things])
    tops = np.array([[*camera.slopes(*top), 1.0] for _, top, _ in things])
    tall = np.array([height for _, _, height in things])
    if not np.all(tall > 0):
        raise InputError("the height of an upright thing must be above 0 m")

    def misfit(unknown: NDArray[np.float64]) -> NDArray[np.float64]:
        _, down, ahead = level_axes(Vantage(1.0, float(unknown[1]), roll_deg))
        seen = 1.0 - (tops @ down) * (feet @ ahead) / ((feet @ down) * (tops @ ahead))
        return np.asarray(seen - tall * math.exp(-unknown[0]))

    starts = [(math.log(h), p) for h in (1.6, 10.0, 50.0) for p in (2.0, 15.0, 40.0)]
    fits = [
        least_squares(misfit, start, bounds=([-3.0, -60.0], [8.0, 89.0]), x_scale=(0.3, 5.0))
        for start in starts
    ]
    best = min(fits, key=lambda fit: fit.cost)
    pitch, height = float(best.x[1]), math.exp(float(best.x[0]))
    down = plumb_line(Vantage(1.0, pitch, roll_deg))
    if not (np.all(feet @ down > 0) and math.sqrt(2 * best.cost / len(tall)) < 0.05):
        raise InputError(
            "no height and pitch explain the upright things: check that each foot stands on "
            "level ground below the horizon, and the heights"
        )
    return Vantage(height, pitch, roll_deg)
