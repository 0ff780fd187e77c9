"""A thing cut out along a stroke: a rail, a post, a branch, a wire, down to a pixel or two.

The picture is unrolled along the stroke. Two borders are laid on the strongest edges beside it,
then the colours between and outside them are learnt and the borders laid anew, in turn. That says
how wide the thing is; what it is the small network knows (`known.py`), and where it is unsure, as
of leaves, what lies between the borders is taken, or the leaves there.
Numbers were chosen on traced scenes with known depth: `render/depth/README.md`.
"""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from render.depth.kernels import enlarge_by_colour
from render.depth.near.bounds import best_bounds
from render.depth.near.colours import Colours
from render.depth.near.foliage import leaves_along
from render.depth.near.known import known_along
from render.depth.near.offshoots import with_offshoots
from render.depth.near.run_on import running_on
from render.depth.near.strip import Strip, unrolled
from render.depth.sampling import coded, reduced
from render.errors import InputError

__all__ = ["thing_along"]

Floats = NDArray[np.float64]
Place = tuple[float, float]

_WORKED_PX = 1536  # long side of the picture on which a stroke is followed
_CELLS = 30  # to either side of the stroke
_SCALES = (2.0, 4.0, 8.0)  # sizes of a cell, until the thing fits
_FITS = 0.25  # share of the rows that may reach the strip's end
_TO_BORDER = 0.04  # of the long side: a stroke that ends so near the picture's edge goes there
_MIXED_PX = 0.5  # mixed pixels beside a border belong to the near side (2 dB in a photograph)
_SOFTNESS = 0.08
_ROUNDS = 4
_MOST_REST = 14
_EDGE_QUANTILE, _LEAST_EDGE = 0.98, 0.02
_ASIDE = 0.3  # cost of lying aside of the stroke, a cell and row
_LEAST_STEP = 0.03  # across a border; inside plain boards it is 0.01 at most, on things 0.06
#: A stroke is long from so many widths; of its rows so many are compared, the usual width is the
#: least that this share of them has, and a row is uneven from so much of a logarithm.
_LONG, _SEEN_ROWS, _SHARED, _UNEVEN, _MOST_OF_IT = 8.0, 60, 0.25, 0.3, 0.25
_LEVELS = (0.1, 0.2, 0.3, 0.4, 0.5)
_ONE_CELL = 1.2  # a wire of two or three cells is even, whatever the logarithm says
_SOLID = 0.6  # of the rows of even width: no leaves


def thing_along(picture: NDArray[np.float32], line_px: Sequence[Place]) -> NDArray[np.bool_]:
    """Region of the thing that a stroke follows.

    Parameters
    ----------
    picture : ndarray, shape (H, W, 3), float32
        Linear light.
    line_px : sequence of (x, y)
        Two places or more along its middle, roughly.

    Returns
    -------
    ndarray of bool, shape (H, W)

    Raises
    ------
    InputError
        If the stroke has no length, or lies outside the picture.
    """
    height, width = picture.shape[:2]
    line = np.asarray(line_px, float)
    if len(line) < 2 or not np.hypot(*np.diff(line, axis=0).T).sum() >= 2:
        raise InputError("a stroke needs two places that lie apart")
    if not np.any((line >= 0) & (line <= (width, height)), axis=0).all():
        raise InputError("the stroke lies outside the picture")
    light = np.ascontiguousarray(reduced(picture, _WORKED_PX))
    shrink = light.shape[1] / width, light.shape[0] / height
    small = _to_border(line * shrink, light.shape[1], light.shape[0])
    code = coded(light)
    strip, left, right = _fitting(code, small)
    left, right, evenness = _even(left, right)
    leaves = None
    region = known_along(light, small, float(np.median(right - left)) * strip.cell_px)
    if region is None:
        region = _between(strip, left, right, light.shape[:2])
        if evenness < _SOLID:  # what has no even width has no middle either
            loose = _between(strip, *_even(*_followed(strip, 0.0))[:2], light.shape[:2])
            leaves = leaves_along(code, small, loose)
        region = with_offshoots(code, region) if leaves is None else leaves
    if leaves is None:
        region = running_on(code, small, region)
    if light.shape[:2] == (height, width):
        return region
    share = np.empty((height, width), np.float32)
    full = np.ascontiguousarray(picture, np.float32)
    enlarge_by_colour(region.astype(np.float32), light, full, _SOFTNESS, share)
    return np.asarray(share > 0.5)


