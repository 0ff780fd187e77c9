"""Places a focus can be laid on and found again: one surface all round, no edge of a thing.

A single ray may meet a lamp post in a picture of 640 pixels and the ground beside it in one of 480.
So a place is one round which nothing changes, and its depth is that of the ground where that is
what one sees, else that of the plane through all that is seen there: the number of pixels has no
say in it.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from render.judge.case import Case
from render.judge.fitting import plane_fit
from render.optics.lens import FocusSpot
from render.optics.terrain import before_ground, ground_shows, meets_ground

__all__ = ["ground_inverse", "open_place"]

Floats = NDArray[np.float64]

_ROUND = 0.015  # of the frame's height: so far all round it is one surface
_CLOSE = 0.005  # of the frame's height: so far round it there is nothing else at all
_LEAST_CELLS = 1.6  # a place is never less than three cells wide
_SIDEWAYS = 0.02  # of the frame's width: from one place tried to the next
_STEPS = 8  # so many to either side
_MOSTLY = 0.7  # of what is seen round a place on the ground is the ground
#: How far what is seen round a place may lie off one plane, rms of 1/z, relative: places within
#: the first are all as good, then those within the second.
_OFF_A_PLANE = (0.01, 0.05)


def open_place(case: Case, column: float, row: float) -> FocusSpot | None:
    """The nearest to a place, sideways, that is one surface all round; None where none is.

    Parameters
    ----------
    column, row : float
        In the frame, as shares of its width and height.
    """
    steps = sorted(range(-_STEPS, _STEPS + 1), key=lambda step: (abs(step), step))
    places = [column + step * _SIDEWAYS for step in steps]
    views = [_view(case, place, row) for place in places if 0.0 < place < 1.0]
    views = [view for view in views if view.inverse.size and np.all(view.inverse > 0)]
    for view in views:
        there = _ground_seen(case, view)
        if there > 0:
            return FocusSpot(view.slope_x, view.slope_y, 1.0 / there)
    planes = [_plane_seen(view) for view in views]
    for most in _OFF_A_PLANE:
        for view, (off, there) in zip(views, planes, strict=True):
            if off <= most:
                return FocusSpot(view.slope_x, view.slope_y, 1.0 / there)
    return None


def ground_inverse(case: Case, slope_x: float, slope_y: float) -> float:
    """1/z of the ground along a ray, 1/m; 0 where there is none or nobody knows where it lies."""
    if case.vantage is None:
        return 0.0
    return max(0.0, float(meets_ground(case.vantage, [(slope_x, slope_y)])[0]))


@dataclass(frozen=True, slots=True, eq=False)
class _View:
    """What is seen round a place: its ray, the rays round it, their 1/z, which lie close by."""

    slope_x: float
    slope_y: float
    rays: Floats
    inverse: Floats
    close: NDArray[np.bool_]


def _view(case: Case, column: float, row: float) -> _View:
    samples = case.samples
    camera = samples.camera
    x, y = (float(part) for part in camera.slopes(column * camera.width_px, row * camera.height_px))
    cell = _LEAST_CELLS * samples.step_px / camera.focal_px
    reach = max(_ROUND * samples.slope_height, cell)
    if samples.scattered:
        near = np.arange(samples.inverse.size)
    else:  # only the rows and columns round it: a picture has half a million cells
        across = samples.shape[1]
        rows = np.flatnonzero(np.abs(samples.slope_y[::across] - y) <= reach)
        columns = np.flatnonzero(np.abs(samples.slope_x[:across] - x) <= reach)
        near = (rows[:, None] * across + columns).ravel()
    rays = np.stack([samples.slope_x[near], samples.slope_y[near]], axis=-1)
    away = np.abs(rays - (x, y)).max(axis=1)
    inside = away <= reach
    close = away[inside] <= max(_CLOSE * samples.slope_height, cell)
    return _View(x, y, rays[inside], samples.inverse[near][inside], close)


def _ground_seen(case: Case, view: _View) -> float:
    """1/z of the ground at a place, as it is seen there; 0 where something else is seen.

    Nothing but the ground may be seen close by, and mostly ground round that.
    """
    if case.vantage is None:
        return 0.0
    same = ground_shows(case.vantage, view.rays, view.inverse)
    if not np.all(same[view.close]) or same.mean() < _MOSTLY:
        return 0.0
    before = before_ground(case.vantage, view.rays[same], view.inverse[same])
    seen = 1.0 / (1.0 - float(np.median(before)))
    return seen * ground_inverse(case, view.slope_x, view.slope_y)


def _plane_seen(view: _View) -> tuple[float, float]:
    """How far what is seen lies off one plane, rms of 1/z, relative, and 1/z of that plane."""
    right, down = (view.rays - (view.slope_x, view.slope_y)).T
    (gx, gy, there), _ = plane_fit(right, down, view.inverse, np.ones(right.size))
    if not there > 0:
        return np.inf, 0.0
    off = np.sqrt(np.mean((gx * right + gy * down + there - view.inverse) ** 2)) / there
    return float(off), float(there)
