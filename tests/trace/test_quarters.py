"""Pixels parted into quarters."""

import numpy as np

from render.trace.columns import QUARTER_LIGHT, QUARTER_SAMPLES, SUMS
from render.trace.penumbra import NO_SUN
from render.trace.quarters import WHOLE, finer_of, quarters_of


def test_the_sample_through_the_centre_is_a_quarter_of_each() -> None:
    """Pixels that are nearly sharp are numbered row by row; without any nothing is made."""
    blur_px = np.array([[8, 0.5], [2, 4]], np.float32)
    sums = np.arange(2 * 2 * SUMS, dtype=np.float32).reshape(2, 2, SUMS)
    rows, parts = quarters_of(blur_px, sums)

    np.testing.assert_array_equal(rows, [[-1, 0], [1, -1]])
    np.testing.assert_allclose(parts[0].sum(axis=0)[:QUARTER_LIGHT], sums[0, 1, :QUARTER_LIGHT])
    assert (parts[..., QUARTER_SAMPLES] == 0.25).all()
    depth_m, light = np.ones((2, 2), np.float32), np.ones((2, 2, 3), np.float32)
    assert finer_of(light, depth_m, np.ones((2, 2, 4), np.float32), NO_SUN, WHOLE) is None
