"""Samples laid together."""

import numpy as np

from render.trace.columns import DIRECT, MIRRORED_SHARE, SUMS, TIMES
from render.trace.kernels.laying import laid_together


def test_samples_are_laid_together_by_what_they_are() -> None:
    """(direct + matt x soft + share x mirrored) / samples."""
    sums = np.zeros((1, 1, SUMS), np.float32)
    sums[0, 0, DIRECT : DIRECT + 3], sums[0, 0, TIMES : TIMES + 3] = (1, 2, 3), (0.5, 0.25, 1)
    sums[0, 0, MIRRORED_SHARE] = 2
    soft = np.array([[[4, 4, 4, 0]]], np.float32)
    mirrored = np.array([[[0, 1, 2, 0]]], np.float32)
    out = np.empty((1, 1, 3), np.float32)
    laid_together(sums, np.full((1, 1), np.float32(4)), soft, mirrored, out, 0, 1)

    np.testing.assert_allclose(out[0, 0], [(1 + 2 + 0) / 4, (2 + 1 + 2) / 4, (3 + 4 + 4) / 4])
