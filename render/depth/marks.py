"""Marked distances spread over a picture along its edges.

Each mark speaks for the pixels near to it, near being measured along the picture, where a way
over an edge is long (`render.depth.ways`).
Between marks inverse depth is mixed in its logarithm with weights ``distance^-4`` (D. Shepard,
1968), over a prior: the ground where it is known, else a level trend through the marks.
A mark far off the prior stands for a thing of its own and reaches less far.
Numbers were chosen on six pictures with true depth: see README.md in this folder.
"""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from render.depth.depthmap import DepthMap
from render.depth.kernels import enlarge_by_colour
from render.depth.mark import Mark, depth_at, marked_depths, pixel_of
from render.depth.sampling import enlarged, reduced
from render.depth.ways import ways_from
from render.errors import InputError
from render.optics.camera import Camera, Vantage
from render.words import length_words

__all__ = ["Misfit", "SpreadMarks", "spread_marks"]

_GRID_PX = 256  # long side of the grid on which ways are measured
_OWN_THING = 0.25  # log ratio to the ground beyond which a mark is a thing of its own
_OWN_REACH = 0.02  # alone, such a mark speaks so much less for what lies away from it
_MOST_OFF = math.log(2.0)  # beyond that it makes no difference how far off the ground a mark is
_ON_GROUND = 0.12  # log ratio to the ground within which a mark bears it out
_CONTRADICTS = 0.15  # log ratio to the ground beyond which a mark says something else; ours
_SAME_PLACE = 0.02  # ways shorter than this join one surface
_USUAL_GROWTH = 0.03  # of the error, for each long side of way; measured
_SOFTNESS = 0.08
_BUMP = 0.015  # of the long side: a spot as large as an eye in a portrait; ours
_APART = 0.1  # log ratio by which the picture about a mark passes it over; ours
_BEST_SHARE = 0.03  # nobody reads a distance off a map or a rangefinder surer than that
_MUCH_BETTER = 0.7  # times as far off: less is within the luck of a few marks (ours)


@dataclass(frozen=True, slots=True)
class Misfit:
    """How well one mark agrees with the finished depth, and with all the other marks.

    Attributes
    ----------
    mark : Mark
    depth_m : float
        The marked depth along the axis.
    spread_m : float
        Depth of the finished map there.
    others_m : float
        Depth that the other marks alone give there (NaN for a single mark without ground).
    """

    mark: Mark
    depth_m: float
    spread_m: float
    others_m: float

    def words(self) -> str:
        """Return the misfit as a sentence."""
        marked = _marked_words(self.mark, self.depth_m)
        if not math.isfinite(self.spread_m):
            return f"{marked}: the depth has the sky there"
        off = 100 * (self.spread_m / self.depth_m - 1)
        said = (
            f"{marked}: the depth has {length_words(self.spread_m)} there ({round(off) or 0:+d} %)"
        )
        if np.isfinite(self.others_m):
            said += f"; without it the other marks would say {length_words(self.others_m)}"
        return said


def _marked_words(mark: Mark, depth_m: float) -> str:
    """A mark, with its depth where it was measured another way than along the axis."""
    if mark.measured == "axis":
        return str(mark)
    how = "on the map" if mark.measured == "map" else "from the lens"
    return f"{mark} {how}, {length_words(depth_m)} along the axis"


@dataclass(frozen=True, slots=True, eq=False)
class SpreadMarks:
    """The depth spread from marks and the misfit at each of them."""

    depth: DepthMap
    misfits: tuple[Misfit, ...]


