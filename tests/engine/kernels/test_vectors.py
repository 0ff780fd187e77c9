"""Additions to four floats at once."""

import numpy as np
from numba import njit

from render.engine.kernels.vectors import add, add_both, add_from


@njit
def _added(slab, source):
    one = np.float32(1.0)
    add(slab, 4, np.float32(2.0), one, one, one, np.float32(3.0))
    add_from(slab, 8, np.float32(0.5), source, 4)
    add_both(slab, 12, one, 0, np.float32(-1.0), 4, source)


def test_only_the_four_places_change() -> None:
    """A weighted colour, a weighted row, and two weighted rows at once."""
    slab, source = np.ones(20, np.float32), np.arange(8, dtype=np.float32)

    _added(slab, source)

    np.testing.assert_allclose(
        slab.reshape(5, 4), [[1] * 4, [3, 3, 3, 7], [3, 3.5, 4, 4.5], [-3] * 4, [1] * 4]
    )
