"""What goes on beyond a stroke: a rail whose ends the hand left out.

A straight part of the thing is followed both ways along its own axis for as long as what lies there
has the same colours across and ends at both borders.
Numbers were chosen on a traced railing and on drawn rails: `render/depth/README.md`.
"""

import itertools

import numpy as np
from numpy.typing import NDArray

from render.depth.near.sides import with_sides
from render.depth.near.strip import Strip, length_px, places_along, unrolled

__all__ = ["running_on"]

Floats = NDArray[np.float64]
Mask = NDArray[np.bool_]

_PIECES = 8, 4, 2, 1  # of a stroke: the most of which one is straight, and
_PIECE_WIDTHS = 2.5  # so many widths long
_CELLS = 12  # to either side of an axis, over a width and a half
_SIDE_CELLS = 45  # the same, where its sides are looked for
_STRAIGHT, _EVEN = 0.15, 0.7  # of the width, from its middle to a line; of the rows, as wide
_REFERENCE_WIDTHS = 6.0  # before its end, with which what comes is compared
_ALIKE, _NOISE = 2.0, 0.012  # change against the part's own, and coded light that is none
_STEP, _LEAST_STEP = 0.5, 0.03  # across a border, of the part's own, and at least
_GOOD, _BORDERED = 0.7, 0.5  # of a width's rows, and of all rows at either border


def running_on(coded: NDArray[np.float32], line_px: Floats, region: Mask) -> Mask:
    """The region with what goes on in line with its straight parts.

    Parameters
    ----------
    coded : ndarray, shape (h, w, 3), float32
        Coded light of the picture.
    line_px : ndarray, shape (K, 2)
        The stroke.
    region : ndarray of bool, shape (h, w)
        What was cut out along it.
    """
    found = region.copy()
    for count in _PIECES:
        places = places_along(line_px, np.linspace(0.0, length_px(line_px), count + 1))
        axes = [_axis(coded, region, *piece) for piece in itertools.pairwise(places)]
        straight = [axis for axis in axes if axis is not None]
        for axis in straight:
            found |= _followed(coded, region, *axis)
        for axis in straight:
            found = _with_sides(coded, found, *axis)
        if straight:
            break
    return found


def _axis(
    coded: NDArray[np.float32], region: Mask, start: Floats, end: Floats
) -> tuple[Floats, Floats, float] | None:
    """Middle, direction and width of the straight part beside a piece of the stroke."""
    apart = float(np.hypot(*(end - start)))
    if apart < 4.0:
        return None
    strip = unrolled(coded, np.array([start, end]), max(1.0, apart / _PIECE_WIDTHS / 30), 30)
    held = strip.covered(region)
    count = held.sum(axis=1)
    if not (count > 0).mean() > 0.7:
        return None
    width_px = float(np.median(count[count > 0])) * strip.cell_px
    if apart < _PIECE_WIDTHS * width_px:
        return None
    return _straightened(strip, held, np.arange(len(held)), width_px)


