"""The linear problem behind `render.optics.solving.solve`: fit a lens axis and a focus to points.

With the lens axis n and ``e = n_z - f/v``, a point on the ray of slopes q at depth z is sharp if
``q . n_xy + e = f/z``: linear in (n_x, n_y, e), because |n| = 1 enters only through n_z. What is
left over, ``r = f/z - q . n_xy - e``, is the point's defocus times f/v, so least squares and the
smallest f-number (minimax) are a linear least squares and a linear programme. Derived here.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from render.errors import SettingError
from render.limits import TARGETS
from render.optics.plane import lens_axis
from render.optics.solving.targets import Freedom, Target

__all__ = ["Goal", "Points", "axis_on_limit", "gather", "unlimited_axis"]

Array = NDArray[np.float64]
Goal = Literal["smallest f-number", "least squares"]

#: Below this largest residual times f (mm) there is nothing left for the linear programme.
_NOTHING_LEFT_MM = 1e-6
_LIMIT_STEPS = 144


@dataclass(frozen=True, slots=True, eq=False)
class Points:
    """The targets as rows of the linear problem ``q . n_xy + e = g``.

    Attributes
    ----------
    focal_mm : float
    targets : tuple of Target
    q : ndarray, shape (N, 2)
        Slopes.
    g : ndarray, shape (N,)
        f / z.
    weight : ndarray, shape (N,)
    """

    focal_mm: float
    targets: tuple[Target, ...]
    q: Array
    g: Array
    weight: Array

    def best_offset(self, axis_xy: Array, goal: Goal) -> tuple[float, float]:
        """Best e for a given axis, and the goal's value there."""
        left = self.g - self.q @ axis_xy
        if goal == "least squares":
            squares = self.weight**2
            offset = float(squares @ left / squares.sum())
            return offset, float(squares @ (left - offset) ** 2)
        low, high = float(left.min()), float(left.max())
        if np.ptp(self.weight) == 0:
            return (low + high) / 2, float(self.weight[0]) * (high - low) / 2
        # each pair alone would leave w_i w_j (left_i - left_j) / (w_i + w_j); the worst one rules
        w = self.weight
        excess = np.multiply.outer(w, w) / np.add.outer(w, w) * np.subtract.outer(left, left)
        i, j = np.unravel_index(int(np.argmax(excess)), excess.shape)
        return float((w[i] * left[i] + w[j] * left[j]) / (w[i] + w[j])), float(excess[i, j])


def gather(targets: Sequence[Target], focal_mm: float) -> Points:
    """Rows of the linear problem for these targets behind this focal length.

    Raises
    ------
    SettingError, InputError
        If there is no target or too many, or the focal length is not a number above 0.
    """
    if not targets:
        raise SettingError("give one or more points to be sharp")
    TARGETS.check(
        len(targets), f"{len(targets):,} points are to be sharp", "leave out what lies between"
    )
    if not (math.isfinite(focal_mm) and focal_mm > 0):
        raise SettingError(f"the focal length must be a number above 0 mm, not {focal_mm!r}")
    return Points(
        focal_mm,
        tuple(targets),
        np.array([[t.slope_x, t.slope_y] for t in targets]),
        np.array([focal_mm / (1000.0 * t.depth_m) for t in targets]),
        np.array([t.weight for t in targets]),
    )


def unlimited_axis(
    points: Points, freedom: Freedom, goal: Goal, pixel_slope: float, directions: int = 2
) -> Array:
    """Best n_xy without a limit on its length.

    Parameters
    ----------
    directions : int
        Along how many directions of the picture the lens may lean: with 1 only along the one in
        which the points lie farthest apart.
    """
    t, s = math.radians(freedom.tilt_deg), math.radians(freedom.swing_deg)
    free = np.eye(2)[:, [freedom.swing, freedom.tilt]]
    held = np.zeros(2)
    if not freedom.tilt:
        held[1] = math.sin(t)
    if freedom.swing or s == 0:
        return _fit(points, held, free, goal, pixel_slope, directions)
    if not freedom.tilt:
        held[0] = math.sin(s) * math.cos(t)
        return held
    # a held swing contributes n_x = sin s cos t, which moves a little with the tilt
    axis_xy = np.zeros(2)
    for _ in range(40):
        held[0] = math.sin(s) * math.sqrt(max(0.0, 1.0 - axis_xy[1] ** 2))
        before, axis_xy = axis_xy[1], _fit(points, held, free, goal, pixel_slope, directions)
        if abs(axis_xy[1] - before) < 1e-12:
            break
    return axis_xy


def _fit(
    points: Points, held: Array, free: Array, goal: Goal, pixel_slope: float, directions: int
) -> Array:
    """Best n_xy = held + free y; directions that the points do not span are not moved in."""
    q, g, w = points.q @ free, points.g - points.q @ held, points.weight
    spread, axes = np.linalg.svd(q - q.mean(0), full_matrices=False)[1:]
    free = free @ axes[spread > pixel_slope][:directions].T
    rows = np.column_stack([points.q @ free, np.ones(len(g))])
    best = np.linalg.lstsq(rows * w[:, None], g * w, rcond=None)[0]
    left = (g - rows @ best) * w
    worst = float(np.abs(left).max())
    if goal == "smallest f-number" and worst * points.focal_mm > _NOTHING_LEFT_MM:
        best = best + worst * _minimax(rows * w[:, None], left / worst)
    return np.asarray(held + free @ best[:-1])


def _minimax(rows: Array, right: Array) -> Array:
    """Parameters x that make the largest ``|right - rows x|`` smallest, by linear programme."""
    from scipy.optimize import linprog  # a quarter of a second, and most commands solve nothing

    count, width = rows.shape
    one = np.ones((count, 1))
    result = linprog(
        np.append(np.zeros(width), 1.0),
        A_ub=np.block([[-rows, -one], [rows, -one]]),
        b_ub=np.concatenate([-right, right]),
        bounds=[(None, None)] * width + [(0, None)],
    )
    assert result.x is not None, result.message  # feasible and bounded by its making
    return np.asarray(result.x[:-1])


def axis_on_limit(points: Points, freedom: Freedom, goal: Goal) -> Array:
    """Best n_xy at the tilt limit: the problem is convex, so the best lies on the rim."""
    cosine, sine = (part(math.radians(freedom.limit_deg)) for part in (math.cos, math.sin))
    if not (freedom.tilt and freedom.swing):
        held = math.radians(freedom.swing_deg if freedom.tilt else freedom.tilt_deg)
        turn = math.acos(min(1.0, cosine / math.cos(held)))
        ends = [
            lens_axis(math.degrees(t), math.degrees(s))[:2]
            for t, s in (
                ((turn, held), (-turn, held)) if freedom.tilt else ((held, turn), (held, -turn))
            )
        ]
        return np.asarray(min(ends, key=lambda end: points.best_offset(end, goal)[1]))

    def value(azimuth: float) -> float:
        return points.best_offset(at(azimuth), goal)[1]

    def at(azimuth: float) -> Array:
        return sine * np.array([math.cos(azimuth), math.sin(azimuth)])

    from scipy.optimize import minimize_scalar  # as above

    step = 2 * math.pi / _LIMIT_STEPS
    start = min((k * step for k in range(_LIMIT_STEPS)), key=value)
    found = minimize_scalar(
        value, bounds=(start - step, start + step), method="bounded", options={"xatol": 1e-9}
    )
    return at(float(found.x))
