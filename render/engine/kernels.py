"""Compiled loops that spread every pixel over its own blur figure and lay the bins together.

Plain arrays in, plain arrays out; no checks. Common to all kernels here:
``optic`` f32, the numbers of `render.engine.layers.optic_numbers`; ``defocus``, ``iz`` (H, W) f32;
``index``, ``record`` as in `render.engine.edge_kernels`; ``levels`` (160,) i64, the cell size
2^level of each bin; ``fragments`` (n, 8) f32: r g b, share (all summed), defocus, x, y, bin.

Bins are numbered near to far: 0..63 what the pinhole saw, 64..95 what it did not,
96..159 lamps of bin 0..63, spread in full.
"""

import math

import numpy as np
from numba import njit

__all__ = ["gather_blocks", "render_tiles"]


@njit(cache=True, nogil=True, inline="always")
def _size_class(r):
    """Class of a blur radius in px: borders 0.3, 0.7, 1.2, 2, 4, 6, 8, then half octaves."""
    if r < np.float32(2.0):
        if r < np.float32(0.3):
            return 0
        if r < np.float32(0.7):
            return 1
        return 2 if r < np.float32(1.2) else 3
    if r < np.float32(8.0):
        if r < np.float32(4.0):
            return 4
        return 5 if r < np.float32(6.0) else 6
    size = 7
    border = np.float32(8.0 * math.sqrt(2.0))
    while r >= border and size < 31:
        border *= np.float32(math.sqrt(2.0))
        size += 1
    return size


@njit(cache=True, nogil=True, inline="always")
def _bin(r, hidden):
    """Bin of a signed blur radius in px."""
    size = _size_class(abs(r))
    if hidden:
        size = 0 if size < 3 else (size + 1) // 2 - 1  # 1.2, 2, 4, 8, 16 ...
        return 80 - size if r > 0 else 80 + size
    return 32 - size if r > 0 else 32 + size


@njit(cache=True, nogil=True, inline="always")
def _ellipse(optic, d, x, y):
    """Blur ellipse [[a, b], [b, c]] in px^2 and its offset in px, for defocus d at (x, y) px."""
    qx, qy = (x - optic[4]) * optic[6], (y - optic[5]) * optic[6]
    s = optic[3] * d
    k = optic[11] * (np.float32(1.0) - d)
    shrink = np.float32(1.0) / (np.float32(1.0) - k * k)
    m1x = s * (optic[7] * optic[9] + qx * optic[10]) * shrink
    m1y = s * (optic[8] * optic[9] + qy * optic[10]) * shrink
    first = s * s * shrink
    a = first * optic[8] * optic[8] + m1x * m1x
    b = -first * optic[7] * optic[8] + m1x * m1y
    c = first * optic[7] * optic[7] + m1y * m1y
    return a, b, c, -m1x * k, -m1y * k


@njit(cache=True, nogil=True, inline="always")
def _part(picture, defocus, iz, index, record, optic, i, j, part):
    """Part 0 near, 1 far or 2 hidden of picture position (i, j): r, g, b, share, defocus.

    Positions outside the picture repeat its edge, no brighter than 1, at their own defocus.
    """
    h, w = iz.shape
    ci, cj = min(max(i, 0), h - 1), min(max(j, 0), w - 1)
    d = defocus[ci, cj]
    n = index[ci, cj]
    if n < 0:
        r, g, b, share = picture[ci, cj, 0], picture[ci, cj, 1], picture[ci, cj, 2], np.float32(1.0)
    else:
        out = record[n]
        if part == 0:
            r, g, b, share = out[0], out[1], out[2], out[3]
            d += optic[2] * (out[4] - iz[ci, cj])
        elif part == 1:
            r, g, b, share = out[5], out[6], out[7], np.float32(1.0) - out[3]
            d += optic[2] * (out[8] - iz[ci, cj])
        else:
            share = out[12]
            r, g, b = out[9] * share, out[10] * share, out[11] * share
            d += optic[2] * (out[8] - iz[ci, cj])
    if ci != i or cj != j:
        d += optic[0] * np.float32(j - cj) + optic[1] * np.float32(i - ci)
        one = np.float32(1.0)
        r, g, b = min(r, one), min(g, one), min(b, one)
    return r, g, b, share, d


