"""Compiled loops that spread every pixel over its own blur figure and lay the bins together.

Plain arrays in, plain arrays out; no checks. Common to all kernels here:
``optic`` f32, the numbers of `render.engine.layers.optic_numbers`; ``whole`` (corners, 2) f32,
the iris that the rim cuts, empty without one; ``defocus``, ``iz`` (H, W) f32;
``index``, ``record`` as in `render.engine.edge_kernels`;
``fragments`` (n, 8) f32: r g b, share (all summed), defocus, x, y, bin.

Bins are numbered near to far: 0..63 what the pinhole saw, 64..95 what it did not,
96..159 lamps of bin 0..63: single bright pixels, spread one by one (their share stays behind).
``sources`` (160,) i64: what is in a bin is first gathered in cells of 2^source px, 0: not at all;
``levels`` (160,) i64: it is spread in a buffer with cells of 2^level px.
"""

import math

import numpy as np
from llvmlite import ir
from numba import njit, types
from numba.extending import intrinsic

__all__ = [
    "cut_outline",
    "gather_blocks",
    "render_tiles",
    "rim_circle",
    "spread_ellipse",
    "spread_polygon",
    "spread_small",
]


def _pointer(context, builder, kind, array, at):
    """Address of four floats inside a contiguous float32 array, as a vector."""
    data = context.make_array(kind)(context, builder, array).data
    four = ir.VectorType(ir.FloatType(), 4)
    return builder.bitcast(builder.gep(data, [at], inbounds=True), four.as_pointer())


def _splat(builder, values):
    """One vector of four from four (or one) values."""
    vector = ir.Constant(ir.VectorType(ir.FloatType(), 4), ir.Undefined)
    for n in range(4):
        value = values[n % len(values)]
        vector = builder.insert_element(vector, value, ir.IntType(32)(n))
    return vector


@intrinsic
def _add(_typing, slab, at, weight, r, g, b, share):
    """``slab[at : at + 4] += weight * (r, g, b, share)`` in one go; numba does not find it."""
    signature = types.void(slab, types.int64, *[types.float32] * 5)

    def code(context, builder, signature, args):
        place = _pointer(context, builder, signature.args[0], args[0], args[1])
        more = builder.fmul(_splat(builder, args[2:3]), _splat(builder, args[3:]))
        old = builder.load(place)
        old.align = 4
        builder.store(builder.fadd(old, more), place).align = 4
        return context.get_dummy_value()

    return signature, code


@intrinsic
def _add_from(_typing, target, at, weight, source, k):
    """``target[at : at + 4] += weight * source[k : k + 4]`` in one go."""
    signature = types.void(target, types.int64, types.float32, source, types.int64)

    def code(context, builder, signature, args):
        place = _pointer(context, builder, signature.args[0], args[0], args[1])
        other = _pointer(context, builder, signature.args[3], args[3], args[4])
        old, new = builder.load(place), builder.load(other)
        old.align = new.align = 4
        more = builder.fmul(_splat(builder, args[2:3]), new)
        builder.store(builder.fadd(old, more), place).align = 4
        return context.get_dummy_value()

    return signature, code


@njit(cache=True, nogil=True, error_model="numpy", inline="always")
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
    bits = np.float32(r * r).view(np.int32) >> 23  # each power of 2 in r^2 is half an octave in r
    return min(bits - 126, 31)


@njit(cache=True, nogil=True, error_model="numpy", inline="always")
def _bin(r, hidden):
    """Bin of a signed blur radius in px."""
    size = _size_class(abs(r))
    if hidden:
        size = 0 if size < 3 else (size + 1) // 2 - 1  # 1.2, 2, 4, 8, 16 ...
        return 80 - size if r > 0 else 80 + size
    return 32 - size if r > 0 else 32 + size


@njit(cache=True, nogil=True, error_model="numpy", inline="always")
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


