"""The part of the iris that a rim leaves open."""

import math

import numpy as np

from render.compiled import loop, step
from render.engine.kernels.optics import rim_circle
from render.engine.kernels.tables import PASSING

__all__ = ["cut_outline", "eye_at", "what_passes"]


@step()
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


@step()
def cut_outline(optic, d, px, py, whole, shrink, cut):
    """Write the part of the iris inside the rim to ``cut``; returns its corners and its area.

    No corners if it is uncut.

    It is drawn smaller about its centre by the second moment ``shrink``/4 (in iris radii, squared).
    The rim is never let farther than 0.6 radii beyond its own, so something always passes.
    """
    x, y, radius = rim_circle(optic, d, px, py)
    off = np.float32(math.sqrt(x * x + y * y))
    if off + np.float32(1.0) <= radius:
        return 0, np.float32(0.0)
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
        return 0, np.float32(0.0)
    gap = abs(cut[n - 1, 0] - cut[0, 0]) + abs(cut[n - 1, 1] - cut[0, 1])
    n = n - 1 if gap < np.float32(1e-6) else _round(cut, n, x, y, radius, cut[0, 0], cut[0, 1])
    return _drawn_smaller(cut, n, shrink)


@step()
def _drawn_smaller(cut, n, shrink):
    """Draw an outline smaller about its centre; returns its corners and the area it had.

    No corners if it has no area.
    """
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
        return 0, np.float32(0.0)
    sx, sy = sx / area, sy / area
    second = (second / area - sx * sx - sy * sy) / 2
    scale = math.sqrt(max(1.0 - shrink / (4 * second), 0.1))
    for q in range(n):
        cut[q, 0] = np.float32(sx + scale * (cut[q, 0] - sx))
        cut[q, 1] = np.float32(sy + scale * (cut[q, 1] - sy))
    return n, np.float32(area)


@loop()
def what_passes(optic, whole, area, cut, eyes):
    """Write what the rim leaves open to places of the sensor, every PASSING px, to ``eyes``.

    eyes (rows, columns, EYE) f32: its share of the iris, its centre and its second moments about
    it along u1 and u2, in iris radii. A place's cone of light is that of the point that is sharp
    there: defocus 0. The share counts the figure's unevenness, as `spread_polygon` draws it.
    """
    zero = np.float32(0.0)
    for i in range(eyes.shape[0]):
        for j in range(eyes.shape[1]):
            x, y = np.float32(j * PASSING), np.float32(i * PASSING)
            corners, _left = cut_outline(optic, zero, x, y, whole, zero, cut)
            outline = cut if corners > 0 else whole
            _moments(outline, corners if corners > 0 else whole.shape[0], eyes[i, j])
            uneven = 1.0 - 3.0 * optic.keystone * eyes[i, j, 2]
            eyes[i, j, 0] = eyes[i, j, 0] / area * uneven if corners > 0 else 1.0


@step()
def _moments(outline, n, out):
    """Write an outline's area, centre and second moments about it."""
    area, sx, sy, xx, xy, yy = 0.0, 0.0, 0.0, 0.0, 0.0, 0.0
    for q in range(n):
        p = n - 1 if q == 0 else q - 1
        ax, ay = float(outline[p, 0]), float(outline[p, 1])
        bx, by = float(outline[q, 0]), float(outline[q, 1])
        cross = ax * by - bx * ay
        area += cross / 2
        sx += cross * (ax + bx) / 6
        sy += cross * (ay + by) / 6
        xx += cross * (ax * ax + ax * bx + bx * bx) / 12
        yy += cross * (ay * ay + ay * by + by * by) / 12
        xy += cross * (ax * by + 2 * ax * ay + 2 * bx * by + bx * ay) / 24
    sx, sy = sx / area, sy / area
    out[0], out[1], out[2] = area, sx, sy
    out[3], out[4], out[5] = xx / area - sx * sx, xy / area - sx * sy, yy / area - sy * sy


@step()
def eye_at(eyes, x, y, column):
    """One column of `what_passes` at (x, y) px of the picture, read bilinearly."""
    one = np.float32(1.0)
    u = min(max(x / np.float32(PASSING), np.float32(0.0)), np.float32(eyes.shape[1] - 1))
    v = min(max(y / np.float32(PASSING), np.float32(0.0)), np.float32(eyes.shape[0] - 1))
    j, i = min(int(u), eyes.shape[1] - 2), min(int(v), eyes.shape[0] - 2)
    u, v = u - np.float32(j), v - np.float32(i)
    above = eyes[i, j, column] * (one - u) + eyes[i, j + 1, column] * u
    below = eyes[i + 1, j, column] * (one - u) + eyes[i + 1, j + 1, column] * u
    return above * (one - v) + below * v