def _straightened(
    strip: Strip, held: Mask, rows: NDArray[np.intp], width_px: float
) -> tuple[Floats, Floats, float] | None:
    """Middle, direction and width of what those rows of a strip hold, if it is straight."""
    count = held[rows].sum(axis=1)
    even = np.abs(count * strip.cell_px / width_px - 1.0) < 0.3
    if even.mean() < _EVEN or even.sum() < 2:
        return None
    offsets = (strip.edges_px[1:] + strip.edges_px[:-1]) / 2
    middle = (held[rows] @ offsets)[even] / count[even]
    at = rows[even] * strip.cell_px
    close = np.abs(middle - np.median(middle)) < width_px
    slope, base = np.polyfit(at[close], middle[close], 1)
    off = np.abs(middle - base - slope * at)
    if np.quantile(off, 0.8) > max(_STRAIGHT * width_px, 0.75):
        return None
    across = strip.across[len(strip.across) // 2]
    along = np.array([across[1], -across[0]])
    way = along + slope * across
    half = float(np.median(rows)) * strip.cell_px
    place = strip.middle_px[0] + half * along + (base + slope * half) * across
    return place, way / np.hypot(*way), float(np.median(count[even])) * strip.cell_px


def _followed(
    coded: NDArray[np.float32], region: Mask, middle: Floats, way: Floats, width_px: float
) -> Mask:
    """What goes on along an axis, both ways."""
    found = np.zeros_like(region)
    strip, held, here = _along(coded, region, middle, way, width_px)
    run = _run(held, here, width_px, strip.cell_px)
    better = _straightened(strip, strip.covered(region), run, width_px) if len(run) > 1 else None
    if better is None:
        return found
    middle, way, width_px = better
    strip, held, here = _along(coded, region, middle, way, width_px)
    run = _run(held, here, width_px, strip.cell_px)
    if not len(run):
        return found
    half = 0.5 * width_px / strip.cell_px
    borders = round(_CELLS - half), round(_CELLS + half)
    window = max(3, round(width_px / strip.cell_px))
    taken = np.zeros(len(held), bool)
    for ahead, before in (
        (np.arange(run[-1] + 1, len(held)), run),
        (np.arange(run[0] - 1, -1, -1), run[::-1]),
    ):
        taken[ahead] = _goes_on(strip, ahead, before, borders, window)
    if not taken.any():
        return found
    beside = 0.5 * width_px
    return strip.painted(np.where(taken, -beside, 1.0), np.where(taken, beside, -1.0), region.shape)


def _with_sides(
    coded: NDArray[np.float32], region: Mask, middle: Floats, way: Floats, width_px: float
) -> Mask:
    """The region with the sides of its part along an axis."""
    strip, here = _strip(coded, middle, way, width_px, _SIDE_CELLS)
    held = strip.covered(region)
    half = max(1, int(0.35 * width_px / strip.cell_px))
    core = held[:, _SIDE_CELLS - half : _SIDE_CELLS + half].mean(axis=1) > 0.9
    run = _run(core, here, width_px, strip.cell_px)
    return with_sides(strip, held, run, region)


def _along(
    coded: NDArray[np.float32], region: Mask, middle: Floats, way: Floats, width_px: float
) -> tuple[Strip, Mask, int]:
    """The strip along an axis through the picture, its rows that the region fills, the middle's."""
    strip, here = _strip(coded, middle, way, width_px, _CELLS)
    half = 0.5 * width_px / strip.cell_px
    core = slice(round(_CELLS - half), round(_CELLS + half))
    held = strip.covered(region)[:, core].mean(axis=1) > 0.7
    return strip, held, here


def _strip(
    coded: NDArray[np.float32], middle: Floats, way: Floats, width_px: float, cells: int
) -> tuple[Strip, int]:
    """Three widths of the picture along an axis, so many cells to either side; the middle's row."""
    ends = _ends(middle, way, coded.shape[:2])
    strip = unrolled(coded, ends, max(1.5 * width_px / cells, 0.5), cells)
    return strip, int(np.argmin(np.hypot(*(strip.middle_px - middle).T)))


def _run(held: Mask, here: int, width_px: float, cell_px: float) -> NDArray[np.intp]:
    """Rows around one that hang together, but for gaps of a width."""
    gap = max(3, round(width_px / cell_px))
    rows = np.flatnonzero(held)
    parts = np.split(rows, np.flatnonzero(np.diff(rows) > gap) + 1)
    for part in parts:
        if len(part) and part[0] - gap <= here <= part[-1] + gap:
            return np.asarray(part)
    return np.zeros(0, np.intp)


def _goes_on(
    strip: Strip,
    ahead: NDArray[np.intp],
    run: NDArray[np.intp],
    borders: tuple[int, int],
    window: int,
) -> Mask:
    """Which of the rows ahead still show the thing of the run before; one border may be crossed."""
    rest = np.zeros(len(ahead), bool)
    before = run[max(0, len(run) - int(_REFERENCE_WIDTHS * window)) : len(run) - window // 2]
    if len(ahead) < 2 or len(before) < window:
        return rest
    mixed = int(borders[1] - borders[0] >= 5)
    core = strip.light[:, borders[0] + mixed : borders[1] - mixed]
    change = np.linalg.norm(core - np.median(core[before], axis=0), axis=2).mean(axis=1)
    steps = np.stack([_step(strip, border) for border in borders], axis=1)
    own = np.median(steps[before], axis=0)
    if own.min() < _LEAST_STEP:
        return rest
    ends = steps > np.maximum(_STEP * own, _LEAST_STEP)
    alike = change < _ALIKE * np.median(change[before]) + _NOISE
    good = (alike & ends.any(axis=1))[ahead]
    share = np.convolve(good, np.ones(window), "full")[: len(good)]
    bad = share < _GOOD * np.minimum(np.arange(len(good)) + 1, window)
    until = int(np.argmax(bad)) if bad.any() else len(good)
    kept = np.flatnonzero(good[:until])
    if len(kept) and (ends[ahead[: kept[-1] + 1]].mean(axis=0) > _BORDERED).all():
        rest[: kept[-1] + 1] = True
    return rest


def _step(strip: Strip, border: int) -> Floats:
    """Change of coded light across a border, row by row, where it is strongest beside it."""
    across = np.linalg.norm(strip.light[:, 2:] - strip.light[:, :-2], axis=2)
    near = across[:, max(0, border - 3) : border + 2]
    return np.asarray(near.max(axis=1))


def _ends(middle: Floats, way: Floats, shape: tuple[int, int]) -> Floats:
    """Where an axis leaves the picture, both ways."""
    height, width = shape
    return np.array(
        [middle + side * _room(middle, side * way, width, height) * way for side in (-1, 1)]
    )


def _room(place: Floats, way: Floats, width: int, height: int) -> float:
    """How far it is from a place to the picture's edge."""
    room = [
        ((size if way[k] > 0 else 0.0) - place[k]) / way[k]
        for k, size in enumerate((width, height))
        if abs(way[k]) > 1e-9
    ]
    return float(max(0.0, min(room)))
