"""Compiled inner loops of depth work: plain arrays in, plain arrays out, no checks.

Every pixel gathers, so rows are independent and the answer does not hang on threads.
"""

import math

import numpy as np
from numba import njit, prange

__all__ = ["enlarge_by_colour", "fill_by_colour"]


@njit(cache=True)
def _likeness(light, y, x, red, green, blue, softness):  # type: ignore[no-untyped-def]
    """``1 / (1 + (d / softness)^2)^2`` for a colour distance d in roots of light."""
    r = math.sqrt(min(max(light[y, x, 0], 0.0), 1.0)) - red
    g = math.sqrt(min(max(light[y, x, 1], 0.0), 1.0)) - green
    b = math.sqrt(min(max(light[y, x, 2], 0.0), 1.0)) - blue
    fall = 1.0 + (r * r + g * g + b * b) / (softness * softness)
    return 1.0 / (fall * fall)


@njit(cache=True, parallel=True, fastmath=False)
def enlarge_by_colour(small, small_light, light, softness, out):  # type: ignore[no-untyped-def]
    """Values of a coarse grid on a picture's grid, each pixel from cells of its own colour.

    Joint bilateral upsampling (J. Kopf et al., 2007) over 3 x 3 cells with a quadratic B-spline.
    small (h, w) f32, not nan; small_light (h, w, 3) f32 and light (H, W, 3) f32 linear;
    softness: colour distance in roots of light; out (H, W) f32.
    """
    height, width = out.shape
    rows, columns = small.shape
    for y in prange(height):
        across = np.empty(3)
        down = np.empty(3)
        place_y = (y + 0.5) * rows / height - 0.5
        middle_y = math.floor(place_y + 0.5)
        _spline(place_y - middle_y, down)
        for x in range(width):
            place_x = (x + 0.5) * columns / width - 0.5
            middle_x = math.floor(place_x + 0.5)
            _spline(place_x - middle_x, across)
            red = math.sqrt(min(max(light[y, x, 0], 0.0), 1.0))
            green = math.sqrt(min(max(light[y, x, 1], 0.0), 1.0))
            blue = math.sqrt(min(max(light[y, x, 2], 0.0), 1.0))
            total = 0.0
            weight = 0.0
            for j in range(3):
                row = min(max(middle_y + j - 1, 0), rows - 1)
                for i in range(3):
                    column = min(max(middle_x + i - 1, 0), columns - 1)
                    alike = _likeness(small_light, row, column, red, green, blue, softness)
                    share = down[j] * across[i] * (alike + 1e-4)
                    total += share * small[row, column]
                    weight += share
            out[y, x] = total / weight


@njit(cache=True)
def _spline(offset, out):  # type: ignore[no-untyped-def]
    """Quadratic B-spline weights of the cells before, at and after the nearest one."""
    out[0] = 0.5 * (0.5 - offset) ** 2
    out[1] = 0.75 - offset * offset
    out[2] = 0.5 * (0.5 + offset) ** 2


@njit(cache=True, parallel=True, fastmath=False)
def fill_by_colour(values, holes, light, reach, step, softness, out):  # type: ignore[no-untyped-def]
    """Fill holes from the known values met in 16 directions, the alike and near ones first.

    Where the values met part in two (an edge runs through the hole), the part with more weight
    wins and the other is left out, so that nothing hangs between near and far.
    values (H, W) f32; holes (H, W) bool; light (H, W, 3) f32 linear; reach, step: how far to
    look and the stride, px; out (H, W) f32, nan where nothing was met.
    """
    height, width = values.shape
    for y in prange(height):
        met = np.empty(16)
        weight = np.empty(16)
        for x in range(width):
            if not holes[y, x]:
                out[y, x] = values[y, x]
                continue
            red = math.sqrt(min(max(light[y, x, 0], 0.0), 1.0))
            green = math.sqrt(min(max(light[y, x, 1], 0.0), 1.0))
            blue = math.sqrt(min(max(light[y, x, 2], 0.0), 1.0))
            count = 0
            for k in range(16):
                along_x = math.cos(k * math.pi / 8)
                along_y = math.sin(k * math.pi / 8)
                far = 1.0
                while far <= reach:
                    i = x + round(far * along_x)
                    j = y + round(far * along_y)
                    if i < 0 or j < 0 or i >= width or j >= height:
                        break
                    if not holes[j, i]:
                        alike = _likeness(light, j, i, red, green, blue, softness)
                        met[count] = values[j, i]
                        weight[count] = (alike + 1e-3) / far
                        count += 1
                        break
                    far += step
            out[y, x] = _winner(met, weight, count)


@njit(cache=True)
def _winner(met, weight, count):  # type: ignore[no-untyped-def]
    """Weighted mean of the heavier part of some values, parted half way between the extremes."""
    if count == 0:
        return np.nan
    least = met[0]
    most = met[0]
    for k in range(1, count):
        least = min(least, met[k])
        most = max(most, met[k])
    middle = 0.5 * (least + most)
    low = 0.0
    low_weight = 0.0
    high = 0.0
    high_weight = 0.0
    for k in range(count):
        if met[k] <= middle:
            low += weight[k] * met[k]
            low_weight += weight[k]
        else:
            high += weight[k] * met[k]
            high_weight += weight[k]
    if most - least <= 0.05 * most:
        return (low + high) / (low_weight + high_weight)
    if low_weight >= high_weight:
        return low / low_weight
    return high / high_weight
