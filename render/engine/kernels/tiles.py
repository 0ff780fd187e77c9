"""One tile of the photograph: everything near enough spread into it, and laid together."""

import numpy as np

from render.compiled import loop, step
from render.engine.kernels.bins import bin_of, part_of
from render.engine.kernels.laying import lay_together
from render.engine.kernels.spreading import spread_parts
from render.engine.kernels.tables import (
    BIN,
    BINS,
    BLOCK,
    BLUE,
    DEFOCUS,
    GREEN,
    RED,
    SHARE,
    Tile,
    X,
    Y,
)

__all__ = ["render_tile"]


@step()
def _queue_small(pixels, optic, sources, i0, i1, j0, j1, queue):
    """Write the parts of some pixels that are spread one by one; returns how many."""
    picture, defocus, iz, index, record = pixels
    half = np.float32(0.5)
    height, width = iz.shape
    n = 0
    for i in range(i0, i1):
        for j in range(j0, j1):
            ci, cj = min(max(i, 0), height - 1), min(max(j, 0), width - 1)
            parts = 1 if index[ci, cj] < 0 else 3
            for part in range(parts):
                r, g, b, share, d = part_of(picture, defocus, iz, index, record, optic, i, j, part)
                key = bin_of(optic.radius * d, part == 2)
                if share > 0 and sources[key] == 0:
                    queue[n, RED], queue[n, GREEN], queue[n, BLUE] = r, g, b
                    queue[n, SHARE], queue[n, DEFOCUS] = share, d
                    queue[n, X], queue[n, Y] = np.float32(j) + half, np.float32(i) + half
                    queue[n, BIN] = np.float32(key)
                    n += 1
    return n


@step()
def _tile(frame_top, frame_left, side, t, out):
    """Tile ``t`` of ``out``, counted row by row, and where it lies in ``out``."""
    h, w = out.shape[0], out.shape[1]
    across = (w + side - 1) // side
    out_row, out_column = side * (t // across), side * (t % across)
    rows, columns = min(side, h - out_row), min(side, w - out_column)
    return (
        Tile(frame_top + out_row, frame_left + out_column, rows, columns, side),
        out_row,
        out_column,
    )


@loop()
def render_tile(
    pixels, optic, bins, figure, blocks, fragments, small_reach, frame_top, frame_left, side, t,
    buffers, out,
):  # fmt: skip
    """Make tile ``t`` of ``out``, counted row by row.

    fragments: what `gather_blocks` returned, of all blocks, where blocks.starts now is where each
    begins; small_reach i64: the farthest a small part reaches.
    """
    tile, out_row, out_column = _tile(frame_top, frame_left, side, t, out)
    small, reaches, starts = blocks.small, blocks.reaches, blocks.starts
    bounds = np.empty((BINS, 4), np.int64)
    queue = np.empty((3 * BLOCK * BLOCK, 8), np.float32)
    for key in range(BINS):
        bounds[key, 0], bounds[key, 1] = side + 3, 0
        bounds[key, 2], bounds[key, 3] = side + 3, 0
    bottom, right = tile.row + tile.rows, tile.column + tile.columns
    for block in range(small.shape[0]):
        row0 = blocks.top + BLOCK * (block // blocks.across)
        column0 = blocks.left + BLOCK * (block % blocks.across)
        gap = max(
            max(tile.row - row0 - BLOCK + 1, row0 - bottom + 1),
            max(tile.column - column0 - BLOCK + 1, column0 - right + 1),
        )
        near = small[block] and gap <= small_reach
        far = np.float32(gap) <= reaches[block] * figure.stretch + np.float32(66.0)
        for turn in range(2):
            parts, start, stop = fragments, starts[block], starts[block + 1]
            if turn == 0:
                if not near:
                    continue
                i0, i1 = max(row0, tile.row - small_reach), min(row0 + BLOCK, bottom + small_reach)
                j0 = max(column0, tile.column - small_reach)
                j1 = min(column0 + BLOCK, right + small_reach)
                stop = _queue_small(pixels, optic, bins.sources, i0, i1, j0, j1, queue)
                parts, start = queue, 0
            elif not far:
                continue
            spread_parts(parts, start, stop, buffers, bounds, bins, tile, optic, figure, turn == 0)
    lay_together(
        buffers, bounds, bins.levels, tile, figure.eyes, pixels.picture, out, out_row, out_column
    )