@njit(cache=True, nogil=True, error_model="numpy", inline="always")
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
        if part == 0:
            r, g, b, share = record[n, 0], record[n, 1], record[n, 2], record[n, 3]
            d += optic[2] * (record[n, 4] - iz[ci, cj])
        elif part == 1:
            r, g, b, share = (
                record[n, 5],
                record[n, 6],
                record[n, 7],
                np.float32(1.0) - record[n, 3],
            )
            d += optic[2] * (record[n, 8] - iz[ci, cj])
        else:
            share = record[n, 12]
            r, g, b = record[n, 9] * share, record[n, 10] * share, record[n, 11] * share
            d += optic[2] * (record[n, 8] - iz[ci, cj])
    if ci != i or cj != j:
        d += optic[0] * np.float32(j - cj) + optic[1] * np.float32(i - ci)
        one = np.float32(1.0)
        r, g, b = min(r, one), min(g, one), min(b, one)
    return r, g, b, share, d


@njit(cache=True, nogil=True, error_model="numpy")
def _pour(fragments, count, cells, slot_bin, slots, side, top, left):
    """Write the cells of one block that hold anything to ``fragments``, and empty them."""
    for slot in range(slots):
        n = side[slot] * side[slot]
        for m in range(n):
            share = cells[slot, m, 3]
            if share > 0:
                for q in range(4):
                    fragments[count, q] = cells[slot, m, q]
                fragments[count, 4] = cells[slot, m, 4] / share
                fragments[count, 5] = cells[slot, m, 5] / share + np.float32(left)
                fragments[count, 6] = cells[slot, m, 6] / share + np.float32(top)
                fragments[count, 7] = np.float32(slot_bin[slot])
                count += 1
                for q in range(8):
                    cells[slot, m, q] = np.float32(0.0)
    return count


