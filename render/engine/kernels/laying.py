"""The bins of a tile laid together, near to far, then what was hidden."""

import numpy as np

from render.compiled import step
from render.engine.kernels.bins import buffer_side, is_small
from render.engine.kernels.rim import eye_at
from render.engine.kernels.tables import BINS, LAMPS
from render.engine.kernels.vectors import add_from

__all__ = ["lay_together"]

#: Bins of what the pinhole saw: only they have lamps.
_SEEN = 64


@step()
def _run_up(slab, base, size, bounds, key):
    """Turn row differences into values inside the bounds."""
    for i in range(bounds[key, 0], bounds[key, 1]):
        at = base + i * (size + 2) * 4
        r, g, b, share = np.float32(0.0), np.float32(0.0), np.float32(0.0), np.float32(0.0)
        for k in range(at + 4 * bounds[key, 2], at + 4 * bounds[key, 3], 4):
            r += slab[k]
            g += slab[k + 1]
            b += slab[k + 2]
            share += slab[k + 3]
            slab[k], slab[k + 1], slab[k + 2], slab[k + 3] = r, g, b, share


@step()
def _lay(slab, base, twin, size, bounds, key, i, columns, line, full):
    """Lay one full-size bin under what row i of the tile shows already.

    line (columns * 4,) f32: r g b and how much of the pixel is covered; full (columns,) f32: how
    much of it there is to cover; twin: where this row of the bin's lamps begins, or -1; their
    light goes where their bin's share goes.
    """
    at = base + i * (size + 2) * 4
    for j in range(bounds[key, 2], min(bounds[key, 3], columns)):
        share = slab[at + 4 * j + 3]
        room = full[j] - line[4 * j + 3]
        if share > np.float32(1e-5) and room > 0:
            weight = min(share, room) / share
            add_from(line, 4 * j, weight, slab, at + 4 * j)
            if twin >= 0:
                add_from(line, 4 * j, weight, slab, twin + 4 * j)


@step()
def _lay_coarse(slab, base, twin, level, size, bounds, key, i, tile, line, full, coarse):
    """Lay one coarse bin under what row i of the tile shows already, read bilinearly."""
    half, one = np.float32(0.5), np.float32(1.0)
    cell = np.float32(1 << level)
    y = (np.float32(tile.row + i) + half) / cell - np.float32((tile.row >> level) - 1) - half
    i0 = int(y)
    if i0 + 1 < bounds[key, 0] or i0 >= bounds[key, 1]:
        return
    fy = (y - np.float32(i0)) / (cell * cell)
    gy = one / (cell * cell) - fy
    at = base + i0 * (size + 2) * 4
    below = at + (size + 2) * 4
    for k in range(4 * size):
        coarse[k] = gy * slab[at + k] + fy * slab[below + k]
    left = tile.column >> level
    first = ((bounds[key, 2] + left - 2) << level) - tile.column
    last = ((bounds[key, 3] + left + 1) << level) - tile.column
    start = (np.float32(tile.column) + half) / cell - np.float32(left - 1) - half
    step_x = one / cell
    for j in range(max(first, 0), min(last, tile.columns)):
        x = start + np.float32(j) * step_x
        j0 = int(x)
        fx = x - np.float32(j0)
        share = (one - fx) * coarse[4 * j0 + 3] + fx * coarse[4 * j0 + 7]
        room = full[j] - line[4 * j + 3]
        if share > np.float32(1e-5) and room > 0:
            weight = min(share, room) / share
            add_from(line, 4 * j, weight * (one - fx), coarse, 4 * j0)
            add_from(line, 4 * j, weight * fx, coarse, 4 * j0 + 4)
            if twin >= 0:
                add_from(line, 4 * j, weight, slab, twin + 4 * j)


@step()
def _show(line, picture, tile, i, out, out_row, out_column):
    """Write a row of light; where nothing covers a pixel it stays as it was taken."""
    for j in range(tile.columns):
        covered = line[4 * j + 3]
        if covered > np.float32(1e-3):
            scale = np.float32(1.0) / covered
            for q in range(3):
                out[out_row + i, out_column + j, q] = max(line[4 * j + q] * scale, np.float32(0.0))
        else:
            for q in range(3):
                out[out_row + i, out_column + j, q] = picture[tile.row + i, tile.column + j, q]


@step()
def _empty(slab, bases, bounds, levels, side):
    """Set what the bounds hold to 0 again."""
    for key in range(BINS):
        size = buffer_side(levels[key] if key < LAMPS else 0, side)
        for i in range(bounds[key, 0], bounds[key, 1]):
            at = bases[key] + i * (size + 2) * 4
            for k in range(at + 4 * bounds[key, 2], at + 4 * bounds[key, 3] + 8):
                slab[k] = np.float32(0.0)


@step()
def _fill_full(eyes, tile, i, full):
    """Write how much of each pixel of a row there is to cover: what a rim leaves open there."""
    half = np.float32(0.5)
    for j in range(tile.columns):
        x, y = np.float32(tile.column + j) + half, np.float32(tile.row + i) + half
        full[j] = eye_at(eyes, x, y, 0)


@step()
def lay_together(buffers, bounds, levels, tile, eyes, picture, out, out_row, out_column):
    """Lay all bins of a tile together, near to far, then what was hidden; empty the buffers."""
    slab, bases, _cut, _sums = buffers
    line, coarse = np.empty(4 * tile.side, np.float32), np.empty(4 * (tile.side + 3), np.float32)
    full = np.full(tile.side, np.float32(1.0), np.float32)
    keys = np.empty(LAMPS, np.int64)
    n = 0
    for key in range(BINS):
        if bounds[key, 1] > 0:
            if key < LAMPS:
                keys[n] = key
                n += 1
            if not is_small(key):
                level = levels[key] if key < LAMPS else 0
                _run_up(slab, bases[key], buffer_side(level, tile.side), bounds, key)
    for i in range(tile.rows):
        for k in range(4 * tile.side):
            line[k] = np.float32(0.0)
        if eyes.shape[0] > 0:
            _fill_full(eyes, tile, i, full)
        for k in range(n):
            key = keys[k]
            level = levels[key]
            size = buffer_side(level, tile.side)
            twin = -1
            if key < _SEEN and bounds[key + LAMPS, 0] <= i < bounds[key + LAMPS, 1]:
                twin = bases[key + LAMPS] + i * (tile.side + 2) * 4
            if level > 0:
                _lay_coarse(
                    slab, bases[key], twin, level, size, bounds, key, i, tile, line, full, coarse
                )
            elif bounds[key, 0] <= i < bounds[key, 1]:
                _lay(slab, bases[key], twin, size, bounds, key, i, tile.columns, line, full)
        _show(line, picture, tile, i, out, out_row, out_column)
    _empty(slab, bases, bounds, levels, tile.side)
