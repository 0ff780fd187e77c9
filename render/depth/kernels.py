"""Compiled inner loops of depth work: plain arrays in, plain arrays out, no checks.

Every pixel gathers, so rows are independent and the answer does not hang on threads.
"""

import math

import numpy as np
from numba import prange

from render.compiled import loop, step

__all__ = ["enlarge_by_colour", "fill_by_colour", "mark_steps", "snap_steps"]


#: A hole beside a step lies on its far side, which the near one hides, unless its colours say so
#: many times over.
_FAR_FIRST = 10.0


@step()
def _likeness(light, y, x, red, green, blue, softness):  # type: ignore[no-untyped-def]
    """``1 / (1 + (d / softness)^2)^2`` for a colour distance d in roots of light."""
    r = math.sqrt(min(max(light[y, x, 0], 0.0), 1.0)) - red
    g = math.sqrt(min(max(light[y, x, 1], 0.0), 1.0)) - green
    b = math.sqrt(min(max(light[y, x, 2], 0.0), 1.0)) - blue
    fall = 1.0 + (r * r + g * g + b * b) / (softness * softness)
    return 1.0 / (fall * fall)


@loop(parallel=True)
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


@step()
def _spline(offset, out):  # type: ignore[no-untyped-def]
    """Quadratic B-spline weights of the cells before, at and after the nearest one."""
    out[0] = 0.5 * (0.5 - offset) ** 2
    out[1] = 0.75 - offset * offset
    out[2] = 0.5 * (0.5 + offset) ** 2


@loop(parallel=True)
def fill_by_colour(values, holes, light, reach, step, softness, out):  # type: ignore[no-untyped-def]
    """Fill holes from the known values met in 16 directions, the alike and near ones first.

    Where the values met part in two (an edge runs through the hole), the far part wins unless
    the near one has much more weight, and the other is left out: nothing hangs between them.
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


@step()
def _winner(met, weight, count):  # type: ignore[no-untyped-def]
    """Weighted mean of one part of some values, parted half way between the extremes.

    The far part, unless the near one is `_FAR_FIRST` times as heavy.
    """
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
    if _FAR_FIRST * low_weight >= high_weight:
        return low / low_weight
    return high / high_weight


@loop(parallel=True)
def mark_steps(inverse, least, share, out):  # type: ignore[no-untyped-def]
    """Mark pixels whose 5 x 5 neighbourhood holds a step in inverse depth.

    A step is more than `least` and more than `share` of the nearer side.
    inverse (H, W) f32, nan not known; out (H, W) bool.
    """
    height, width = inverse.shape
    for y in prange(height):
        low = np.empty(width, np.float32)
        high = np.empty(width, np.float32)
        for x in range(width):
            low[x] = np.inf
            high[x] = -np.inf
        for j in range(max(y - 2, 0), min(y + 3, height)):
            for x in range(width):
                value = inverse[j, x]
                low[x] = min(low[x], value) if value == value else low[x]
                high[x] = max(high[x], value) if value == value else high[x]
        for x in range(width):
            least_here = low[x]
            most_here = high[x]
            for i in range(max(x - 2, 0), min(x + 3, width)):
                least_here = min(least_here, low[i])
                most_here = max(most_here, high[i])
            step = most_here - least_here
            out[y, x] = step > least and step > share * most_here


@loop(parallel=True)
def snap_steps(inverse, steps, light, reach, softness, out):  # type: ignore[no-untyped-def]
    """Give each pixel at a step to the side whose colours it has.

    The sides are the nearest and farthest quarter of what the window holds. A pixel between
    them is given to one; a pixel of one side is moved only if the other is
    1.8 times as alike. A ramp, such as ground towards the horizon, is no step.
    inverse (H, W) f32; steps (H, W) bool; light (H, W, 3) f32; reach: half the window, px;
    out (H, W) f32: inverse outside steps, nan kept.
    """
    height, width = inverse.shape
    for y in prange(height):
        for x in range(width):
            here = inverse[y, x]
            out[y, x] = here
            if not steps[y, x] or here != here:
                continue
            least = here
            most = here
            for j in range(max(y - reach, 0), min(y + reach + 1, height)):
                for i in range(max(x - reach, 0), min(x + reach + 1, width)):
                    value = inverse[j, i]
                    if value == value:
                        least = min(least, value)
                        most = max(most, value)
            if _steepest(inverse, y, x, reach // 2) < 0.27 * (most - least):
                continue  # a ramp, not a step
            far_end = least + 0.25 * (most - least)
            near_end = most - 0.25 * (most - least)
            red = math.sqrt(min(max(light[y, x, 0], 0.0), 1.0))
            green = math.sqrt(min(max(light[y, x, 1], 0.0), 1.0))
            blue = math.sqrt(min(max(light[y, x, 2], 0.0), 1.0))
            far_sum, far_weight, far_count = 0.0, 1e-12, 1e-12
            near_sum, near_weight, near_count = 0.0, 1e-12, 1e-12
            for j in range(max(y - reach, 0), min(y + reach + 1, height)):
                for i in range(max(x - reach, 0), min(x + reach + 1, width)):
                    value = inverse[j, i]
                    if value != value or (far_end < value < near_end) or (i == x and j == y):
                        continue
                    alike = _likeness(light, j, i, red, green, blue, softness)
                    if value <= far_end:
                        far_sum += alike * value
                        far_weight += alike
                        far_count += 1.0
                    else:
                        near_sum += alike * value
                        near_weight += alike
                        near_count += 1.0
            far_alike = far_weight / far_count
            near_alike = near_weight / near_count
            if here <= far_end:
                if near_alike > 1.8 * far_alike:
                    out[y, x] = near_sum / near_weight
            elif here >= near_end:
                if far_alike > 1.8 * near_alike:
                    out[y, x] = far_sum / far_weight
            elif near_alike >= far_alike:
                out[y, x] = near_sum / near_weight
            else:
                out[y, x] = far_sum / far_weight


@step()
def _steepest(inverse, y, x, reach):  # type: ignore[no-untyped-def]
    """Greatest difference between neighbours in a window."""
    height, width = inverse.shape
    most = np.float32(0)
    for j in range(max(y - reach, 0), min(y + reach + 1, height)):
        for i in range(max(x - reach, 0), min(x + reach + 1, width)):
            if i + 1 < width:
                across = abs(inverse[j, i + 1] - inverse[j, i])
                most = max(most, across) if across == across else most
            if j + 1 < height:
                down = abs(inverse[j + 1, i] - inverse[j, i])
                most = max(most, down) if down == down else most
    return most
