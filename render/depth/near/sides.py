"""The sides of a straight thing that a cut-out left off: a rail's lit top, a post's dark edge.

Beside a straight border of what was found lies more of the thing as long as it stays the same along
the border, as the thing does, and ends at an edge.
Numbers were chosen on near things with known depth: `render/depth/README.md`.
"""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from render.depth.near.strip import Strip

__all__ = ["with_sides"]

Floats = NDArray[np.float64]
Mask = NDArray[np.bool_]

_MOST = 0.7  # of the width of what was found, to either side
_LEAST_PX, _LEAST_ROWS = 8.0, 24  # what is thinner has no sides to be told
_PART_WIDTHS, _MOST_PARTS = 6.0, 4  # a border drifts: parts so many widths long, and so many
_INNER = 3  # columns before a border
_ON_LINE, _OFF_CELLS = 0.6, 1.5  # of a border's rows lie on one line, but for so much
_LAGS = 12, 5  # parts of the length over which a column is compared with itself
_SAME, _NOISE = 1.6, 0.016  # change against the thing's own, and coded light that is none
_STEP, _PLAIN_STEP = 0.6, 1.3  # across the new border, of the found one's; before plain ground
_LEAST_STEP = 0.03
_NO_STEP = 0.2  # of the other border's: none, so that the thing goes on to the picture's end
_MIXED_PX = 0.5  # as in `along.py`


def with_sides(strip: Strip, held: Mask, rows: NDArray[np.intp], region: Mask) -> Mask:
    """The region with the sides of a straight part of it.

    Parameters
    ----------
    strip : Strip
        Along the part's axis, three times its width and more.
    held : ndarray of bool, shape (S, T)
        Cells of the strip that the region fills.
    rows : ndarray of int
        Rows of the strip that the part fills.
    region : ndarray of bool, shape (h, w)
        What was found.
    """
    if len(rows) < _LEAST_ROWS:
        return region
    width = max(1.0, float(np.median(held[rows].sum(axis=1))))
    if width * strip.cell_px < _LEAST_PX:
        return region
    count = int(np.clip(len(rows) / (_PART_WIDTHS * width), 1, _MOST_PARTS))
    whole = _grown_along(strip, held, [rows], region)
    if count == 1:
        return whole
    return _grown_along(strip, strip.covered(whole), np.array_split(rows, count), whole)


def _grown_along(strip: Strip, held: Mask, parts: Sequence[NDArray[np.intp]], region: Mask) -> Mask:
    """The region with the sides of parts of a straight part, each by itself."""
    middle = held.shape[1] // 2
    left, right = np.ones(len(held)), -np.ones(len(held))
    for part in parts:
        below = _border_line(held[:, :middle][:, ::-1], part)
        above = _border_line(held[:, middle:], part)
        if below is None or above is None:
            continue
        grown = _both_grown(strip, part, below, above)
        if grown == (0, 0):
            continue
        left[part] = -(below + grown[0]) * strip.cell_px - _MIXED_PX * (grown[0] > 0)
        right[part] = (above + grown[1]) * strip.cell_px + _MIXED_PX * (grown[1] > 0)
    if (left >= right).all():
        return region
    return np.asarray(region | strip.painted(left, right, region.shape))


def _both_grown(
    strip: Strip, rows: NDArray[np.intp], below: Floats, above: Floats
) -> tuple[int, int]:
    """Cells by which the borders so far below and above a strip's middle move out."""
    middle = strip.light.shape[1] // 2
    width = float(np.median(below + above))
    half = int(0.35 * width)
    between = np.arange(-half, half + 1)
    own = float(np.median(_changes(_columns(strip, rows, middle + (above - below) / 2, between))))
    out = np.arange(-_INNER, int(_MOST * width) + 4)
    sides = [
        _columns(strip, rows, start, way * out)
        for start, way in ((middle - 1 - below, -1), (middle + above, 1))
    ]
    steps = [_steps(light) for light in sides]
    found = [_grown(light, step, own) for light, step in zip(sides, steps, strict=True)]
    for side, other in ((0, 1), (1, 0)):
        ends = [_INNER + 2 + cells for cells in found]
        seen = [float(step[_INNER - 1 : end].max()) for step, end in zip(steps, ends, strict=True)]
        if not found[side] and seen[side] < _NO_STEP * seen[other]:
            found[side] = _to_end(sides[side], own)
    return found[0], found[1]