def _between(
    strip: Strip, left: NDArray[np.intp], right: NDArray[np.intp], shape: tuple[int, int]
) -> NDArray[np.bool_]:
    outer = _smoothed(strip.edges_px[left]) - _MIXED_PX, _smoothed(strip.edges_px[right])
    return strip.painted(outer[0], outer[1] + _MIXED_PX, shape)


def _fitting(
    code: NDArray[np.float32], line: Floats
) -> tuple[Strip, NDArray[np.intp], NDArray[np.intp]]:
    """The finest strip that holds the thing, and its borders there.

    Inside a plain board a fine strip shows none but the noise's edges, and fits them: what has
    seen borders in a coarser one goes before.
    """
    fits: list[tuple[Strip, NDArray[np.intp], NDArray[np.intp]]] = []
    for scale in _SCALES:
        strip = unrolled(code, line, scale * max(code.shape[:2]) / _WORKED_PX, _CELLS)
        left, right = _followed(strip, _ASIDE)
        found = strip, left, right
        if np.mean((left <= 1) | (right >= 2 * _CELLS - 1)) < _FITS:
            fits.append(found)
            if _border_step(strip, left, right) >= _LEAST_STEP:
                return found
    return fits[0] if fits else found


def _border_step(strip: Strip, left: NDArray[np.intp], right: NDArray[np.intp]) -> float:
    """Change of coded light across the fainter border; where the picture ends none is needed."""
    rows = np.arange(len(left))
    steps = []
    for border in (left, right):
        outer, inner = (
            np.clip(border + k, 0, strip.light.shape[1] - 1)
            for k in ((-2, 1) if border is left else (1, -2))
        )
        change = np.linalg.norm(strip.light[rows, outer] - strip.light[rows, inner], axis=1)
        change[~strip.inside[rows, outer]] = np.inf
        steps.append(float(np.median(change)))
    return min(steps)


def _followed(strip: Strip, aside_cost: float) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """Borders along a strip; see `best_bounds` for the cost of lying aside of the stroke."""
    edge = _edges(strip)
    cells = strip.light.shape[1]
    left, right = best_bounds(
        np.full((len(edge), cells), -0.02),
        3.0 * edge,
        step_cost=0.6,
        off_cost=0.3,
        least_cells=2,
        aside_cost=aside_cost,
    )
    left, right = _by_colour(strip, edge, left, right, aside_cost)
    for _ in range(2):
        more = _rest_of_it(strip, left, right)
        if more == (0, 0):
            break
        left, right = np.maximum(left - more[0], 0), np.minimum(right + more[1], cells)
        left, right = _by_colour(strip, edge, left, right, aside_cost)
    return left, right


def _even(
    left: NDArray[np.intp], right: NDArray[np.intp]
) -> tuple[NDArray[np.intp], NDArray[np.intp], float]:
    """Borders whose distance changes evenly along a long stroke, and the share that did before.

    What lies behind has edges too, and a border may run along them for a while: rows that are
    far wider or narrower than the rest take their borders from those beside them. The even width
    is a line through its logarithm (P. K. Sen, 1968), for a rail that runs away from the lens.
    """
    rows = np.arange(len(left))
    width = np.log(np.maximum(right - left, 1))
    if len(rows) < _LONG * float(np.exp(np.quantile(width, _LEVELS[1]))):
        return left, right, 0.0
    some = np.unique(np.linspace(0, len(rows) - 1, _SEEN_ROWS).astype(int))
    first, second = np.triu_indices(len(some), 1)
    apart = some[second] - some[first]
    slope = float(np.median((width[some[second]] - width[some[first]]) / apart))
    typical = np.exp(slope * rows + _usual(width - slope * rows))
    even = np.abs(width - np.log(typical)) < _UNEVEN
    even |= np.abs(np.exp(width) - typical) < _ONE_CELL
    if not _MOST_OF_IT <= even.mean() < 1.0:
        return left, right, float(even.mean())
    sides = (np.interp(rows, rows[even], border[even]) for border in (left, right))
    one, other = (np.round(side).astype(np.intp) for side in sides)
    return one, other, float(even.mean())


def _usual(width: Floats) -> float:
    """The least logarithm of a width that many rows share: mistakes widen, and differ."""
    for level in np.quantile(width, _LEVELS):
        shared = np.abs(width - level) < np.maximum(_UNEVEN / 2, _ONE_CELL / np.exp(level))
        if shared.mean() >= _SHARED:
            return float(np.median(width[shared]))
    return float(np.median(width))