@njit(cache=True, nogil=True)
def _gather_block(
    picture,
    defocus,
    iz,
    index,
    record,
    optic,
    levels,
    lamps,
    top,
    left,
    across,
    block,
    scratch,
    cells,
    fragments,
    start,
    write,
    seen,
):
    """Gather the parts of one 32 x 32 block that are spread by cells, and lamps one by one.

    block: number of the block, row by row, ``across`` to a row, the first at (top, left).
    Returns how many fragments, the largest radius among them (-1: none), and whether there are
    parts to be spread pixel by pixel; marks bins in ``seen``.
    With ``write`` false only counts.
    """
    row0, column0 = top + 32 * (block // across), left + 32 * (block % across)
    h, w = iz.shape
    n, count, reach, small = 0, 0, np.float32(-1.0), 0
    for i in range(row0, row0 + 32):
        for j in range(column0, column0 + 32):
            ci, cj = min(max(i, 0), h - 1), min(max(j, 0), w - 1)
            parts = 1 if index[ci, cj] < 0 else 3
            for part in range(parts):
                r, g, b, share, d = _part(picture, defocus, iz, index, record, optic, i, j, part)
                if share <= 0:
                    continue
                radius = optic[3] * d
                key = _bin(radius, part == 2)
                if levels[key] == 0:
                    seen[key] = 1
                    small = 1
                    continue
                reach = max(reach, abs(radius))
                if lamps and parts == 1 and max(r, max(g, b)) > np.float32(1.0):
                    key += 96
                    seen[key] = 1
                    if write:
                        out = fragments[start + count]
                        out[0], out[1], out[2], out[3], out[4] = r, g, b, share, d
                        out[5], out[6] = (
                            np.float32(j) + np.float32(0.5),
                            np.float32(i) + np.float32(0.5),
                        )
                        out[7] = np.float32(key)
                    count += 1
                    continue
                seen[key] = 1
                out = scratch[n]
                out[0], out[1], out[2], out[3], out[4] = r, g, b, share, d
                out[5], out[6] = np.float32(j) + np.float32(0.5), np.float32(i) + np.float32(0.5)
                out[7] = np.float32(key)
                n += 1
    done = 0
    while done < n:
        key = -1
        for k in range(n):
            if scratch[k, 7] >= 0:
                key = int(scratch[k, 7])
                break
        level = levels[key]
        side = 32 >> level
        for m in range(side * side):
            for q in range(7):
                cells[m, q] = np.float32(0.0)
        for k in range(n):
            part = scratch[k]
            if int(part[7]) != key:
                continue
            m = ((math.floor(part[6]) - row0) >> level) * side + (
                (math.floor(part[5]) - column0) >> level
            )
            cell = cells[m]
            share = part[3]
            cell[0] += part[0]
            cell[1] += part[1]
            cell[2] += part[2]
            cell[3] += share
            cell[4] += share * part[4]
            cell[5] += share * (part[5] - np.float32(column0))
            cell[6] += share * (part[6] - np.float32(row0))
            part[7] = np.float32(-1.0)
            done += 1
        for m in range(side * side):
            share = cells[m, 3]
            if share <= 0:
                continue
            if write:
                out = fragments[start + count]
                out[0], out[1], out[2], out[3] = cells[m, 0], cells[m, 1], cells[m, 2], share
                out[4] = cells[m, 4] / share
                out[5] = cells[m, 5] / share + np.float32(column0)
                out[6] = cells[m, 6] / share + np.float32(row0)
                out[7] = np.float32(key)
            count += 1
    return count, reach, small


@njit(cache=True, nogil=True)
def gather_blocks(
    picture,
    defocus,
    iz,
    index,
    record,
    optic,
    levels,
    lamps,
    top,
    left,
    across,
    block0,
    block1,
    fragments,
    starts,
    write,
    counts,
    reaches,
    small,
    seen,
):
    """Count (or, with ``write``, write) the fragments of blocks block0 to block1."""
    scratch = np.empty((3072, 8), np.float32)
    cells = np.empty((256, 7), np.float32)
    for block in range(block0, block1):
        count, reach, has_small = _gather_block(
            picture,
            defocus,
            iz,
            index,
            record,
            optic,
            levels,
            lamps,
            top,
            left,
            across,
            block,
            scratch,
            cells,
            fragments,
            starts[block],
            write,
            seen,
        )
        counts[block], reaches[block], small[block] = count, reach, has_small


@njit(cache=True, nogil=True, inline="always")
def _add(slab, at, w0, w1, r, g, b, share):
    """Add a colour with weights w0 and w1 to two neighbouring cells."""
    k = np.uint64(at)
    slab[k] += w0 * r
    slab[k + np.uint64(1)] += w0 * g
    slab[k + np.uint64(2)] += w0 * b
    slab[k + np.uint64(3)] += w0 * share
    slab[k + np.uint64(4)] += w1 * r
    slab[k + np.uint64(5)] += w1 * g
    slab[k + np.uint64(6)] += w1 * b
    slab[k + np.uint64(7)] += w1 * share


@njit(cache=True, nogil=True)
def _spread_small(slab, base, rows, columns, j, i, a, b, c, boost, r, g, bl, share):
    """Spread a pixel by a 3 x 3 kernel with the ellipse's second moments (times ``boost``)."""
    half, one = np.float32(0.5), np.float32(1.0)
    sx, sy = boost * a * np.float32(0.25), boost * c * np.float32(0.25)
    corner = boost * b * np.float32(0.0625)
    for di in range(-1, 2):
        y = i + di
        if y < 0 or y >= rows:
            continue
        wy = one - sy if di == 0 else half * sy
        for dj in range(-1, 2):
            x = j + dj
            if x < 0 or x >= columns:
                continue
            weight = wy * (one - sx if dj == 0 else half * sx) + corner * np.float32(di * dj)
            k = np.uint64(base + (y * (columns + 2) + x) * 4)
            slab[k] += weight * r
            slab[k + np.uint64(1)] += weight * g
            slab[k + np.uint64(2)] += weight * bl
            slab[k + np.uint64(3)] += weight * share


@njit(cache=True, nogil=True)
def _spread_ellipse(slab, base, rows, columns, x, y, a, b, c, table, r, g, bl, share):
    """Spread a colour evenly over an ellipse, as differences along each row, in cells."""
    det = max(a * c - b * b, np.float32(0.01))
    tall = math.sqrt(c)
    wide = math.sqrt(det / c)
    slope = b / c
    y0, y1 = y - tall, y + tall
    first, last = max(math.floor(y0), 0), min(math.ceil(y1), rows)
    if first >= last:
        return
    density = np.float32(1.0) / (np.float32(math.pi) * math.sqrt(det))
    to_table = np.float32(512.0) / tall
    zero, right = np.float32(0.0), np.float32(columns)
    top = max(np.float32(first), y0)
    u = (top - y0) * to_table
    n = min(int(u), 1023)
    f0 = table[n] + (u - np.float32(n)) * (table[n + 1] - table[n])
    for i in range(first, last):
        bottom = min(np.float32(i + 1), y1)
        u = (bottom - y0) * to_table
        n = min(int(u), 1023)
        f1 = table[n] + (u - np.float32(n)) * (table[n + 1] - table[n])
        high = max(bottom - top, np.float32(1e-6))
        half = wide * tall * (f1 - f0) / high
        middle = x + slope * (np.float32(0.5) * (top + bottom) - y)
        x0 = min(max(middle - half, zero), right)
        x1 = min(max(middle + half, zero), right)
        weight = high * density
        n0, n1 = int(x0), int(x1)
        part0, part1 = weight * (x0 - np.float32(n0)), weight * (x1 - np.float32(n1))
        at = base + i * (columns + 2) * 4
        _add(slab, at + n0 * 4, weight - part0, part0, r, g, bl, share)
        _add(slab, at + n1 * 4, part1 - weight, -part1, r, g, bl, share)
        top, f0 = bottom, f1


@njit(cache=True, nogil=True)
def _spread_polygon(
    slab, base, rows, columns, optic, outline, d, px, py, x, y, cell, scale, sums, r, g, bl, share
):
    """Spread a colour evenly over the iris outline thrown on the picture, as row differences.

    px, py: the place in the picture, px; x, y: the same in cells of ``cell`` px;
    scale: how much smaller to draw it; sums (rows + 2, 3) f32: left, right and height per row.
    """
    qx, qy = (px - optic[4]) * optic[6], (py - optic[5]) * optic[6]
    s = -optic[3] * d / cell
    k = optic[11] * (np.float32(1.0) - d)
    m0x, m0y = s * optic[8], -s * optic[7]
    m1x = s * (optic[7] * optic[9] + qx * optic[10])
    m1y = s * (optic[8] * optic[9] + qy * optic[10])
    n = outline.shape[0]
    low, high = np.float32(1e9), np.float32(-1e9)
    for q in range(n):
        by = np.float32(1.0) / (np.float32(1.0) - k * outline[q, 1])
        t = y + scale * (m0y * outline[q, 0] + m1y * outline[q, 1]) * by
        low, high = min(low, t), max(high, t)
    first, last = max(math.floor(low), 0), min(math.ceil(high), rows)
    if first >= last:
        return
    for i in range(first, last):
        sums[i, 0] = np.float32(0.0)
        sums[i, 1] = np.float32(0.0)
        sums[i, 2] = np.float32(0.0)
    by = np.float32(1.0) / (np.float32(1.0) - k * outline[n - 1, 1])
    x0 = x + scale * (m0x * outline[n - 1, 0] + m1x * outline[n - 1, 1]) * by
    y0 = y + scale * (m0y * outline[n - 1, 0] + m1y * outline[n - 1, 1]) * by
    area = np.float32(0.0)
    for q in range(n):
        by = np.float32(1.0) / (np.float32(1.0) - k * outline[q, 1])
        x1 = x + scale * (m0x * outline[q, 0] + m1x * outline[q, 1]) * by
        y1 = y + scale * (m0y * outline[q, 0] + m1y * outline[q, 1]) * by
        area += np.float32(0.5) * ((x0 - x) * (y1 - y) - (x1 - x) * (y0 - y))
        # the determinant of the map is positive, so corners run clockwise on the picture
        # (y down) and the sides that go down bound the figure on the right
        side = 1 if y1 > y0 else 0
        a_x, a_y, b_x, b_y = (x0, y0, x1, y1) if y1 > y0 else (x1, y1, x0, y0)
        if b_y > a_y:
            lean = (b_x - a_x) / (b_y - a_y)
            for i in range(max(math.floor(a_y), 0), min(math.ceil(b_y), rows)):
                t0, t1 = max(np.float32(i), a_y), min(np.float32(i + 1), b_y)
                dy = t1 - t0
                sums[i, side] += dy * (a_x + lean * (np.float32(0.5) * (t0 + t1) - a_y))
                if side == 1:
                    sums[i, 2] += dy
        x0, y0 = x1, y1
    if area <= np.float32(1e-6):
        return
    density = np.float32(1.0) / area
    zero, right = np.float32(0.0), np.float32(columns)
    for i in range(first, last):
        tall = sums[i, 2]
        if tall <= np.float32(1e-6):
            continue
        x0 = min(max(sums[i, 0] / tall, zero), right)
        x1 = min(max(sums[i, 1] / tall, zero), right)
        weight = tall * density
        n0, n1 = int(x0), int(x1)
        part0, part1 = weight * (x0 - np.float32(n0)), weight * (x1 - np.float32(n1))
        at = base + i * (columns + 2) * 4
        _add(slab, at + n0 * 4, weight - part0, part0, r, g, bl, share)
        _add(slab, at + n1 * 4, part1 - weight, -part1, r, g, bl, share)


@njit(cache=True, nogil=True, inline="always")
def _buffer_size(level, tile):
    """Rows (= columns) of a tile's buffer at a level."""
    return tile if level == 0 else (tile >> level) + 3


@njit(cache=True, nogil=True)
def _spread(
    slab,
    bases,
    active,
    levels,
    tile,
    tile_row,
    tile_column,
    optic,
    outline,
    moment,
    table,
    sums,
    key,
    d,
    px,
    py,
    r,
    g,
    b,
    share,
):
    """Spread one part or fragment into the buffer of its bin; opens the buffer if need be."""
    level = levels[key] if key < 96 else 0
    size = _buffer_size(level, tile)
    base = bases[key]
    if not active[key]:
        active[key] = 1
        for k in range(base, base + size * (size + 2) * 4):
            slab[k] = np.float32(0.0)
    a, bb, c, ox, oy = _ellipse(optic, d, px, py)
    if level == 0:
        if 30 <= key <= 34 or key == 80:
            j, i = math.floor(px) - tile_column, math.floor(py) - tile_row
            if max(r, max(g, b)) > np.float32(1.0):
                boost = np.float32(1.0)
            else:
                boost = max(
                    np.float32(1.0), np.float32(1.85) - np.float32(0.57) * abs(optic[3] * d)
                )
            _spread_small(
                slab,
                base,
                size,
                size,
                j,
                i,
                a * moment,
                bb * moment,
                c * moment,
                boost,
                r,
                g,
                b,
                share,
            )
            return
        x, y = px - np.float32(tile_column), py - np.float32(tile_row)
        shrink, cell = np.float32(1.0 / 3.0), np.float32(1.0)
    else:
        cell = np.float32(1 << level)
        x = px / cell - np.float32((tile_column >> level) - 1)
        y = py / cell - np.float32((tile_row >> level) - 1)
        shrink = np.float32(4.0 / 3.0)
    if outline.shape[0] == 0:
        per_cell = np.float32(1.0) / (cell * cell)
        _spread_ellipse(
            slab,
            base,
            size,
            size,
            x + ox / cell,
            y + oy / cell,
            a * per_cell - shrink,
            bb * per_cell,
            c * per_cell - shrink,
            table,
            r,
            g,
            b,
            share,
        )
    else:
        radius = abs(optic[3] * d) / cell
        scale = math.sqrt(
            max(np.float32(1.0) - shrink / (radius * radius * moment), np.float32(0.1))
        )
        _spread_polygon(
            slab,
            base,
            size,
            size,
            optic,
            outline,
            d,
            px,
            py,
            x,
            y,
            cell,
            scale,
            sums,
            r,
            g,
            b,
            share,
        )


@njit(cache=True, nogil=True)
def _run_up(slab, base, size):
    """Turn row differences into values."""
    for i in range(size):
        at = base + i * (size + 2) * 4
        r, g, b, share = np.float32(0.0), np.float32(0.0), np.float32(0.0), np.float32(0.0)
        for k in range(at, at + size * 4, 4):
            r += slab[k]
            g += slab[k + 1]
            b += slab[k + 2]
            share += slab[k + 3]
            slab[k], slab[k + 1], slab[k + 2], slab[k + 3] = r, g, b, share


@njit(cache=True, nogil=True)
def _lay(slab, base, level, size, i, tile_row, tile_column, columns, line):
    """Lay one bin under what row i of the tile shows already; line (columns, 4): r g b, room."""
    if level == 0:
        for j in range(columns):
            k = base + (i * (size + 2) + j) * 4
            share = slab[k + 3]
            room = line[j, 3]
            if share > np.float32(1e-5) and room > 0:
                used = min(share, room)
                weight = used / share
                line[j, 0] += weight * slab[k]
                line[j, 1] += weight * slab[k + 1]
                line[j, 2] += weight * slab[k + 2]
                line[j, 3] = room - used
        return
    cell = np.float32(1 << level)
    half = np.float32(0.5)
    y = (np.float32(tile_row + i) + half) / cell - np.float32((tile_row >> level) - 1) - half
    i0 = int(y)
    fy = y - np.float32(i0)
    for j in range(columns):
        room = line[j, 3]
        if room <= 0:
            continue
        x = (
            (np.float32(tile_column + j) + half) / cell
            - np.float32((tile_column >> level) - 1)
            - half
        )
        j0 = int(x)
        fx = x - np.float32(j0)
        k0 = base + (i0 * (size + 2) + j0) * 4
        k1 = k0 + (size + 2) * 4
        w00, w01 = (1 - fy) * (1 - fx), (1 - fy) * fx
        w10, w11 = fy * (1 - fx), fy * fx
        share = w00 * slab[k0 + 3] + w01 * slab[k0 + 7] + w10 * slab[k1 + 3] + w11 * slab[k1 + 7]
        share /= cell * cell
        if share > np.float32(1e-5):
            used = min(share, room)
            weight = used / (share * cell * cell)
            line[j, 0] += weight * (
                w00 * slab[k0] + w01 * slab[k0 + 4] + w10 * slab[k1] + w11 * slab[k1 + 4]
            )
            line[j, 1] += weight * (
                w00 * slab[k0 + 1] + w01 * slab[k0 + 5] + w10 * slab[k1 + 1] + w11 * slab[k1 + 5]
            )
            line[j, 2] += weight * (
                w00 * slab[k0 + 2] + w01 * slab[k0 + 6] + w10 * slab[k1 + 2] + w11 * slab[k1 + 6]
            )
            line[j, 3] = room - used


@njit(cache=True, nogil=True)
def render_tiles(
    picture,
    defocus,
    iz,
    index,
    record,
    optic,
    levels,
    outline,
    moment,
    table,
    top,
    left,
    across,
    starts,
    reaches,
    has_small,
    fragments,
    stretch,
    small_reach,
    frame_top,
    frame_left,
    tile,
    first,
    step,
    slab,
    bases,
    sums,
    line,
    out,
):
    """Make every ``step``-th tile of ``out``, beginning with tile ``first``.

    starts (blocks + 1,) i64: rows of ``fragments`` of each block; reaches (blocks,) f32: their
    largest radius; has_small (blocks,) u8: holds parts spread pixel by pixel; stretch f32: the
    longest a figure reaches per unit of radius; small_reach i64: the farthest a small part reaches.
    slab f32 and bases (160,) i64: one buffer per bin, this thread's own; line (tile, 4) f32.
    """
    h, w = out.shape[0], out.shape[1]
    tiles_across = (w + tile - 1) // tile
    tiles = tiles_across * ((h + tile - 1) // tile)
    blocks = has_small.shape[0]
    active = np.zeros(160, np.uint8)
    height, width = iz.shape
    for t in range(first, tiles, step):
        out_row, out_column = tile * (t // tiles_across), tile * (t % tiles_across)
        rows, columns = min(tile, h - out_row), min(tile, w - out_column)
        tile_row, tile_column = frame_top + out_row, frame_left + out_column
        active[:] = 0
        for block in range(blocks):
            row0, column0 = top + 32 * (block // across), left + 32 * (block % across)
            gap = max(
                max(tile_row - row0 - 31, row0 - tile_row - rows + 1),
                max(tile_column - column0 - 31, column0 - tile_column - columns + 1),
            )
            if has_small[block] and gap <= small_reach:
                for i in range(
                    max(row0, tile_row - small_reach), min(row0 + 32, tile_row + rows + small_reach)
                ):
                    for j in range(
                        max(column0, tile_column - small_reach),
                        min(column0 + 32, tile_column + columns + small_reach),
                    ):
                        ci, cj = min(max(i, 0), height - 1), min(max(j, 0), width - 1)
                        parts = 1 if index[ci, cj] < 0 else 3
                        for part in range(parts):
                            r, g, b, share, d = _part(
                                picture, defocus, iz, index, record, optic, i, j, part
                            )
                            if share <= 0:
                                continue
                            key = _bin(optic[3] * d, part == 2)
                            if levels[key] == 0:
                                _spread(
                                    slab,
                                    bases,
                                    active,
                                    levels,
                                    tile,
                                    tile_row,
                                    tile_column,
                                    optic,
                                    outline,
                                    moment,
                                    table,
                                    sums,
                                    key,
                                    d,
                                    np.float32(j) + np.float32(0.5),
                                    np.float32(i) + np.float32(0.5),
                                    r,
                                    g,
                                    b,
                                    share,
                                )
            if np.float32(gap) <= reaches[block] * stretch + np.float32(130.0):
                for k in range(starts[block], starts[block + 1]):
                    f = fragments[k]
                    key = int(f[7])
                    level = levels[key] if key < 96 else 0
                    far = abs(optic[3] * f[4]) * stretch + np.float32(2 << level) + np.float32(2.0)
                    if (
                        f[5] < np.float32(tile_column) - far
                        or f[5] > np.float32(tile_column + columns) + far
                        or f[6] < np.float32(tile_row) - far
                        or f[6] > np.float32(tile_row + rows) + far
                    ):
                        continue
                    _spread(
                        slab,
                        bases,
                        active,
                        levels,
                        tile,
                        tile_row,
                        tile_column,
                        optic,
                        outline,
                        moment,
                        table,
                        sums,
                        key,
                        f[4],
                        f[5],
                        f[6],
                        f[0],
                        f[1],
                        f[2],
                        f[3],
                    )
        for key in range(160):
            if active[key] and not (30 <= key <= 34 or key == 80):
                _run_up(slab, bases[key], _buffer_size(levels[key] if key < 96 else 0, tile))
        for i in range(rows):
            for j in range(columns):
                line[j, 0], line[j, 1], line[j, 2], line[j, 3] = 0, 0, 0, 1
            for order in range(160):
                key = order // 2 + 96 * (order % 2) if order < 128 else order - 64
                if active[key]:
                    level = levels[key] if key < 96 else 0
                    _lay(
                        slab,
                        bases[key],
                        level,
                        _buffer_size(level, tile),
                        i,
                        tile_row,
                        tile_column,
                        columns,
                        line,
                    )
            for j in range(columns):
                covered = np.float32(1.0) - line[j, 3]
                if covered > np.float32(1e-3):
                    for q in range(3):
                        out[out_row + i, out_column + j, q] = max(
                            line[j, q] / covered, np.float32(0.0)
                        )
                else:
                    for q in range(3):
                        out[out_row + i, out_column + j, q] = picture[
                            tile_row + i, tile_column + j, q
                        ]