def _to_end(light: Floats, own: float) -> int:
    """Cells to the picture's end, where all that lies before it is the same as the thing."""
    held = np.isfinite(light).all(axis=2).mean(axis=0) > 0.5
    if held.all() or not held[:_INNER].all():
        return 0
    end = int(np.argmin(held))
    same = _changes(light[:, :end]) <= _SAME * own + _NOISE
    return end - _INNER if same.all() else 0


def _border_line(side: Mask, rows: NDArray[np.intp]) -> Floats | None:
    """Cells from the axis to the border, a straight line along the rows, or None."""
    filled = side[rows]
    reach = np.where(filled.all(axis=1), filled.shape[1], np.argmin(filled, axis=1)).astype(float)
    line: Floats = np.full(len(rows), float(np.median(reach)))
    for off in (4 * _OFF_CELLS, 2 * _OFF_CELLS, _OFF_CELLS):
        near = np.abs(reach - line) <= off
        if near.sum() < _LEAST_ROWS / 2:
            return None
        line = np.asarray(np.polyval(np.polyfit(rows[near], reach[near], 1), rows), float)
    on_line = np.abs(reach - line) <= _OFF_CELLS
    return line if on_line.mean() >= _ON_LINE and line.min() > 0 else None


def _columns(strip: Strip, rows: NDArray[np.intp], start: Floats, out: NDArray[np.intp]) -> Floats:
    """Light (R, K, 3) of the columns so many cells from a line; NaN beyond the picture."""
    at = np.round(start[:, None] + out).astype(int)
    safe = np.clip(at, 0, strip.light.shape[1] - 1)
    light = strip.light[rows[:, None], safe]
    light[(safe != at) | ~strip.inside[rows[:, None], safe]] = np.nan
    return np.asarray(light, float)


def _changes(light: Floats) -> Floats:
    """How much each column changes along itself; inf where the picture shows too little of it."""
    found = np.zeros(light.shape[1])
    for part in _LAGS:
        lag = max(2, len(light) // part)
        step = np.linalg.norm(light[lag:] - light[:-lag], axis=2)
        seen = np.isfinite(step).mean(axis=0) > 0.5
        change = np.full(light.shape[1], np.inf)
        change[seen] = np.nanmedian(step[:, seen], axis=0)
        found = np.maximum(found, change)
    return found


def _steps(light: Floats) -> Floats:
    """Change of light across each column's inner border, three columns wide."""
    across = np.linalg.norm(light[:, 3:] - light[:, :-3], axis=2)
    found = np.zeros(light.shape[1])
    seen = np.isfinite(across).mean(axis=0) > 0.5
    found[2:-1][seen] = np.nanmedian(across[:, seen], axis=0)
    return found


def _grown(light: Floats, step: Floats, own: float) -> int:
    """Cells by which a border moves out."""
    same = _changes(light) <= _SAME * own + _NOISE
    here = float(step[_INNER - 1 : _INNER + 2].max())
    last = light.shape[1] - 3
    until = _INNER
    while until < last and same[until]:
        until += 1
    best, best_step = 0, 0.0
    for k in range(_INNER + 1, until + 1):
        least = max((_PLAIN_STEP if same[k + 1] else _STEP) * here, _LEAST_STEP)
        if step[k] > max(least, best_step):
            best, best_step = k - _INNER, float(step[k])
    return best
