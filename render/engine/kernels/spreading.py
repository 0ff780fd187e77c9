"""Parts spread into the buffers of their bins, each as the figure it needs."""

import math

import numpy as np

from render.compiled import step
from render.engine.kernels.bins import buffer_side, is_small
from render.engine.kernels.figures import spread_ellipse, spread_polygon, spread_small, thrown
from render.engine.kernels.optics import ellipse
from render.engine.kernels.rim import cut_outline, eye_at
from render.engine.kernels.tables import BIN, BLUE, DEFOCUS, GREEN, LAMPS, RED, SHARE, X, Y

__all__ = ["spread_parts"]


@step(forceinline=True)
def _follows(parts, n, m, key):
    """Whether part m lies as far right of part n in its row as in the list, within 0.3 % as big."""
    return (
        parts[m, Y] == parts[n, Y]
        and parts[m, X] == parts[n, X] + np.float32(m - n)
        and int(parts[m, BIN]) == key
        and abs(parts[m, DEFOCUS] - parts[n, DEFOCUS]) < np.float32(0.003) * abs(parts[n, DEFOCUS])
    )


@step(forceinline=True)
def _widen(bounds, key, low_x, high_x, low_y, high_y, size):
    """Let a bin's bounds hold a figure."""
    bounds[key, 0] = min(bounds[key, 0], max(int(low_y), 0))
    bounds[key, 1] = max(bounds[key, 1], min(int(high_y), size))
    bounds[key, 2] = min(bounds[key, 2], max(int(low_x), 0))
    bounds[key, 3] = max(bounds[key, 3], min(int(high_x), size))


@step()
def _eye_moments(optic, d, px, py, eyes):
    """Four times the second moments of what a rim leaves of a small figure, and its offset, px."""
    m0x, m0y, m1x, m1y, _k = thrown(optic, d, px, py, np.float32(1.0))
    u, v = eye_at(eyes, px, py, 1), eye_at(eyes, px, py, 2)
    uu, uv, vv = eye_at(eyes, px, py, 3), eye_at(eyes, px, py, 4), eye_at(eyes, px, py, 5)
    two, four = np.float32(2.0), np.float32(4.0)
    xx = four * (uu * m0x * m0x + two * uv * m0x * m1x + vv * m1x * m1x)
    xy = four * (uu * m0x * m0y + uv * (m0x * m1y + m1x * m0y) + vv * m1x * m1y)
    yy = four * (uu * m0y * m0y + two * uv * m0y * m1y + vv * m1y * m1y)
    return xx, xy, yy, u * m0x + v * m1x, u * m0y + v * m1y


@step(forceinline=True)
def _spread_nearly_sharp(parts, n, slab, base, size, x, y, optic, d, px, py, radius, figure):
    """Spread a part of a small bin by the 3 x 3 kernel; a rim takes of it what it takes there."""
    one = np.float32(1.0)
    r, g, b, share = parts[n, RED], parts[n, GREEN], parts[n, BLUE], parts[n, SHARE]
    ox, oy, is_lamp = np.float32(0.0), np.float32(0.0), max(r, max(g, b)) > one
    if figure.eyes.shape[0] > 0:
        passed = eye_at(figure.eyes, px, py, 0)
        r, g, b, share = r * passed, g * passed, b * passed, share * passed
        xx, xy, yy, ox, oy = _eye_moments(optic, d, px, py, figure.eyes)
        radius = np.float32(math.sqrt(np.float32(0.5) * (xx + yy)))
    else:
        moment = figure.moment
        xx, xy, yy, _ox, _oy = ellipse(optic, d, px, py)
        xx, xy, yy = xx * moment, xy * moment, yy * moment
    boost = one
    if not is_lamp:
        boost = max(one, np.float32(1.85) - np.float32(0.57) * radius)
    j, i = math.floor(x), math.floor(y)
    spread_small(slab, base, size, j, i, xx, xy, yy, ox, oy, boost, r, g, b, share)


