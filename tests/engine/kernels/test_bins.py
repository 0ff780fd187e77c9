"""Bins run from near to far, and the parts of a pixel add up to it."""

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from render.engine.kernels.bins import bin_of, buffer_side, is_small, part_of
from render.engine.kernels.tables import FAR, FAR_IZ, NEAR, NEAR_IZ, NEAR_SHARE, RECORD, Optic
from tests.steps import opened


@given(st.floats(0.01, 300).map(np.float32))
def test_bins_run_from_near_to_far(r: np.float32) -> None:
    """A nearer radius is never in a later bin; sharp is in the middle."""
    near, far = opened(bin_of)(r, False), opened(bin_of)(-r, False)
    larger = opened(bin_of)(np.float32(1.5) * r, False)

    assert larger <= near <= 32 <= far
    assert near + far == 64


def test_small_figures_have_small_bins_and_full_buffers() -> None:
    """Up to 1.2 px the 3 x 3 kernel serves; coarse buffers have a rim of cells to read between."""
    small = {
        float(r): bool(opened(is_small)(opened(bin_of)(np.float32(r), False)))
        for r in (0.2, 1.1, 1.3, 7)
    }

    assert small == {0.2: True, 1.1: True, 1.3: False, 7.0: False}
    assert opened(buffer_side)(0, 256) == 256
    assert opened(buffer_side)(3, 256) == 35


def test_near_and_far_part_add_up_to_the_pixel() -> None:
    """Light and share; each at its own depth; outside the picture its edge goes on, capped at 1."""
    picture = np.array([[[3.0, 0.5, 0.25]]], np.float32)
    defocus, iz = np.zeros((1, 1), np.float32), np.full((1, 1), 0.2, np.float32)
    record = np.zeros((1, RECORD), np.float32)
    record[0, NEAR : NEAR + 3], record[0, NEAR_SHARE], record[0, NEAR_IZ] = (1, 0.2, 0.1), 0.25, 0.2
    record[0, FAR : FAR + 3], record[0, FAR_IZ] = (2, 0.3, 0.15), 0.1
    optic = Optic(*np.zeros(16, np.float32))._replace(
        per_iz=np.float32(10.0), right=np.float32(0.5)
    )
    pixels = (picture, defocus, iz, np.zeros((1, 1), np.int32), record, optic)

    near, far = (opened(part_of)(*pixels, 0, 0, part) for part in (0, 1))
    beside = opened(part_of)(*pixels, 0, 2, 1)

    np.testing.assert_allclose(np.add(near, far)[:4], [3, 0.5, 0.25, 1], rtol=1e-6)
    np.testing.assert_allclose([near[4], far[4]], [0, -1], atol=1e-6)
    np.testing.assert_allclose(beside, [1, 0.3, 0.15, 0.75, 0], atol=1e-6)
