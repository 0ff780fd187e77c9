"""Compiled loops between a clip's planes of code values and linear light.

Luma and colour difference after ITU-T H.273, equations 20 to 37, by the weights Kr and Kb;
colour difference is sampled at every pixel, at every second column, or at every second column
and row. Where it is thinned, it lies on the even columns (or, for `middle`, between two) and
between two rows, and is spread by straight interpolation.
"""

import numpy as np
from numpy.typing import NDArray

from render.compiled import loop, step
from render.scene.colour import Curve

__all__ = ["CODED_LOW", "CODED_STEP", "decode_table", "encode_table", "from_light", "to_light"]

#: R'G'B' from here on, in these steps, have an entry in the table of light.
CODED_LOW, CODED_STEP, CODED_COUNT = -0.125, 1.0 / 16384, 24577
#: Light between these powers of 2 has entries, 4096 to the octave, in the table of codes.
_OCTAVE_LOW, _OCTAVE_HIGH, _SHIFT = -26, 3, 11


def decode_table(curve: Curve) -> NDArray[np.float32]:
    """Light of R'G'B' from -0.125 to 1.375, never below 0."""
    coded = CODED_LOW + CODED_STEP * np.arange(CODED_COUNT)
    return np.maximum(curve.decode(coded), 0.0).astype(np.float32)


def encode_table(curve: Curve) -> tuple[NDArray[np.float32], int]:
    """R'G'B' by the leading bits of light's float, and the bits of the first entry."""
    first = int(np.float32(2.0**_OCTAVE_LOW).view(np.uint32)) >> _SHIFT
    last = int(np.float32(2.0**_OCTAVE_HIGH).view(np.uint32)) >> _SHIFT
    middle = np.uint32(1 << (_SHIFT - 1))
    bits = (np.arange(first, last, dtype=np.uint32) << np.uint32(_SHIFT)) + middle
    coded = curve.encode(bits.view(np.float32).astype(float))
    coded[0] = 0.0
    return coded.astype(np.float32), first


@step()
def _colour_row(c, i, down, across, middle, width, out):
    """Colour difference of row i at every column, still as codes."""
    rows = c.shape[0]
    columns = c.shape[1]
    k = i // down
    other = k
    if down == 2:
        other = min(max(k - 1 if i % 2 == 0 else k + 1, 0), rows - 1)
    near, far = np.float32(0.75), np.float32(0.25)
    if across == 1:
        for j in range(width):
            out[j] = near * c[k, j] + far * c[other, j]
        return
    for j in range(width):
        q = min(j // 2, columns - 1)
        here = near * c[k, q] + far * c[other, q]
        if middle:
            p = min(max(q - 1 if j % 2 == 0 else q + 1, 0), columns - 1)
            there = near * c[k, p] + far * c[other, p]
            out[j] = near * here + far * there
        elif j % 2 == 0:
            out[j] = here
        else:
            p = min(q + 1, columns - 1)
            there = near * c[k, p] + far * c[other, p]
            out[j] = np.float32(0.5) * (here + there)


@loop()
def to_light(y, cb, cr, down, across, middle, numbers, table, out):
    """Fill out (H, W, 3) f32 with linear light.

    y (H, W), cb and cr (h, w): codes, u8 or u16; down, across: 1 or 2 rows and columns that share
    a colour difference. numbers (8,) f32: luma's zero and gain, colour difference's zero and gain,
    and what a unit of Cr adds to red, of Cb and of Cr to green, of Cb to blue. table: light by
    R'G'B' (`decode_table`).
    """
    height, width = y.shape
    u, v = np.empty(width, np.float32), np.empty(width, np.float32)
    zero, gain, c_zero, c_gain = numbers[0], numbers[1], numbers[2], numbers[3]
    red, green_b, green_r, blue = numbers[4], numbers[5], numbers[6], numbers[7]
    low, scale = np.float32(0.125), np.float32(16384.0)
    half, top = np.float32(0.5), np.float32(table.shape[0] - 1)
    for i in range(height):
        _colour_row(cb, i, down, across, middle, width, u)
        _colour_row(cr, i, down, across, middle, width, v)
        for j in range(width):
            luma = (np.float32(y[i, j]) - zero) * gain + low
            b, r = (u[j] - c_zero) * c_gain, (v[j] - c_zero) * c_gain
            at = min(max((luma + red * r) * scale + half, np.float32(0.0)), top)
            out[i, j, 0] = table[int(at)]
            at = min(max((luma + green_b * b + green_r * r) * scale + half, np.float32(0.0)), top)
            out[i, j, 1] = table[int(at)]
            at = min(max((luma + blue * b) * scale + half, np.float32(0.0)), top)
            out[i, j, 2] = table[int(at)]


@loop()
def from_light(bits, numbers, table, first, down, across, y, cb, cr):
    """Fill the planes y, cb, cr with codes of linear light.

    bits (H, W, 3) u32: light, >= 0, seen as whole numbers; H and W are multiples of down and
    across. numbers (9,) f32: luma's zero and size, colour difference's zero and size, lowest and
    highest code, Kr, Kb, half. table, first: R'G'B' by leading bits (`encode_table`).
    """
    height, width = y.shape
    zero, size, c_zero, c_size = numbers[0], numbers[1], numbers[2], numbers[3]
    lowest, highest, kr, kb = numbers[4], numbers[5], numbers[6], numbers[7]
    half = np.float32(0.5)
    kg = np.float32(1.0) - kr - kb
    per_b, per_r = half / (np.float32(1.0) - kb), half / (np.float32(1.0) - kr)
    last = table.shape[0] - 1
    u, v = np.zeros((2, width), np.float32), np.zeros((2, width), np.float32)
    for i in range(height):
        row = i % down
        for j in range(width):
            r = table[min(max(int(bits[i, j, 0] >> np.uint32(11)) - first, 0), last)]
            g = table[min(max(int(bits[i, j, 1] >> np.uint32(11)) - first, 0), last)]
            b = table[min(max(int(bits[i, j, 2] >> np.uint32(11)) - first, 0), last)]
            luma = kr * r + kg * g + kb * b
            u[row, j], v[row, j] = (b - luma) * per_b, (r - luma) * per_r
            y[i, j] = int(min(max(luma * size + zero, lowest), highest) + half)
        if row != down - 1:
            continue
        k = i // down
        for q in range(width // across):
            b, r = np.float32(0.0), np.float32(0.0)
            for n in range(down):
                if across == 1:
                    b += u[n, q]
                    r += v[n, q]
                else:
                    j = 2 * q
                    left = max(j - 1, 0)
                    b += np.float32(0.25) * (u[n, left] + u[n, j + 1]) + half * u[n, j]
                    r += np.float32(0.25) * (v[n, left] + v[n, j + 1]) + half * v[n, j]
            b, r = b / np.float32(down), r / np.float32(down)
            cb[k, q] = int(min(max(b * c_size + c_zero, lowest), highest) + half)
            cr[k, q] = int(min(max(r * c_size + c_zero, lowest), highest) + half)
