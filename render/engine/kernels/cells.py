"""Cells: what coarser bins hold is first gathered, block by block."""

import numpy as np

from render.compiled import loop, step
from render.engine.kernels.bins import bin_of, part_of
from render.engine.kernels.bright import keep_lamp, lamp_limits
from render.engine.kernels.tables import BIN, BINS, BLOCK, DEFOCUS, LAMPS, X, Y
from render.engine.kernels.vectors import add

__all__ = ["gather_blocks"]

#: Most fragments that a block leaves: cells of 2 px in all bins, and every pixel a lamp.
_MOST = 6144


@step()
def _pour(fragments, count, cells, slot_bin, slots, side, top, left):
    """Write the cells of one block that hold anything to ``fragments``, and empty them.

    A cell, f32: light and share, then sums of share times defocus, x and y, and of share.
    """
    for slot in range(slots):
        n = side[slot] * side[slot]
        for m in range(n):
            share = cells[slot, m, 3]
            if share > 0:
                for q in range(4):
                    fragments[count, q] = cells[slot, m, q]
                fragments[count, DEFOCUS] = cells[slot, m, 4] / share
                fragments[count, X] = cells[slot, m, 5] / share + np.float32(left)
                fragments[count, Y] = cells[slot, m, 6] / share + np.float32(top)
                fragments[count, BIN] = np.float32(slot_bin[slot])
                count += 1
                for q in range(8):
                    cells[slot, m, q] = np.float32(0.0)
    return count


@step()
def _grown(fragments, total):
    """The same fragments with room for another block's."""
    if total + _MOST <= fragments.shape[0]:
        return fragments
    grown = np.empty((2 * fragments.shape[0] + _MOST, 8), np.float32)
    for n in range(total):
        for q in range(8):
            grown[n, q] = fragments[n, q]
    return grown


@loop()
def gather_blocks(pixels, optic, bins, blocks, block0, block1, seen):
    """Gather what blocks block0 to block1 hold for the coarser bins, and lamps one by one.

    Fills the blocks' reaches and small, and their number of fragments as starts [block + 1];
    seen (BINS,) u8: which bins occur. Returns the fragments, rows of parts.
    """
    picture, defocus, iz, index, record = pixels
    sources, starts, reaches, small = bins.sources, blocks.starts, blocks.reaches, blocks.small
    half, one = np.float32(0.5), np.float32(1.0)
    h, w = iz.shape
    fragments = np.empty((4096, 8), np.float32)
    total, slots = np.int64(0), np.int64(0)
    cells = np.zeros((96, 256, 8), np.float32)
    flat = cells.reshape(-1)
    slot_of = np.full(BINS, -1, np.int64)
    slot_bin = np.zeros(96, np.int64)
    side = np.zeros(96, np.int64)
    for block in range(block0, block1):
        row0 = blocks.top + BLOCK * (block // blocks.across)
        column0 = blocks.left + BLOCK * (block % blocks.across)
        fragments = _grown(fragments, total)
        before, reach, has_small, slots = total, -one, 0, np.int64(0)
        inside = row0 >= 0 and column0 >= 0 and row0 + BLOCK <= h and column0 + BLOCK <= w
        lamp, cap, plain_r, plain_g, plain_b = lamp_limits(picture, row0, column0)
        for i in range(row0, row0 + BLOCK):
            for j in range(column0, column0 + BLOCK):
                ci, cj = i, j
                if not inside:
                    ci, cj = min(max(i, 0), h - 1), min(max(j, 0), w - 1)
                parts = 1 if index[ci, cj] < 0 else 3
                for part in range(parts):
                    r, g, b, share, d = part_of(
                        picture, defocus, iz, index, record, optic, i, j, part
                    )
                    if share <= 0:
                        continue
                    radius = optic.radius * d
                    key = bin_of(radius, part == 2)
                    source = sources[key]
                    if source == 0:
                        seen[key] = 1
                        has_small = 1
                        continue
                    reach = max(reach, abs(radius))
                    plain = ci == i and cj == j and parts == 1
                    if plain and (r + g + b > lamp or max(r, max(g, b)) > cap):
                        seen[key + LAMPS] = 1
                        # what is no brighter than the place stays in its cell: a sky just above
                        # white would be drawn full of holes and lamps
                        own_r, own_g, own_b = min(r, plain_r), min(g, plain_g), min(b, plain_b)
                        over = (r - own_r, g - own_g, b - own_b)
                        keep_lamp(fragments, total, *over, d, i, j, key)
                        total += 1
                        r, g, b = own_r, own_g, own_b
                    slot = slot_of[key]
                    if slot < 0:
                        slot = slots
                        slots += 1
                        slot_of[key], slot_bin[slot], side[slot] = slot, key, BLOCK >> source
                        seen[key] = 1
                    y, x = i - row0, j - column0
                    at = slot * 2048 + ((y >> source) * side[slot] + (x >> source)) * 8
                    add(flat, at, one, r, g, b, share)
                    add(flat, at + 4, share, d, np.float32(x) + half, np.float32(y) + half, one)
        total = _pour(fragments, total, cells, slot_bin, slots, side, row0, column0)
        for slot in range(slots):
            slot_of[slot_bin[slot]] = -1
        starts[block + 1], reaches[block], small[block] = total - before, reach, has_small
    return fragments[:total]