def spread_marks(
    picture: NDArray[np.float32],
    camera: Camera,
    marks: Sequence[Mark],
    *,
    ground_m: NDArray[np.float32] | None = None,
    vantage: Vantage | None = None,
    sky: NDArray[np.bool_] | None = None,
) -> SpreadMarks:
    """Spread marked distances over a picture along its edges.

    Parameters
    ----------
    picture : ndarray, shape (H, W, 3), float32
        Linear light.
    camera : Camera
        Of the picture.
    marks : sequence of Mark
        At least one with a ground, two without.
    ground_m : ndarray, shape (H, W), optional
        Depth of the ground (``inf`` above its horizon), taken where marks do not speak against it.
    vantage : Vantage, optional
        Needed for distances from a map.
    sky : ndarray of bool, shape (H, W), optional
        What is at infinity; where not given, what lies above the ground's horizon, unless a
        mark lies there.

    Returns
    -------
    SpreadMarks

    Raises
    ------
    InputError
        If there are too few marks, one lies on the sky or outside, or two contradict each other.
    """
    places = tuple(marks)
    if len(places) < (2 if ground_m is None else 1):
        raise InputError("one marked distance is not enough: mark two or more, or give the ground")
    depth = marked_depths(camera, places, vantage)
    _refuse_sky(places, sky)
    ends = _horizon_sky(places, ground_m) if sky is None else None
    sky = ends if sky is None else sky
    grid = _Grid.of(picture, camera, places)
    inverse = 1.0 / depth
    source = _trend_through(grid, inverse) if ground_m is None else _over_ground(ground_m)
    prior, own_thing = source(grid, inverse)
    ratio = np.log(inverse / prior[grid.rows, grid.columns])
    _refuse_contradictions(places, grid, ratio)
    spread = _mixed(grid.ways, inverse, ratio, prior, own_thing)
    others, apart = _without_each(grid, inverse, source)
    doubt = _doubt(grid, np.abs(np.log(others / inverse)), apart)
    plane = np.empty(picture.shape[:2], np.float32)
    light = np.ascontiguousarray(picture, np.float32)
    enlarge_by_colour(spread.astype(np.float32), grid.light, light, _SOFTNESS, plane)
    missed = _held_to(plane, places, inverse)
    with np.errstate(divide="ignore"):
        depth_m = np.reciprocal(plane, out=plane)
    unsure = enlarged(doubt.astype(np.float32), camera.height_px, camera.width_px)
    if sky is not None:
        depth_m[sky] = np.inf
    misfits = tuple(
        Misfit(mark, float(depth[k]), depth_at(depth_m, mark), float(1 / others[k]))
        for k, mark in enumerate(places)
    )
    how = f"{len(places)} marked distance{'s' if len(places) > 1 else ''} " + (
        "spread along the picture's edges" if ground_m is None else "over the ground"
    )
    remarks = _remarks(places, ratio, ground_m, sky, ended=ends is not None and bool(ends.any()))
    remarks += _apart(places, missed)
    if ground_m is not None and len(places) > 3:
        remarks += _ground_doubted(grid, inverse, others)
    return SpreadMarks(DepthMap(depth_m, how, unsure, remarks), misfits)


