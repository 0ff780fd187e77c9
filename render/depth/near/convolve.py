"""The compiled inner loop of a small network: plain arrays in, plain arrays out, no checks."""

import numpy as np

from render.compiled import loop

__all__ = ["convolved"]


@loop()
def convolved(padded, weights, bias, out):  # type: ignore[no-untyped-def]
    """3 x 3 convolution, bias, and nothing below 0; the same sums in the same order everywhere.

    padded (C, H + 2, W + 2) f32; weights (C, 3, 3, K) f32 with K a multiple of 4; bias (K,) f32;
    out (K, H, W) f32. Four outputs share what is read of a row.
    """
    outputs, height, width = out.shape
    first = np.empty(width, np.float32)
    second = np.empty(width, np.float32)
    third = np.empty(width, np.float32)
    fourth = np.empty(width, np.float32)
    for k in range(0, outputs, 4):
        for y in range(height):
            for x in range(width):
                first[x] = bias[k]
                second[x] = bias[k + 1]
                third[x] = bias[k + 2]
                fourth[x] = bias[k + 3]
            for channel in range(padded.shape[0]):
                for i in range(3):
                    row = padded[channel, y + i]
                    a = weights[channel, i, 0, k : k + 4]
                    b = weights[channel, i, 1, k : k + 4]
                    c = weights[channel, i, 2, k : k + 4]
                    a0, a1, a2, a3 = a[0], a[1], a[2], a[3]
                    b0, b1, b2, b3 = b[0], b[1], b[2], b[3]
                    c0, c1, c2, c3 = c[0], c[1], c[2], c[3]
                    for x in range(width):
                        left, middle, right = row[x], row[x + 1], row[x + 2]
                        first[x] += a0 * left + b0 * middle + c0 * right
                        second[x] += a1 * left + b1 * middle + c1 * right
                        third[x] += a2 * left + b2 * middle + c2 * right
                        fourth[x] += a3 * left + b3 * middle + c3 * right
            nothing = np.float32(0.0)
            for x in range(width):
                out[k, y, x] = max(first[x], nothing)
                out[k + 1, y, x] = max(second[x], nothing)
                out[k + 2, y, x] = max(third[x], nothing)
                out[k + 3, y, x] = max(fourth[x], nothing)
