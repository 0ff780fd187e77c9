"""Which pixels are bright points of their block."""

import numpy as np

from render.engine.kernels.bright import keep_lamp, lamp_limits
from render.engine.kernels.tables import BIN, BLUE, DEFOCUS, LAMPS, RED, SHARE, X, Y
from tests.steps import opened


def test_a_lamp_stands_six_times_out_of_its_block() -> None:
    """Six means of the block, outside left out; light above 1 counts unless it fills a quarter.

    The mean of what is no brighter is told too: that much of a lamp stays in its cell.
    """
    picture = np.full((40, 40, 3), 0.1, np.float32)
    lamp, cap, *plain = opened(lamp_limits)(picture, 32, 32)
    picture[:20, :20] = 2.0
    _lamp, no_cap, *_ = opened(lamp_limits)(picture, 0, 0)

    np.testing.assert_allclose([lamp, cap, *plain], [6 * 0.3, 1, 0.1, 0.1, 0.1], rtol=1e-5)
    assert np.isinf(no_cap)


def test_a_lamp_keeps_its_light_and_leaves_its_share() -> None:
    """It is a part of its own at the pixel's middle, in the twin of its bin."""
    fragments = np.zeros((1, 8), np.float32)
    r, g, b, d = (np.float32(v) for v in (5.0, 4.0, 3.0, -0.5))
    opened(keep_lamp)(fragments, 0, r, g, b, d, 7, 9, 20)

    assert fragments[0, RED : BLUE + 1].tolist() == [5, 4, 3]
    assert fragments[0, [SHARE, DEFOCUS, X, Y, BIN]].tolist() == [0, -0.5, 9.5, 7.5, 20 + LAMPS]
