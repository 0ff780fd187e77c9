"""One part spread over its figure: a small kernel, an ellipse or a polygon as row differences."""

import math

import numpy as np

from render.compiled import step
from render.engine.kernels.vectors import add, add_both, add_from

__all__ = ["spread_ellipse", "spread_polygon", "spread_small", "thrown"]


@step()
def _held(offset, s):
    """An offset that a kernel of three with the second moment ``s`` holds without taps below 0."""
    room = np.float32(1.0) - np.float32(4.0) * s
    most = np.float32(0.5)
    if room > 0:
        most -= np.float32(0.5) * np.float32(math.sqrt(room))
    return min(max(offset, -most), most)


@step()
def spread_small(slab, base, size, j, i, a, b, c, ox, oy, boost, r, g, bl, share):
    """Spread a pixel by a 3 x 3 kernel with the figure's second moments (times ``boost``).

    ox, oy: where its centre lies, px; as far as the kernel holds that.
    """
    half, one = np.float32(0.5), np.float32(1.0)
    sx, sy = boost * a * np.float32(0.25), boost * c * np.float32(0.25)
    corner = boost * b * np.float32(0.0625)
    ox, oy = _held(ox, sx), _held(oy, sy)
    sx, sy = sx + ox * ox, sy + oy * oy
    for di in range(-1, 2):
        y = i + di
        if y < 0 or y >= size:
            continue
        wy = one - sy if di == 0 else half * (sy + np.float32(di) * oy)
        for dj in range(-1, 2):
            x = j + dj
            if x < 0 or x >= size:
                continue
            wx = one - sx if dj == 0 else half * (sx + np.float32(dj) * ox)
            weight = wy * wx + corner * np.float32(di * dj)
            add(slab, base + (y * (size + 2) + x) * 4, weight, r, g, bl, share)


@step(forceinline=True)
def _add_ends(slab, at, weight, rest, colours, first, count):
    """Add `count` neighbours' colours at one end of their spans, parted between two cells."""
    add_from(slab, at, weight, colours, first)
    for k in range(1, count):
        here = first + 8 * k
        add_both(slab, at + 4 * k, weight, here, rest, here - 8, colours)
    add_from(slab, at + 4 * count, rest, colours, first + 8 * (count - 1))


@step()
def spread_ellipse(slab, base, size, x, y, a, b, c, table, colours, start, count):
    """Spread a colour evenly over an ellipse, as differences along each row, in cells.

    colours f32: rows of 8, r g b share first. `count` rows from `start` on belong to neighbours,
    each a cell further right, of the same figure; several must lie wholly inside.
    """
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
        _add_ends(slab, at + n0 * 4, weight - part0, part0, colours, start, count)
        _add_ends(slab, at + n1 * 4, part1 - weight, -part1, colours, start, count)
        top, f0 = bottom, f1
        at += (size + 2) * 4


@step(forceinline=True)
def thrown(optic, d, px, py, cell):
    """How the lens plane is thrown on the picture, in cells: along u1, along u2, keystone."""
    qx, qy = (px - optic.centre_x) * optic.slope, (py - optic.centre_y) * optic.slope
    s = -optic.radius * d / cell
    k = optic.keystone * (np.float32(1.0) - d)
    m1x = s * (optic.tilt_x * optic.axis_z + qx * optic.sine)
    m1y = s * (optic.tilt_y * optic.axis_z + qy * optic.sine)
    return s * optic.tilt_y, -s * optic.tilt_x, m1x, m1y, k


@step(forceinline=True)
def _sum_sides(cast, outline, n, x, y, size, scale, sums):
    """Left, right and height of the thrown outline in each row; returns rows and area."""
    m0x, m0y, m1x, m1y, k = cast
    low, high = np.float32(1e9), np.float32(-1e9)
    for q in range(n):
        by = np.float32(1.0) / (np.float32(1.0) - k * outline[q, 1])
        t = y + scale * (m0y * outline[q, 0] + m1y * outline[q, 1]) * by
        low, high = min(low, t), max(high, t)
    first, last = max(math.floor(low), 0), min(math.ceil(high), size)
    area = np.float32(0.0)
    if first >= last:
        return first, last, area
    for i in range(first, last):
        sums[i, 0] = np.float32(0.0)
        sums[i, 1] = np.float32(0.0)
        sums[i, 2] = np.float32(0.0)
    by = np.float32(1.0) / (np.float32(1.0) - k * outline[n - 1, 1])
    x0 = x + scale * (m0x * outline[n - 1, 0] + m1x * outline[n - 1, 1]) * by
    y0 = y + scale * (m0y * outline[n - 1, 0] + m1y * outline[n - 1, 1]) * by
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
    return first, last, area


@step(forceinline=True)
def spread_polygon(
    slab, base, size, optic, outline, n, d, px, py, x, y, cell, scale, passed, sums, colours, start,
    count,
):  # fmt: skip
    """Spread a colour evenly over the iris outline thrown on the picture, as row differences.

    n: how many corners of ``outline`` count; px, py: the place in the picture, px;
    x, y: the same in cells of ``cell`` px;
    scale: how much smaller to draw it; passed: share of the light that it is; sums (rows + 2, 3)
    f32: left, right and height per row;
    colours, start, count: as for `spread_ellipse`.
    """
    cast = thrown(optic, d, px, py, cell)
    first, last, area = _sum_sides(cast, outline, n, x, y, size, scale, sums)
    if area <= np.float32(1e-6):
        return
    density = passed / area
    m0x, m0y, m1x, m1y, k = cast
    slant = np.float32(3.0) * k / (m0x * m1y - m0y * m1x)
    lean_x, lean_y = slant * m0y, -slant * m0x
    flat = np.float32(1.0)
    zero, right = np.float32(0.0), np.float32(size)
    for i in range(first, last):
        tall = sums[i, 2]
        if tall <= np.float32(1e-6):
            continue
        x0 = min(max(sums[i, 0] / tall, zero), right)
        x1 = min(max(sums[i, 1] / tall, zero), right)
        uneven = flat + lean_x * (np.float32(0.5) * (x0 + x1) - x)
        uneven += lean_y * (np.float32(i) + np.float32(0.5) - y)
        weight = tall * density * uneven
        # along a row it is uneven by halves, which puts its centre where a slope would
        step_up = tall * density * lean_x * (x1 - x0) / np.float32(3.0)
        if abs(step_up) <= np.float32(1e-3) * weight:
            step_up = zero
        n0, n1 = int(x0), int(x1)
        left, rest = weight - step_up, weight + step_up
        part0, part1 = left * (x0 - np.float32(n0)), rest * (x1 - np.float32(n1))
        at = base + i * (size + 2) * 4
        _add_ends(slab, at + n0 * 4, left - part0, part0, colours, start, count)
        _add_ends(slab, at + n1 * 4, part1 - rest, -part1, colours, start, count)
        if step_up != zero:
            middle = np.float32(0.5) * (x0 + x1)
            n2, more = int(middle), np.float32(2.0) * step_up
            part2 = more * (middle - np.float32(n2))
            _add_ends(slab, at + n2 * 4, more - part2, part2, colours, start, count)