def _rest_of_it(strip: Strip, left: NDArray[np.intp], right: NDArray[np.intp]) -> tuple[int, int]:
    """How many cells further out the thing's own borders lie, where only a lit half was found.

    What lies beside the found part is the thing still, if it stays the same along the stroke as
    the found part does, and ends at an edge as strong as the one found.
    """
    cells = strip.light.shape[1]
    rows = np.arange(len(left))
    lag = max(4, len(left) // 12)
    if len(left) < 3 * lag:
        return 0, 0

    def profile(at: NDArray[np.intp]) -> tuple[Floats, float, float]:
        usable = (at >= 0) & (at < cells)
        safe = np.clip(at, 0, cells - 1)
        usable &= strip.inside[rows, safe]
        light = strip.light[rows, safe]
        both = usable[lag:] & usable[:-lag]
        if both.mean() < 0.5:
            return light, np.inf, 0.0
        change = np.linalg.norm(light[lag:] - light[:-lag], axis=1)[both]
        return light, float(np.median(change)), float(usable.mean())

    found = []
    for border, way in ((left, -1), (right, 1)):
        inner = border if way < 0 else border - 1
        light, own, _ = profile(inner)
        steps, best, best_edge = [], 0, 0.0
        before = light
        for k in range(1, _MOST_REST + 1):
            light, change, _ = profile(inner + way * k)
            if not np.isfinite(change):
                break
            step = float(np.median(np.linalg.norm(light - before, axis=1)))
            steps.append(step)
            before = light
            if k > 1 and step > max(best_edge, 0.6 * steps[0]):
                best, best_edge = k - 1, step
            if change > 1.6 * own + 0.012:
                break
        found.append(best)
    return found[0], found[1]


def _by_colour(
    strip: Strip,
    edge: Floats,
    left: NDArray[np.intp],
    right: NDArray[np.intp],
    aside_cost: float,
) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    column = np.arange(strip.light.shape[1])
    for _ in range(_ROUNDS):
        inner = np.where(right - left >= 5, 1, 0)
        core = (column >= (left + inner)[:, None]) & (column < (right - inner)[:, None])
        outside = (column < (left - 1)[:, None]) | (column >= (right + 1)[:, None])
        core &= strip.inside
        outside &= strip.inside
        if not (core.any() and outside.any()):
            break
        own = Colours.of(strip.light[core], 4).likelihood(strip.light)
        other = Colours.of(strip.light[outside], 8).likelihood(strip.light)
        gain = np.where(strip.inside, 0.25 * np.clip(own - other, -4, 4), 0.0)
        before = left, right
        left, right = best_bounds(
            gain,
            2.1 * edge,
            step_cost=0.6,
            off_cost=0.15,
            least_cells=2,
            aside_cost=aside_cost,
        )
        if np.array_equal(left, before[0]) and np.array_equal(right, before[1]):
            break
    return left, right


def _edges(strip: Strip) -> Floats:
    """Strength of the borders between cells, 0 to 1, smoothed along the strip."""
    from scipy.ndimage import gaussian_filter1d

    smooth = gaussian_filter1d(strip.light, 1.0, axis=0)
    step = np.linalg.norm(np.diff(smooth, axis=1), axis=2)
    step = gaussian_filter1d(step, 2.5, axis=0)
    edge = np.zeros((step.shape[0], step.shape[1] + 2))
    edge[:, 1:-1] = step / max(float(np.quantile(step, _EDGE_QUANTILE)), _LEAST_EDGE)
    edge = np.minimum(edge, 1.0)
    ends = strip.inside[:, 1:] != strip.inside[:, :-1]
    edge[:, 1:-1][ends] = 1.0
    return edge


def _smoothed(border: Floats) -> Floats:
    from scipy.ndimage import gaussian_filter1d

    return np.asarray(gaussian_filter1d(border, 1.5, mode="nearest"))


def _to_border(line: Floats, width: int, height: int) -> Floats:
    """A stroke that ends beside the picture's edge goes on to it."""
    reach = _TO_BORDER * max(width, height)
    ends = []
    for end, before in ((line[0], line[1]), (line[-1], line[-2])):
        way = (end - before) / max(float(np.hypot(*(end - before))), 1e-9)
        room = [
            ((size if way[k] > 0 else 0.0) - end[k]) / way[k]
            for k, size in enumerate((width, height))
            if abs(way[k]) > 1e-9
        ]
        there = [r for r in room if 0 < r <= reach]
        ends.append(end + (min(there) + 1.0) * way if there else None)
    first, last = ends
    parts = [p[None] for p in (first,) if p is not None] + [line]
    parts += [p[None] for p in (last,) if p is not None]
    return np.concatenate(parts)
