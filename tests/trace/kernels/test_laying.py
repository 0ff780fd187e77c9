"""Samples laid together."""

import numpy as np

from render.trace.columns import (
    DIRECT,
    LENT,
    LENT_BY,
    LENT_SHARE,
    LENT_TIMES,
    MIRRORED_SHARE,
    QUARTER,
    QUARTER_DEPTH,
    QUARTER_SAMPLES,
    SLOTS,
    SUMS,
    SUN_RAYS,
    SUNLIGHT,
    SUNLIT,
    TIMES,
)
from render.trace.kernels.laying import laid_finer, laid_together
from render.trace.penumbra import NO_SUN


def test_samples_are_laid_together_by_what_they_are() -> None:
    """(direct + matt x soft + share x mirrored) / samples."""
    sums = np.zeros((1, 1, SUMS), np.float32)
    sums[0, 0, DIRECT : DIRECT + 3], sums[0, 0, TIMES : TIMES + 3] = (1, 2, 3), (0.5, 0.25, 1)
    sums[0, 0, MIRRORED_SHARE] = 2
    soft = np.array([[[4, 4, 4, 0]]], np.float32)
    mirrored = np.array([[[0, 1, 2, 0]]], np.float32)
    out, none = np.empty((1, 1, 3), np.float32), np.zeros((0, 0, 0), np.float32)
    laid_together(
        sums, none, np.full((1, 1), np.float32(4)), soft, none, mirrored, NO_SUN, out, 0, 1
    )

    np.testing.assert_allclose(out[0, 0], [(1 + 2 + 0) / 4, (2 + 1 + 2) / 4, (3 + 4 + 4) / 4])


def test_what_is_lent_is_the_lenders_soft_and_mirrored_light_but_no_lamps() -> None:
    """The pixel to the right lends; what it has of lamps stays there."""
    sums, lent = np.zeros((1, 2, SUMS), np.float32), np.zeros((1, 2, SLOTS * LENT), np.float32)
    mine = lent[0, 0]
    mine[LENT_BY], mine[LENT_TIMES : LENT_TIMES + 3], mine[LENT_SHARE] = 6, 0.5, 0.25
    soft, lamps, mirrored = (np.zeros((1, 2, 4), np.float32) for _ in range(3))
    soft[0, 1, :3], lamps[0, 1, :3], mirrored[0, 1, :3] = 0.4, 0.3, 2
    out = np.empty((1, 2, 3), np.float32)
    laid_together(
        sums, lent, np.full((1, 2), np.float32(4)), soft, lamps, mirrored, NO_SUN, out, 0, 1
    )

    np.testing.assert_allclose(out[0, 0], (0.5 * 0.4 + 0.25 * 2) / 4)
    np.testing.assert_array_equal(out[0, 1], 0)


def test_four_quarters_have_the_mean_of_their_pixel() -> None:
    """Light moves between them as their samples say, never below 0; depth where it was met."""
    quarters = np.zeros((2, 4, QUARTER), np.float32)
    quarters[..., QUARTER_SAMPLES] = 1
    quarters[0, :, DIRECT], quarters[0, :, TIMES] = (1, 2, 3, 2), (1, 0, 0, 0)
    quarters[0, 3, QUARTER_DEPTH] = 9
    quarters[1, :, DIRECT] = (0, 0, 0, 8)  # more apart than their pixel's light allows
    picture = np.full((1, 3, 3), np.float32(5))
    picture[0, 1] = 1
    depth, index = np.full((1, 3), np.float32(4)), np.array([[0, 1, -1]], np.int32)
    soft = np.full((1, 3, 4), np.float32(2))
    out, out_depth = np.empty((2, 6, 3), np.float32), np.empty((2, 6), np.float32)
    laid_finer(picture, depth, soft, NO_SUN, index, quarters, out, out_depth, 0, 1)

    # 3, 2, 3 and 2 were sent, 2.5 on the mean
    np.testing.assert_allclose(out[:, :2, 0], [[5.5, 4.5], [5.5, 4.5]])
    np.testing.assert_array_equal(out[:, 2:4], 1)
    np.testing.assert_array_equal(out[:, 4:], 5)
    np.testing.assert_array_equal(out_depth[:, :2], [[4, 4], [4, 9]])


def test_what_is_known_of_the_sun_moves_no_more_than_sunlight() -> None:
    """Half of its rays arrived, a quarter or three quarters is seen; own light stays, as below 0.

    The third pixel's rays are all it has; quarters are told the same of the sun as their pixel.
    """
    sums = np.zeros((1, 3, SUMS), np.float32)
    sums[..., DIRECT : DIRECT + 3], sums[..., SUN_RAYS] = 3, 4
    sums[..., SUNLIGHT : SUNLIGHT + 3], sums[..., SUNLIT] = 4, 2
    sun = np.array([[0.25, 0.75, -1]], np.float32)
    counts, none = np.full((1, 3), np.float32(4)), np.zeros((0, 0, 0), np.float32)
    soft, out = np.zeros((1, 3, 4), np.float32), np.empty((1, 3, 3), np.float32)
    laid_together(sums, none, counts, soft, none, soft, sun, out, 0, 1)

    np.testing.assert_allclose(out[0, :, 0], [0.5, 1.0, 0.75])
    quarters = np.zeros((1, 4, QUARTER), np.float32)
    quarters[0, :, QUARTER_SAMPLES] = quarters[0, :, SUN_RAYS] = 1
    quarters[0, :, SUNLIGHT : SUNLIGHT + 3] = 1
    quarters[0, :2, DIRECT : DIRECT + 3] = quarters[0, :2, SUNLIT, None] = 1  # two see all of it
    depth, index = np.full((1, 3), np.float32(4)), np.array([[0, -1, -1]], np.int32)
    finer, finer_m = np.empty((2, 6, 3), np.float32), np.empty((2, 6), np.float32)
    laid_finer(out, depth, soft, sun, index, quarters, finer, finer_m, 0, 1)
    np.testing.assert_allclose(finer[:, :2], 0.5, rtol=1e-6)
