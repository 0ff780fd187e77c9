"""The compiled ray march over a height field: plain arrays in, plain arrays out."""

import numpy as np
from numba import njit, prange

__all__ = ["march"]


@njit(cache=True)
def _height(heights, u, v):  # type: ignore[no-untyped-def]
    """Height between four cells; nan outside or where one of them is not known."""
    rows, columns = heights.shape
    if u < 0 or v < 0 or u >= columns - 1 or v >= rows - 1:
        return np.nan
    i = int(u)
    j = int(v)
    a = u - i
    b = v - j
    low = heights[j, i] * (1 - a) + heights[j, i + 1] * a
    high = heights[j + 1, i] * (1 - a) + heights[j + 1, i + 1] * a
    return low * (1 - b) + high * b


@njit(cache=True, parallel=True, fastmath=False)
def march(heights, highest, eye, turn, slopes_x, slopes_y, farthest, out):  # type: ignore[no-untyped-def]
    """Depth z of the first crossing of each ray with a height field, in cells; inf where none.

    heights (R, C) f32 in cells, nan not known, none above `highest`; eye (3,) f64 column, row,
    height in cells; turn (3, 3) f64: columns are the camera's x, y, z in (column, row, height);
    slopes (W,), (H,) f64; farthest: in cells; out (H, W) f32.
    """
    height, width = out.shape
    for y in prange(height):
        for x in range(width):
            du = turn[0, 0] * slopes_x[x] + turn[0, 1] * slopes_y[y] + turn[0, 2]
            dv = turn[1, 0] * slopes_x[x] + turn[1, 1] * slopes_y[y] + turn[1, 2]
            dw = turn[2, 0] * slopes_x[x] + turn[2, 1] * slopes_y[y] + turn[2, 2]
            before = 0.0
            if eye[2] > highest and dw < 0:  # nothing can be met before
                before = (eye[2] - highest) / -dw
            along = before + 0.25
            hit = False
            while along < farthest:
                if eye[2] + dw * along > highest and dw >= 0:
                    break
                ground = _height(heights, eye[0] + du * along, eye[1] + dv * along)
                if eye[2] + dw * along < ground:  # nan is never crossed
                    hit = True
                    break
                before = along
                along += 0.7 * (1.0 + 0.002 * along)
            out[y, x] = np.inf
            if hit:
                for _ in range(20):
                    middle = 0.5 * (before + along)
                    ground = _height(heights, eye[0] + du * middle, eye[1] + dv * middle)
                    if eye[2] + dw * middle < ground:
                        along = middle
                    else:
                        before = middle
                out[y, x] = along
