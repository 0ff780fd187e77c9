"""Samples laid together to a picture."""

from render.compiled import loop
from render.trace.columns import DIRECT, MIRRORED_SHARE, TIMES

__all__ = ["laid_together"]


@loop()
def laid_together(sums, counts, soft, mirrored, out, row0, row1):
    """Picture (H, W, 3) f32 of sums, samples per pixel, and shared soft and mirrored light."""
    for i in range(row0, row1):
        for j in range(counts.shape[1]):
            share = sums[i, j, MIRRORED_SHARE]
            for c in range(3):
                own = sums[i, j, DIRECT + c] + sums[i, j, TIMES + c] * soft[i, j, c]
                out[i, j, c] = (own + share * mirrored[i, j, c]) / counts[i, j]