def _held_to(
    plane: NDArray[np.float32], marks: tuple[Mark, ...], inverse: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Give the pixels of the marks their own inverse depth, and those about them a share of it.

    On the coarse grid a mark holds in its cell; a small thing of its own colour, such as an eye,
    is filled from its neighbours' cells all the same. What is missing there, a ratio, is the most
    by which what lies within `_BUMP` of the long side moves towards the mark's depth, less and
    less with the way to it; a bump ends at the next mark (H. Wendland, 1995).

    Returns
    -------
    ndarray, shape (K,)
        Logarithm of what was missing at each mark.
    """
    height, width = plane.shape
    at = np.array([pixel_of(mark, plane.shape) for mark in marks])
    missing = np.log(inverse / plane[at[:, 0], at[:, 1]])
    reach = _BUMP * max(height, width)
    for (row, column), own, most in zip(at, inverse, np.abs(missing), strict=True):
        apart = np.hypot(*(at - (row, column)).T)
        ends = min(reach, float(apart[apart > 0].min(initial=np.inf)))
        rows = np.arange(max(0, row - int(ends)), min(height, row + int(ends) + 1))
        columns = np.arange(max(0, column - int(ends)), min(width, column + int(ends) + 1))
        here = np.ix_(rows, columns)
        share = _bump(np.hypot(rows[:, None] - row, columns[None] - column) / ends)
        plane[here] *= np.exp(share * np.clip(np.log(own / plane[here]), -most, most))
    return np.asarray(missing)


def _bump(away: NDArray[np.float64]) -> NDArray[np.float64]:
    """1 at 0, and 0 from 1 on, smooth: ``(1 - t)^4 (4 t + 1)``."""
    return np.asarray(np.maximum(1.0 - away, 0.0) ** 4 * (4.0 * away + 1.0))


@dataclass(frozen=True, slots=True, eq=False)
class _Grid:
    """The coarse picture, where the marks lie on it, and the ways from each mark (K, h, w)."""

    light: NDArray[np.float32]
    rows: NDArray[np.intp]
    columns: NDArray[np.intp]
    ways: NDArray[np.float64]

    @classmethod
    def of(cls, picture: NDArray[np.float32], camera: Camera, marks: tuple[Mark, ...]) -> "_Grid":
        light = np.ascontiguousarray(reduced(picture, _GRID_PX))
        height, width = light.shape[:2]
        y = np.array([m.y_px for m in marks]) * height / camera.height_px
        x = np.array([m.x_px for m in marks]) * width / camera.width_px
        rows = np.clip(y.astype(np.intp), 0, height - 1)
        columns = np.clip(x.astype(np.intp), 0, width - 1)
        return cls(light, rows, columns, ways_from(light, rows, columns))

    def without(self, index: int) -> "_Grid":
        """The other marks, and their ways to this one alone."""
        keep = np.arange(len(self.rows)) != index
        here = self.ways[keep, self.rows[index], self.columns[index]]
        return _Grid(self.light, self.rows[keep], self.columns[keep], here[:, None, None])


#: Inverse depth on the grid before the marks speak, and the log ratio to it beyond which a mark
#: is a thing of its own.
_Prior = Callable[[_Grid, NDArray[np.float64]], tuple[NDArray[np.float64], float]]


def _over_ground(ground_m: NDArray[np.float32]) -> _Prior:
    with np.errstate(divide="ignore"):
        ground = reduced(np.reciprocal(ground_m, dtype=np.float32), _GRID_PX).astype(float)
    return lambda grid, inverse: (
        np.where(ground > 0, ground, 0.5 * inverse.min()),  # above the horizon there is none
        _OWN_THING,
    )


def _trend_through(grid: _Grid, inverse: NDArray[np.float64]) -> _Prior:
    """The one of three trends under which left-out marks are told best."""

    def error(trend: _Prior) -> float:
        others, _ = _without_each(grid, inverse, trend)
        return float(np.mean(np.abs(np.log(others / inverse))))

    return min((_far_trend, _middle_trend, _horizon_trend), key=error)


def _far_trend(grid: _Grid, inverse: NDArray[np.float64]) -> tuple[NDArray[np.float64], float]:
    """Inverse depth growing steadily down the picture, as level ground's does; never shrinking.

    Least squares in relative error, so that near things do not bend it, drawn by a small ridge
    towards ground seen slightly from above: three times as near at the bottom as at the top.
    """
    height = grid.light.shape[0]
    low = (grid.rows + 0.5) / height - 0.5
    design = np.stack([np.ones_like(low), low], axis=1) / inverse[:, None]
    ridge = 0.02 * float(np.sum(inverse**-2.0)) * np.array([[1.0, -1.0], [-1.0, 1.0]])
    level, growth = np.linalg.solve(design.T @ design + ridge, design.sum(axis=0))
    if growth < 0:
        growth, level = 0.0, float(np.exp(np.mean(np.log(inverse))))
    return _falling(grid, level, growth / level, inverse)


def _middle_trend(grid: _Grid, inverse: NDArray[np.float64]) -> tuple[NDArray[np.float64], float]:
    """Such a trend through the middle of the marks: least absolute error of the logarithm."""
    low = (grid.rows + 0.5) / grid.light.shape[0] - 0.5
    growths = np.linspace(0.0, 1.95, 40)
    ratio = np.log(inverse) - np.log1p(growths[:, None] * low)
    middle = np.median(ratio, axis=1)
    cost = np.mean(np.abs(ratio - middle[:, None]), axis=1) ** 2 + 0.05 * (growths - 1.0) ** 2
    best = int(np.argmin(cost))
    return _falling(grid, float(np.exp(middle[best])), float(growths[best]), inverse)


def _horizon_trend(grid: _Grid, inverse: NDArray[np.float64]) -> tuple[NDArray[np.float64], float]:
    """Level ground that ends at a horizon somewhere above the highest mark.

    Inverse depth is in proportion to how far a row lies below the horizon; least absolute error
    of the logarithm, drawn by very little towards a horizon half a picture above that mark.
    """
    height, width = grid.light.shape[:2]
    low = (grid.rows + 0.5) / height
    gaps = np.geomspace(0.02, 3.0, 60)
    ratio = np.log(inverse) - np.log(low - low.min() + gaps[:, None])
    middle = np.median(ratio, axis=1)
    cost = np.mean(np.abs(ratio - middle[:, None]), axis=1) ** 2
    cost += 0.001 * np.log(gaps / 0.5) ** 2
    best = int(np.argmin(cost))
    below = (np.arange(height) + 0.5) / height - low.min() + gaps[best]
    rows = np.maximum(np.exp(middle[best]) * below, 0.3 * inverse.min())
    return np.repeat(rows[:, None], width, axis=1), np.inf


def _falling(
    grid: _Grid, level: float, growth: float, inverse: NDArray[np.float64]
) -> tuple[NDArray[np.float64], float]:
    height, width = grid.light.shape[:2]
    rows = level * (1.0 + growth * ((np.arange(height) + 0.5) / height - 0.5))
    rows = np.maximum(rows, 0.3 * inverse.min())
    return np.repeat(rows[:, None], width, axis=1), np.inf


def _mixed(
    ways: NDArray[np.float64],
    inverse: NDArray[np.float64],
    ratio: NDArray[np.float64],
    prior: NDArray[np.float64],
    own_thing: float,
) -> NDArray[np.float64]:
    """Inverse depth where `ways` (K, ...) lead to the marks and `prior` (...) stands before them.

    A mark near the prior carries the prior's shape, scaled; one that is a thing of its own
    carries its depth. Ground speaks for itself too, one long side away from everything, the
    more so the more marks bear it out.
    """
    usual = max(0.5, float(np.median(np.abs(ratio)))) if np.isinf(own_thing) else 0.3
    away = ratio if np.isinf(own_thing) else np.clip(ratio, -_MOST_OFF, _MOST_OFF)
    reach = 1.0 / (1.0 + (away / usual) ** 2) ** 2
    near = (ways + 0.01) ** 2
    weights = np.moveaxis(reach / np.moveaxis(near * near, 0, -1), -1, 0)
    own = np.clip(np.abs(ratio) / own_thing - 1.0, 0.0, 1.0)
    ground = 0.0
    if not np.isinf(own_thing):
        # as if one more mark bore the ground out: a single one against it is no proof
        count = float(len(ratio))
        on_ground = float(np.mean(np.abs(ratio) < _ON_GROUND))
        ground = max(on_ground, 1.0 / (count + 1.0)) ** 4
        near_only = 1.0 - own * (1.0 - _OWN_REACH ** (1.0 / count))
        weights = np.moveaxis(near_only * np.moveaxis(weights, 0, -1), -1, 0)
    weights /= weights.sum(axis=0) + ground
    mixed = np.tensordot((1 - own) * ratio + own * np.log(inverse), weights, axes=1)
    return np.asarray(np.exp(mixed + np.log(prior) * (1 - np.tensordot(own, weights, axes=1))))


def _without_each(
    grid: _Grid, inverse: NDArray[np.float64], source: _Prior
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Inverse depth that the others give at each mark, and the way to the nearest of them, (K,).

    A single mark has only the ground to be compared with, and nothing is near.
    """
    found, apart = [], []
    for k, (row, column) in enumerate(zip(grid.rows, grid.columns, strict=True)):
        rest, values = grid.without(k), np.delete(inverse, k)
        if values.size == 0:
            prior = source(grid, inverse)[0]
            return prior[grid.rows, grid.columns], np.array([np.inf])
        prior, own_thing = source(rest, values)
        ratio = np.log(values / prior[rest.rows, rest.columns])
        ways = rest.ways[:, 0, 0]
        found.append(float(_mixed(ways, values, ratio, prior[row, column], own_thing)))
        apart.append(float(ways.min()))
    return np.array(found), np.array(apart)


def _ground_doubted(
    grid: _Grid, inverse: NDArray[np.float64], others: NDArray[np.float64]
) -> tuple[str, ...]:
    """Say so where left-out marks are told much better without the ground than with it."""
    free, _ = _without_each(grid, inverse, _trend_through(grid, inverse))
    with_ground, without = (
        float(np.mean(np.abs(np.log(told / inverse)))) for told in (others, free)
    )
    if without > _MUCH_BETTER * with_ground:
        return ()
    return (
        f"the marks agree better without the ground ({100 * without:.0f} % off when left out, "
        f"{100 * with_ground:.0f} % with it): check height, pitch and slope, or leave it out",
    )


def _doubt(
    grid: _Grid, errors: NDArray[np.float64], apart: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Uncertainty growing with the way to the nearest mark, as fast as it does between marks.

    Few marks tell little of that, so it is mixed, in logarithms, with what it usually is.
    """
    growth = _USUAL_GROWTH
    if np.all(np.isfinite(apart)):
        found = max(1.48 * float(np.median(errors / apart)), 1e-3)
        growth *= (found / growth) ** (len(apart) / (len(apart) + 6.0))
    return np.asarray(np.minimum(np.hypot(_BEST_SHARE, growth * grid.ways.min(axis=0)), 1.0))


def _apart(marks: tuple[Mark, ...], missed: NDArray[np.float64]) -> tuple[str, ...]:
    """Say which marks hold in their spots alone, as what is about them has other colours."""
    alone = [str(mark) for mark, off in zip(marks, missed, strict=True) if abs(off) > _APART]
    if not alone:
        return ()
    few = f"the {' and the '.join(alone[:2])}" + (" and others" if len(alone) > 2 else "")
    return (
        f"{few}: what lies about the spot has other colours, as about an eye, and takes other "
        "marks' distances; outline the whole thing with --thing, or mark beside the spot too",
    )


def _horizon_sky(
    marks: tuple[Mark, ...], ground_m: NDArray[np.float32] | None
) -> NDArray[np.bool_] | None:
    """What the ground leaves to the sky, unless a mark says that something stands there."""
    if ground_m is None:
        return None
    above = np.isinf(ground_m)
    return None if any(above[pixel_of(mark, above.shape)] for mark in marks) else above


def _refuse_sky(marks: tuple[Mark, ...], sky: NDArray[np.bool_] | None) -> None:
    if sky is None:
        return
    for mark in marks:
        if sky[pixel_of(mark, sky.shape)]:
            raise InputError(
                f"the {mark} lies on the sky, which is at infinity: move the mark, or redraw the "
                "sky's outline"
            )


def _refuse_contradictions(
    marks: tuple[Mark, ...], grid: _Grid, ratio: NDArray[np.float64]
) -> None:
    for k in range(len(marks)):
        for other in range(k):
            way = grid.ways[k, grid.rows[other], grid.columns[other]]
            if way < _SAME_PLACE and abs(ratio[k] - ratio[other]) > _OWN_THING:
                raise InputError(
                    f"the {marks[other]}, and the {marks[k]}, contradict each other: they lie on "
                    "one surface with no edge between them; correct or drop one"
                )


def _remarks(
    marks: tuple[Mark, ...],
    ratio: NDArray[np.float64],
    ground_m: NDArray[np.float32] | None,
    sky: NDArray[np.bool_] | None,
    *,
    ended: bool,
) -> tuple[str, ...]:
    """What is odd in the marks and of the sky, which may have been `ended` at the horizon."""
    said = []
    if ground_m is not None:
        for mark, far in zip(marks, ratio, strict=True):
            ground = depth_at(ground_m, mark)
            if not (abs(far) > _CONTRADICTS and np.isfinite(ground)):
                continue
            marked = _marked_words(mark, ground / math.exp(far))
            said.append(
                f"the {marked}, lies farther than the ground seen there ({length_words(ground)})"
                ": the height, the pitch or this distance is off, or the ground falls away"
                if far < 0
                else f"the {marked}, lies nearer than the ground seen there "
                f"({length_words(ground)}): right where --thing names what stands there; if "
                "nothing does, the height, the pitch or this distance is off"
            )
    if sky is None:
        said.append("no sky was given, so nothing is at infinity")
    if ended:
        said.append(
            "above the horizon everything is taken for sky, as no mark lies there: mark what "
            "stands there, or say where the sky is"
        )
    return tuple(said)