@step(forceinline=True)
def _spread_figure(
    slab, base, size, x, y, optic, d, px, py, radius, cell, shrink, figure, cut, sums, colours,
    first, count,
):  # fmt: skip
    """Spread parts over their ellipse, over the thrown iris, or over what a rim leaves of it.

    shrink: how much smaller, for the cells that they were gathered in and are drawn with.
    """
    corners, left = 0, np.float32(0.0)
    if figure.whole.shape[0] > 0:
        smaller = shrink / (radius * radius)
        corners, left = cut_outline(optic, d, px, py, figure.whole, smaller, cut)
    if corners == 0 and figure.outline.shape[0] == 0:
        a, b, c, ox, oy = ellipse(optic, d, px, py)
        per_cell, least = np.float32(1.0) / (cell * cell), np.float32(0.3)
        a, b, c = max(a * per_cell - shrink, least), b * per_cell, max(c * per_cell - shrink, least)
        x, y = x + ox / cell, y + oy / cell
        spread_ellipse(slab, base, size, x, y, a, b, c, figure.table, colours, first, count)
        return
    scale, outline, passed = np.float32(1.0), cut, left / figure.area
    if corners == 0:
        outline, corners, passed = figure.outline, figure.outline.shape[0], np.float32(1.0)
        least = np.float32(0.1)
        smaller = max(np.float32(1.0) - shrink / (radius * radius * figure.moment), least)
        scale = np.float32(math.sqrt(smaller))
    spread_polygon(
        slab, base, size, optic, outline, corners, d, px, py, x, y, cell, scale, passed, sums,
        colours, first, count,
    )  # fmt: skip


@step()
def spread_parts(parts, start, stop, buffers, bounds, bins, tile, optic, figure, own):
    """Spread parts start to stop into the buffers of their bins, and widen the bins' bounds.

    Of pixels (``own``) that follow each other in a row up to 8 of one figure are drawn at once.
    """
    slab, bases, cut, sums = buffers
    sources, levels = bins
    colours = parts.reshape(-1)
    third = np.float32(1.0 / 3.0)
    following = start
    while following < stop:
        n = following
        following = n + 1
        key = int(parts[n, BIN])
        d, px, py = parts[n, DEFOCUS], parts[n, X], parts[n, Y]
        source, level = (sources[key], levels[key]) if key < LAMPS else (0, 0)
        size = buffer_side(level, tile.side)
        cell = np.float32(1 << level)
        begin = 0 if level == 0 else 1
        x = px / cell - np.float32((tile.column >> level) - begin)
        y = py / cell - np.float32((tile.row >> level) - begin)
        radius = abs(optic.radius * d) / cell
        far = radius * figure.stretch + np.float32(2.0)
        low_x, high_x, low_y, high_y = x - far, x + far, y - far, y + far
        if own and level == 0 and low_x >= 0 and not is_small(key):
            most = min(min(stop, n + 8), n + int(np.float32(size) - high_x))
            while following < most and _follows(parts, n, following, key):
                following += 1
            high_x += np.float32(following - n - 1)
            d = np.float32(0.5) * (d + parts[following - 1, DEFOCUS])
            px = np.float32(0.5) * (px + parts[following - 1, X])
        if high_x < 0 or high_y < 0 or low_x > np.float32(size) or low_y > np.float32(size):
            continue
        _widen(bounds, key, low_x, high_x, low_y, high_y, size)
        base = bases[key]
        if is_small(key):
            _spread_nearly_sharp(parts, n, slab, base, size, x, y, optic, d, px, py, radius, figure)
            continue
        shrink = np.float32((1 << (2 * source)) - 1) / (np.float32(3.0) * cell * cell)
        shrink += third if level == 0 else np.float32(1.0)
        _spread_figure(
            slab, base, size, x, y, optic, d, px, py, radius, cell, shrink, figure, cut, sums,
            colours, 8 * n, following - n,
        )  # fmt: skip