@njit(cache=True, nogil=True, error_model="numpy")
def gather_blocks(
    picture,
    defocus,
    iz,
    index,
    record,
    optic,
    sources,
    levels,
    top,
    left,
    across,
    block0,
    block1,
    starts,
    reaches,
    small,
    seen,
):
    """Gather what blocks block0 to block1 hold for the coarser bins, and lamps one by one.

    Blocks are 32 x 32 px, ``across`` to a row, the first at (top, left); they may lie outside.
    starts (blocks + 1,) i64 gets each block's number of fragments at [block + 1]; reaches
    (blocks,) f32 their largest radius or -1; small (blocks,) u8 whether parts are left to be
    spread pixel by pixel;
    seen (160,) u8 which bins occur. Returns the fragments.
    """
    half, one = np.float32(0.5), np.float32(1.0)
    h, w = iz.shape
    fragments = np.empty((4096, 8), np.float32)
    total = 0
    cells = np.zeros((96, 256, 8), np.float32)
    flat = cells.reshape(-1)
    slot_of = np.full(160, -1, np.int64)
    slot_bin = np.zeros(96, np.int64)
    side = np.zeros(96, np.int64)
    for block in range(block0, block1):
        row0, column0 = top + 32 * (block // across), left + 32 * (block % across)
        if total + 6144 > fragments.shape[0]:
            grown = np.empty((2 * fragments.shape[0] + 6144, 8), np.float32)
            grown[:total] = fragments[:total]
            fragments = grown
        before, reach, has_small, slots = total, -one, 0, 0
        inside = row0 >= 0 and column0 >= 0 and row0 + 32 <= h and column0 + 32 <= w
        bright, pixels = 0, 0
        glow_r, glow_g, glow_b = np.float32(0.0), np.float32(0.0), np.float32(0.0)
        j0, j1 = max(column0, 0), min(column0 + 32, w)
        for i in range(max(row0, 0), min(row0 + 32, h)):
            for j in range(j0, j1):
                r, g, b = picture[i, j, 0], picture[i, j, 1], picture[i, j, 2]
                glow_r += r
                glow_g += g
                glow_b += b
                bright += max(r, max(g, b)) > one
            pixels += j1 - j0
        lamp = np.float32(6.0) * (glow_r + glow_g + glow_b) / np.float32(max(pixels, 1))
        cap = one if bright <= 256 else np.float32(np.inf)
        for i in range(row0, row0 + 32):
            for j in range(column0, column0 + 32):
                ci, cj = i, j
                if not inside:
                    ci, cj = min(max(i, 0), h - 1), min(max(j, 0), w - 1)
                parts = 1 if index[ci, cj] < 0 else 3
                for part in range(parts):
                    if parts == 1 and inside:
                        r, g, b, share = picture[i, j, 0], picture[i, j, 1], picture[i, j, 2], one
                        d = defocus[i, j]
                    else:
                        r, g, b, share, d = _part(
                            picture, defocus, iz, index, record, optic, i, j, part
                        )
                        if share <= 0:
                            continue
                    radius = optic[3] * d
                    key = _bin(radius, part == 2)
                    source = sources[key]
                    if source == 0:
                        seen[key] = 1
                        has_small = 1
                        continue
                    reach = max(reach, abs(radius))
                    y, x = i - row0, j - column0
                    if (
                        ci == i
                        and cj == j
                        and parts == 1
                        and (r + g + b > lamp or max(r, max(g, b)) > cap)
                    ):
                        seen[key + 96] = 1
                        for q in range(3):
                            fragments[total, q] = picture[ci, cj, q]
                        fragments[total, 3], fragments[total, 4] = np.float32(0.0), d
                        fragments[total, 5] = np.float32(j) + half
                        fragments[total, 6] = np.float32(i) + half
                        fragments[total, 7] = np.float32(key + 96)
                        total += 1
                        r, g, b = np.float32(0.0), np.float32(0.0), np.float32(0.0)
                    slot = slot_of[key]
                    if slot < 0:
                        slot = slots
                        slots += 1
                        slot_of[key], slot_bin[slot], side[slot] = slot, key, 32 >> source
                        seen[key] = 1
                    at = slot * 2048 + ((y >> source) * side[slot] + (x >> source)) * 8
                    _add(flat, at, one, r, g, b, share)
                    _add(flat, at + 4, share, d, np.float32(x) + half, np.float32(y) + half, one)
        total = _pour(fragments, total, cells, slot_bin, slots, side, row0, column0)
        for slot in range(slots):
            slot_of[slot_bin[slot]] = -1
        starts[block + 1], reaches[block], small[block] = total - before, reach, has_small
    return fragments[:total]


@njit(cache=True, nogil=True, error_model="numpy", inline="always")
def spread_small(slab, base, size, j, i, a, b, c, boost, r, g, bl, share):
    """Spread a pixel by a 3 x 3 kernel with the ellipse's second moments (times ``boost``)."""
    half, one = np.float32(0.5), np.float32(1.0)
    sx, sy = boost * a * np.float32(0.25), boost * c * np.float32(0.25)
    corner = boost * b * np.float32(0.0625)
    for di in range(-1, 2):
        y = i + di
        if y < 0 or y >= size:
            continue
        wy = one - sy if di == 0 else half * sy
        for dj in range(-1, 2):
            x = j + dj
            if x < 0 or x >= size:
                continue
            weight = wy * (one - sx if dj == 0 else half * sx) + corner * np.float32(di * dj)
            _add(slab, base + (y * (size + 2) + x) * 4, weight, r, g, bl, share)


@njit(cache=True, nogil=True, error_model="numpy", inline="always")
def spread_ellipse(slab, base, size, x, y, a, b, c, table, r, g, bl, share):
    """Spread a colour evenly over an ellipse, as differences along each row, in cells."""
    half, zero, right = np.float32(0.5), np.float32(0.0), np.float32(size)
    det = max(a * c - b * b, np.float32(0.01))
    root, tall = np.float32(math.sqrt(det)), np.float32(math.sqrt(c))
    slope = b / c
    y0, y1 = y - tall, y + tall
    first, last = max(math.floor(y0), 0), min(math.ceil(y1), size)
    density = np.float32(1.0 / math.pi) / root
    to_table = np.float32(512.0) / tall
    top = max(np.float32(first), y0)
    u = (top - y0) * to_table
    n = min(int(u), 1023)
    f0 = table[n] + (u - np.float32(n)) * (table[n + 1] - table[n])
    at = base + first * (size + 2) * 4
    for i in range(first, last):
        bottom = min(np.float32(i + 1), y1)
        u = (bottom - y0) * to_table
        n = min(int(u), 1023)
        f1 = table[n] + (u - np.float32(n)) * (table[n + 1] - table[n])
        high, wide = bottom - top, root * (f1 - f0)
        if high < np.float32(0.9999):
            wide /= max(high, np.float32(1e-6))
        middle = x + slope * (half * (top + bottom) - y)
        x0 = min(max(middle - wide, zero), right)
        x1 = min(max(middle + wide, zero), right)
        weight = high * density
        n0, n1 = int(x0), int(x1)
        part0, part1 = weight * (x0 - np.float32(n0)), weight * (x1 - np.float32(n1))
        _add(slab, at + n0 * 4, weight - part0, r, g, bl, share)
        _add(slab, at + n0 * 4 + 4, part0, r, g, bl, share)
        _add(slab, at + n1 * 4, part1 - weight, r, g, bl, share)
        _add(slab, at + n1 * 4 + 4, -part1, r, g, bl, share)
        top, f0 = bottom, f1
        at += (size + 2) * 4


@njit(cache=True, nogil=True, error_model="numpy", inline="always")
def spread_polygon(
    slab, base, size, optic, outline, n, d, px, py, x, y, cell, scale, sums, r, g, bl, share
):
    """Spread a colour evenly over the iris outline thrown on the picture, as row differences.

    n: how many corners of ``outline`` count; px, py: the place in the picture, px;
    x, y: the same in cells of ``cell`` px;
    scale: how much smaller to draw it; sums (rows + 2, 3) f32: left, right and height per row.
    """
    qx, qy = (px - optic[4]) * optic[6], (py - optic[5]) * optic[6]
    s = -optic[3] * d / cell
    k = optic[11] * (np.float32(1.0) - d)
    m0x, m0y = s * optic[8], -s * optic[7]
    m1x = s * (optic[7] * optic[9] + qx * optic[10])
    m1y = s * (optic[8] * optic[9] + qy * optic[10])
    low, high = np.float32(1e9), np.float32(-1e9)
    for q in range(n):
        by = np.float32(1.0) / (np.float32(1.0) - k * outline[q, 1])
        t = y + scale * (m0y * outline[q, 0] + m1y * outline[q, 1]) * by
        low, high = min(low, t), max(high, t)
    first, last = max(math.floor(low), 0), min(math.ceil(high), size)
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
            for i in range(max(math.floor(a_y), 0), min(math.ceil(b_y), size)):
                t0, t1 = max(np.float32(i), a_y), min(np.float32(i + 1), b_y)
                dy = t1 - t0
                sums[i, side] += dy * (a_x + lean * (np.float32(0.5) * (t0 + t1) - a_y))
                if side == 1:
                    sums[i, 2] += dy
        x0, y0 = x1, y1
    if area <= np.float32(1e-6):
        return
    density = np.float32(1.0) / area
    zero, right = np.float32(0.0), np.float32(size)
    for i in range(first, last):
        tall = sums[i, 2]
        if tall <= np.float32(1e-6):
            continue
        x0 = min(max(sums[i, 0] / tall, zero), right)
        x1 = min(max(sums[i, 1] / tall, zero), right)
        weight = tall * density
        n0, n1 = int(x0), int(x1)
        part0, part1 = weight * (x0 - np.float32(n0)), weight * (x1 - np.float32(n1))
        at = base + i * (size + 2) * 4
        _add(slab, at + n0 * 4, weight - part0, r, g, bl, share)
        _add(slab, at + n0 * 4 + 4, part0, r, g, bl, share)
        _add(slab, at + n1 * 4, part1 - weight, r, g, bl, share)
        _add(slab, at + n1 * 4 + 4, -part1, r, g, bl, share)


@njit(cache=True, nogil=True, error_model="numpy", inline="always")
def rim_circle(optic, d, px, py):
    """Where the rim is seen on the lens plane: centre along u1, u2, radius, in iris radii."""
    qx, qy = (px - optic[4]) * optic[6], (py - optic[5]) * optic[6]
    steep = optic[7] * qx + optic[8] * qy
    along = optic[9] + optic[10] * steep
    left = along - optic[14] * (d - np.float32(1.0) + optic[15] * along)
    scale = -optic[12] / left
    x = scale * (optic[8] * qx - optic[7] * qy)
    y = scale * (optic[9] * steep - optic[10])
    return x, y, optic[13] * along / left


@njit(cache=True, nogil=True, error_model="numpy")
def _round(cut, n, x, y, radius, to_x, to_y):
    """Add points along the rim from the last corner to (to_x, to_y), short of both."""
    start = math.atan2(cut[n - 1, 1] - y, cut[n - 1, 0] - x)
    turn = (math.atan2(to_y - y, to_x - x) - start) % (2.0 * math.pi)
    pieces = int(turn * (32.0 / math.pi)) + 1
    for k in range(1, pieces):
        angle = start + turn * k / pieces
        cut[n, 0] = x + radius * np.float32(math.cos(angle))
        cut[n, 1] = y + radius * np.float32(math.sin(angle))
        n += 1
    return n


@njit(cache=True, nogil=True, error_model="numpy")
def cut_outline(optic, d, px, py, whole, shrink, cut):
    """Write the part of the iris inside the rim to ``cut``; returns its corners, 0 if uncut.

    It is drawn smaller about its centre by the second moment ``shrink``/4 (in iris radii, squared).
    The rim is never let farther than 0.6 radii beyond its own, so something always passes.
    """
    x, y, radius = rim_circle(optic, d, px, py)
    off = np.float32(math.sqrt(x * x + y * y))
    if off + np.float32(1.0) <= radius:
        return 0
    most = radius + np.float32(0.6)
    if off > most:
        x, y = x * most / off, y * most / off
    n, corners = 0, whole.shape[0]
    for q in range(corners):
        ax, ay = whole[q, 0], whole[q, 1]
        last = q + 1 == corners
        bx, by = whole[0 if last else q + 1, 0], whole[0 if last else q + 1, 1]
        ex, ey = bx - ax, by - ay
        square, along = ex * ex + ey * ey, (ax - x) * ex + (ay - y) * ey
        rest = (ax - x) * (ax - x) + (ay - y) * (ay - y) - radius * radius
        under = along * along - square * rest
        if under <= 0:
            continue
        root = np.float32(math.sqrt(under))
        t0, t1 = (-along - root) / square, (root - along) / square
        if t0 >= np.float32(1.0) or t1 <= 0:
            continue
        if n == 0 or t0 > 0:
            t0 = max(t0, np.float32(0.0))
            if n > 0:
                n = _round(cut, n, x, y, radius, ax + t0 * ex, ay + t0 * ey)
            cut[n, 0], cut[n, 1] = ax + t0 * ex, ay + t0 * ey
            n += 1
        t1 = min(t1, np.float32(1.0))
        cut[n, 0], cut[n, 1] = ax + t1 * ex, ay + t1 * ey
        n += 1
    if n == 0:
        return 0
    gap = abs(cut[n - 1, 0] - cut[0, 0]) + abs(cut[n - 1, 1] - cut[0, 1])
    n = n - 1 if gap < np.float32(1e-6) else _round(cut, n, x, y, radius, cut[0, 0], cut[0, 1])
    area, sx, sy, second = 0.0, 0.0, 0.0, 0.0
    for q in range(n):
        p = n - 1 if q == 0 else q - 1
        ax, ay, bx, by = cut[p, 0], cut[p, 1], cut[q, 0], cut[q, 1]
        cross = float(ax * by - bx * ay)
        area += cross / 2
        sx += cross * (ax + bx) / 6
        sy += cross * (ay + by) / 6
        second += cross * (ax * ax + ax * bx + bx * bx + ay * ay + ay * by + by * by) / 12
    if n < 3 or area < 1e-4:
        return 0
    sx, sy = sx / area, sy / area
    second = (second / area - sx * sx - sy * sy) / 2
    scale = math.sqrt(max(1.0 - shrink / (4 * second), 0.1))
    for q in range(n):
        cut[q, 0] = np.float32(sx + scale * (cut[q, 0] - sx))
        cut[q, 1] = np.float32(sy + scale * (cut[q, 1] - sy))
    return n


@njit(cache=True, nogil=True, error_model="numpy", inline="always")
def _buffer_size(level, tile):
    """Rows (= columns) of a tile's buffer at a level."""
    return tile if level == 0 else (tile >> level) + 3


@njit(cache=True, nogil=True, error_model="numpy", inline="always")
def _is_small(key):
    """Whether a bin is spread by the 3 x 3 kernel instead of row differences."""
    return 30 <= key <= 34 or key == 80


@njit(cache=True, nogil=True, error_model="numpy")
def _spread_all(
    parts,
    start,
    stop,
    slab,
    bases,
    bounds,
    sources,
    levels,
    tile,
    tile_row,
    tile_column,
    optic,
    stretch,
    outline,
    whole,
    moment,
    table,
    cut,
    sums,
):
    """Spread parts start to stop into the buffers of their bins, and widen the bins' bounds."""
    for n in range(start, stop):
        key = int(parts[n, 7])
        d, px, py = parts[n, 4], parts[n, 5], parts[n, 6]
        source, level = (sources[key], levels[key]) if key < 96 else (0, 0)
        size = _buffer_size(level, tile)
        cell = np.float32(1 << level)
        begin = 0 if level == 0 else 1
        x = px / cell - np.float32((tile_column >> level) - begin)
        y = py / cell - np.float32((tile_row >> level) - begin)
        radius = abs(optic[3] * d) / cell
        far = radius * stretch + np.float32(2.0)
        low_x, high_x, low_y, high_y = x - far, x + far, y - far, y + far
        if high_x < 0 or high_y < 0 or low_x > np.float32(size) or low_y > np.float32(size):
            continue
        bounds[key, 0] = min(bounds[key, 0], max(int(low_y), 0))
        bounds[key, 1] = max(bounds[key, 1], min(int(high_y), size))
        bounds[key, 2] = min(bounds[key, 2], max(int(low_x), 0))
        bounds[key, 3] = max(bounds[key, 3], min(int(high_x), size))
        r, g, b, share = parts[n, 0], parts[n, 1], parts[n, 2], parts[n, 3]
        a, bb, c, ox, oy = _ellipse(optic, d, px, py)
        if _is_small(key):
            boost = np.float32(1.0)
            if max(r, max(g, b)) <= boost:
                boost = max(boost, np.float32(1.85) - np.float32(0.57) * radius)
            spread_small(
                slab,
                bases[key],
                size,
                math.floor(x),
                math.floor(y),
                a * moment,
                bb * moment,
                c * moment,
                boost,
                r,
                g,
                b,
                share,
            )
            continue
        shrink = np.float32((1 << (2 * source)) - 1) / (np.float32(3.0) * cell * cell)
        shrink += np.float32(1.0 / 3.0) if level == 0 else np.float32(1.0)
        corners = 0
        if whole.shape[0] > 0:
            corners = cut_outline(optic, d, px, py, whole, shrink / (radius * radius), cut)
        if corners > 0:
            spread_polygon(
                slab,
                bases[key],
                size,
                optic,
                cut,
                corners,
                d,
                px,
                py,
                x,
                y,
                cell,
                np.float32(1.0),
                sums,
                r,
                g,
                b,
                share,
            )
        elif outline.shape[0] == 0:
            per_cell, least = np.float32(1.0) / (cell * cell), np.float32(0.3)
            spread_ellipse(
                slab,
                bases[key],
                size,
                x + ox / cell,
                y + oy / cell,
                max(a * per_cell - shrink, least),
                bb * per_cell,
                max(c * per_cell - shrink, least),
                table,
                r,
                g,
                b,
                share,
            )
        else:
            scale = max(np.float32(1.0) - shrink / (radius * radius * moment), np.float32(0.1))
            spread_polygon(
                slab,
                bases[key],
                size,
                optic,
                outline,
                outline.shape[0],
                d,
                px,
                py,
                x,
                y,
                cell,
                np.float32(math.sqrt(scale)),
                sums,
                r,
                g,
                b,
                share,
            )


@njit(cache=True, nogil=True, error_model="numpy", inline="always")
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


@njit(cache=True, nogil=True, error_model="numpy", inline="always")
def _lay(slab, base, twin, size, bounds, key, i, columns, line):
    """Lay one full-size bin under what row i of the tile shows already.

    line (columns * 4,) f32: r g b and how much of the pixel is covered; twin: where this row of
    the bin's lamps begins, or -1; their light goes where their bin's share goes.
    """
    at = base + i * (size + 2) * 4
    for j in range(bounds[key, 2], min(bounds[key, 3], columns)):
        share = slab[at + 4 * j + 3]
        room = np.float32(1.0) - line[4 * j + 3]
        if share > np.float32(1e-5) and room > 0:
            weight = min(share, room) / share
            _add_from(line, 4 * j, weight, slab, at + 4 * j)
            if twin >= 0:
                _add_from(line, 4 * j, weight, slab, twin + 4 * j)


@njit(cache=True, nogil=True, error_model="numpy", inline="always")
def _lay_coarse(
    slab, base, twin, level, size, bounds, key, i, tile_row, tile_column, columns, line, coarse
):
    """Lay one coarse bin under what row i of the tile shows already, read bilinearly."""
    half, one = np.float32(0.5), np.float32(1.0)
    cell = np.float32(1 << level)
    y = (np.float32(tile_row + i) + half) / cell - np.float32((tile_row >> level) - 1) - half
    i0 = int(y)
    if i0 + 1 >= bounds[key, 0] and i0 < bounds[key, 1]:
        fy = (y - np.float32(i0)) / (cell * cell)
        gy = one / (cell * cell) - fy
        at = base + i0 * (size + 2) * 4
        below = at + (size + 2) * 4
        for k in range(4 * size):
            coarse[k] = gy * slab[at + k] + fy * slab[below + k]
        first = ((bounds[key, 2] + (tile_column >> level) - 2) << level) - tile_column
        last = ((bounds[key, 3] + (tile_column >> level) + 1) << level) - tile_column
        start = (
            (np.float32(tile_column) + half) / cell - np.float32((tile_column >> level) - 1) - half
        )
        step = one / cell
        for j in range(max(first, 0), min(last, columns)):
            x = start + np.float32(j) * step
            j0 = int(x)
            fx = x - np.float32(j0)
            share = (one - fx) * coarse[4 * j0 + 3] + fx * coarse[4 * j0 + 7]
            room = one - line[4 * j + 3]
            if share > np.float32(1e-5) and room > 0:
                weight = min(share, room) / share
                _add_from(line, 4 * j, weight * (one - fx), coarse, 4 * j0)
                _add_from(line, 4 * j, weight * fx, coarse, 4 * j0 + 4)
                if twin >= 0:
                    _add_from(line, 4 * j, weight, slab, twin + 4 * j)


@njit(cache=True, nogil=True, error_model="numpy")
def _finish(
    slab,
    bases,
    bounds,
    levels,
    tile,
    tile_row,
    tile_column,
    picture,
    line,
    coarse,
    out,
    out_row,
    out_column,
    rows,
    columns,
):
    """Lay all bins of a tile together, near to far, then what was hidden; empty the buffers."""
    keys = np.empty(96, np.int64)
    n = 0
    for key in range(160):
        if bounds[key, 1] > 0:
            if key < 96:
                keys[n] = key
                n += 1
            if not _is_small(key):
                level = levels[key] if key < 96 else 0
                _run_up(slab, bases[key], _buffer_size(level, tile), bounds, key)
    for i in range(rows):
        line[:] = np.float32(0.0)
        for k in range(n):
            key = keys[k]
            level = levels[key]
            size = _buffer_size(level, tile)
            twin = -1
            if key < 64 and bounds[key + 96, 0] <= i < bounds[key + 96, 1]:
                twin = bases[key + 96] + i * (tile + 2) * 4
            if level > 0:
                _lay_coarse(
                    slab,
                    bases[key],
                    twin,
                    level,
                    size,
                    bounds,
                    key,
                    i,
                    tile_row,
                    tile_column,
                    columns,
                    line,
                    coarse,
                )
            elif bounds[key, 0] <= i < bounds[key, 1]:
                _lay(slab, bases[key], twin, size, bounds, key, i, columns, line)
        for j in range(columns):
            covered = line[4 * j + 3]
            if covered > np.float32(1e-3):
                scale = np.float32(1.0) / covered
                for q in range(3):
                    out[out_row + i, out_column + j, q] = max(
                        line[4 * j + q] * scale, np.float32(0.0)
                    )
            else:
                for q in range(3):
                    out[out_row + i, out_column + j, q] = picture[tile_row + i, tile_column + j, q]
    for key in range(160):
        size = _buffer_size(levels[key] if key < 96 else 0, tile)
        for i in range(bounds[key, 0], bounds[key, 1]):
            at = bases[key] + i * (size + 2) * 4
            for k in range(at + 4 * bounds[key, 2], at + 4 * bounds[key, 3] + 8):
                slab[k] = np.float32(0.0)


@njit(cache=True, nogil=True, error_model="numpy")
def render_tiles(
    picture,
    defocus,
    iz,
    index,
    record,
    optic,
    sources,
    levels,
    outline,
    whole,
    moment,
    table,
    top,
    left,
    across,
    starts,
    reaches,
    small,
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
    out,
):
    """Make every ``step``-th tile of ``out``, beginning with tile ``first``.

    starts (blocks + 1,) i64: rows of ``fragments`` of each block; reaches (blocks,) f32: their
    largest radius; small (blocks,) u8: holds parts to be spread pixel by pixel; stretch f32: the
    longest a figure reaches per unit of radius; small_reach i64: the farthest a small part reaches.
    slab f32, all 0, and bases (160,) i64: one buffer per bin, this thread's own.
    """
    half = np.float32(0.5)
    h, w = out.shape[0], out.shape[1]
    tiles_across = (w + tile - 1) // tile
    tiles = tiles_across * ((h + tile - 1) // tile)
    height, width = iz.shape
    bounds = np.empty((160, 4), np.int64)
    queue = np.empty((3072, 8), np.float32)
    cut = np.empty((whole.shape[0] + 128, 2), np.float32)
    line, coarse = np.empty(4 * tile, np.float32), np.empty(4 * (tile + 3), np.float32)
    for t in range(first, tiles, step):
        out_row, out_column = tile * (t // tiles_across), tile * (t % tiles_across)
        rows, columns = min(tile, h - out_row), min(tile, w - out_column)
        tile_row, tile_column = frame_top + out_row, frame_left + out_column
        bounds[:, 0], bounds[:, 1], bounds[:, 2], bounds[:, 3] = tile + 3, 0, tile + 3, 0
        for block in range(small.shape[0]):
            row0, column0 = top + 32 * (block // across), left + 32 * (block % across)
            gap = max(
                max(tile_row - row0 - 31, row0 - tile_row - rows + 1),
                max(tile_column - column0 - 31, column0 - tile_column - columns + 1),
            )
            if small[block] and gap <= small_reach:
                i0, i1 = (
                    max(row0, tile_row - small_reach),
                    min(row0 + 32, tile_row + rows + small_reach),
                )
                j0 = max(column0, tile_column - small_reach)
                j1 = min(column0 + 32, tile_column + columns + small_reach)
                n = 0
                for i in range(i0, i1):
                    for j in range(j0, j1):
                        ci, cj = min(max(i, 0), height - 1), min(max(j, 0), width - 1)
                        parts = 1 if index[ci, cj] < 0 else 3
                        for part in range(parts):
                            r, g, b, share, d = _part(
                                picture, defocus, iz, index, record, optic, i, j, part
                            )
                            key = _bin(optic[3] * d, part == 2)
                            if share > 0 and sources[key] == 0:
                                queue[n, 0], queue[n, 1], queue[n, 2] = r, g, b
                                queue[n, 3], queue[n, 4] = share, d
                                queue[n, 5], queue[n, 6] = (
                                    np.float32(j) + half,
                                    np.float32(i) + half,
                                )
                                queue[n, 7] = np.float32(key)
                                n += 1
                _spread_all(
                    queue,
                    0,
                    n,
                    slab,
                    bases,
                    bounds,
                    sources,
                    levels,
                    tile,
                    tile_row,
                    tile_column,
                    optic,
                    stretch,
                    outline,
                    whole,
                    moment,
                    table,
                    cut,
                    sums,
                )
            if np.float32(gap) <= reaches[block] * stretch + np.float32(66.0):
                _spread_all(
                    fragments,
                    starts[block],
                    starts[block + 1],
                    slab,
                    bases,
                    bounds,
                    sources,
                    levels,
                    tile,
                    tile_row,
                    tile_column,
                    optic,
                    stretch,
                    outline,
                    whole,
                    moment,
                    table,
                    cut,
                    sums,
                )
        _finish(
            slab,
            bases,
            bounds,
            levels,
            tile,
            tile_row,
            tile_column,
            picture,
            line,
            coarse,
            out,
            out_row,
            out_column,
            rows,
            columns,
        )
