"""Coarser grids and back."""

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from render.depth.sampling import coded, enlarged, reduced, reduced_size


@given(st.integers(5, 60), st.integers(5, 60), st.integers(3, 30))
def test_reducing_keeps_the_mean(height, width, long_side):
    """Cells weighted by their area have the mean of the whole, with at most the asked size."""
    plane = np.random.default_rng(1).uniform(0, 1, (height, width)).astype(np.float32)

    small = reduced(plane, long_side)

    assert max(small.shape) <= max(long_side, 1)
    assert small.shape == reduced_size(height, width, long_side)
    assert abs(small.mean() - plane.mean()) < 0.1


def test_cells_are_means_of_their_pixels():
    """Where the sizes divide, each cell is the mean of its block, in every channel."""
    plane = np.random.default_rng(2).uniform(0, 1, (12, 20, 3)).astype(np.float32)

    expected = plane.reshape(3, 4, 5, 4, 3).mean(axis=(1, 3))
    np.testing.assert_allclose(reduced(plane, 5), expected, rtol=1e-5)


def test_a_ramp_is_enlarged_to_a_ramp():
    """Between cell centres enlarging is linear."""
    ramp = np.tile(np.arange(10, dtype=np.float32), (4, 1))

    large = enlarged(ramp, 8, 40)

    steps = np.diff(large[3, 4:-4])
    np.testing.assert_allclose(steps, 0.25, rtol=1e-4)


def test_coding_is_a_root_that_stays_in_range():
    """Codes are square roots of light, light outside 0 to 1 is clipped."""
    np.testing.assert_allclose(coded(np.array([-1.0, 0.25, 9.0], np.float32)), [0, 0.5, 1])
