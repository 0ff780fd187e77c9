"""Samples laid together to a picture."""

import numpy as np

from render.compiled import loop, step
from render.trace.columns import (
    DIRECT,
    LENT_BY,
    LENT_SHARE,
    LENT_TIMES,
    MIRRORED_SHARE,
    QUARTER_DEPTH,
    QUARTER_SAMPLES,
    SLOTS,
    SUNLIGHT,
    SUNLIT,
    TIMES,
)
from render.trace.kernels.lending import column_of, row_of

__all__ = ["laid_finer", "laid_together"]


@step(forceinline=True)
def _more_sun(share, sums, i, j):
    """What to add of SUNLIGHT where a share of the sun is seen, of which some has arrived."""
    r, g, b = sums[i, j, SUNLIGHT], sums[i, j, SUNLIGHT + 1], sums[i, j, SUNLIGHT + 2]
    full = np.float32(0.25) * r + np.float32(0.6) * g + np.float32(0.15) * b
    return share - sums[i, j, SUNLIT] / full if full > 0 else np.float32(0)


@loop()
def laid_together(sums, lent, counts, soft, lamps, mirrored, sun, out, row0, row1):
    """Picture (H, W, 3) f32 of sums, samples per pixel, and shared soft and mirrored light.

    lent (H, W, SLOTS x LENT): what is borrowed from neighbours; (0, 0, 0) where
    nothing is. lamps: their shared light, (0, 0, 0) where there are none; none of it is borrowed.
    sun (H, W): share of the sun that a pixel sees, -1: what its own rays say; or (0, 0).
    """
    each = lent.shape[2] // SLOTS
    for i in range(row0, row1):
        for j in range(counts.shape[1]):
            share, more = sums[i, j, MIRRORED_SHARE], np.float32(0)
            if sun.shape[0] > 0 and sun[i, j] >= 0:
                more = _more_sun(sun[i, j], sums, i, j)
            for c in range(3):
                light = soft[i, j, c]
                if lamps.shape[0] > 0:
                    light += lamps[i, j, c]
                own = sums[i, j, DIRECT + c] + sums[i, j, TIMES + c] * light
                own = max(own + more * sums[i, j, SUNLIGHT + c], np.float32(0))
                out[i, j, c] = own + share * mirrored[i, j, c]
            for slot in range(SLOTS if each > 0 else 0):
                at = each * slot
                by = int(lent[i, j, at + LENT_BY])
                if by == 0:
                    continue
                y, x = i + row_of(by), j + column_of(by)
                share = lent[i, j, at + LENT_SHARE]
                for c in range(3):
                    out[i, j, c] += lent[i, j, at + LENT_TIMES + c] * soft[y, x, c]
                    out[i, j, c] += share * mirrored[y, x, c]
            for c in range(3):
                out[i, j, c] /= counts[i, j]


@loop()
def laid_finer(picture, depth, soft, sun, index, quarters, out, out_depth, row0, row1):
    """Picture and depth at twice the size, from those of pixels and from what quarters hold.

    A quarter differs from its pixel by direct light and by what soft light is multiplied with;
    the mean of four is their pixel.  index (H, W) i32: row of ``quarters``, or -1: all four alike.
    sun: as in `laid_together`.
    """
    light, more_sun = np.empty((4, 3), np.float32), np.empty(4, np.float32)
    for i in range(row0, row1):
        for j in range(depth.shape[1]):
            at = index[i, j]
            for q in range(4):
                out_depth[2 * i + q // 2, 2 * j + q % 2] = depth[i, j]
                for c in range(3):
                    light[q, c] = picture[i, j, c]
            if at >= 0:
                for q in range(4):
                    more_sun[q] = 0
                    if sun.shape[0] > 0 and sun[i, j] >= 0:
                        more_sun[q] = _more_sun(sun[i, j], quarters, at, q)
                    if quarters[at, q, QUARTER_DEPTH] > 0:
                        out_depth[2 * i + q // 2, 2 * j + q % 2] = quarters[at, q, QUARTER_DEPTH]
                for c in range(3):
                    mean, least = np.float32(0), np.float32(np.inf)
                    for q in range(4):
                        sent = quarters[at, q, DIRECT + c]
                        sent += quarters[at, q, TIMES + c] * soft[i, j, c]
                        sent += more_sun[q] * quarters[at, q, SUNLIGHT + c]
                        light[q, c] = sent / quarters[at, q, QUARTER_SAMPLES]
                        mean += np.float32(0.25) * light[q, c]
                        least = min(least, light[q, c])
                    more = picture[i, j, c] - mean
                    for q in range(4):
                        one = max(light[q, c] + more, np.float32(0))
                        light[q, c] = one if least + more >= 0 else picture[i, j, c]
            for q in range(4):
                for c in range(3):
                    out[2 * i + q // 2, 2 * j + q % 2, c] = light[q, c]
