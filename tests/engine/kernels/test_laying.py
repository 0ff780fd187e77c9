"""Bins laid together: a nearer one takes its room first."""

import numpy as np
import pytest

from render.engine.kernels.laying import lay_together
from render.engine.kernels.tables import BINS, EYE, Buffers, Tile
from tests.steps import opened

SIDE = 4


def _laid(bins: dict[int, tuple[float, float]]) -> tuple[np.ndarray, np.ndarray]:
    """Picture of a tile whose bins hold (light, share) everywhere, and the slab afterwards."""
    size = SIDE * (SIDE + 2) * 4
    slab, bases = np.zeros(size * len(bins), np.float32), np.full(BINS, -1, np.int64)
    bounds = np.tile(np.array([SIDE + 3, 0, SIDE + 3, 0], np.int64), (BINS, 1))
    for n, (key, (light, share)) in enumerate(bins.items()):
        bases[key], bounds[key] = n * size, (0, SIDE, 0, SIDE)
        rows = slab[n * size : (n + 1) * size].reshape(SIDE, SIDE + 2, 4)
        rows[:, 0] = (light, light, light, share)  # differences: the same all along the row
    buffers = Buffers(slab, bases, np.zeros((1, 2), np.float32), np.zeros((1, 3), np.float32))
    picture, out = np.full((8, 8, 3), 0.7, np.float32), np.zeros((SIDE, SIDE, 3), np.float32)
    tile = Tile(2, 3, SIDE, SIDE, SIDE)
    levels, eyes = np.zeros(BINS, np.int64), np.full((0, 0, EYE), 1.0, np.float32)
    opened(lay_together)(buffers, bounds, levels, tile, eyes, picture, out, 0, 0)
    return out, slab


def test_the_far_gets_what_room_the_near_leaves() -> None:
    """Three quarters near black, one quarter of a far white that would fill all; none is left."""
    out, slab = _laid({50: (1.0, 1.0), 20: (0.0, 0.75)})

    np.testing.assert_allclose(out, 0.25, rtol=1e-6)
    assert not slab.any()


def test_light_is_taken_by_share() -> None:
    """Where little is known of a pixel, it counts in full; where nothing is, the picture stays."""
    half, _ = _laid({20: (0.2, 0.5)})
    nothing, _ = _laid({20: (0.0, 0.0)})

    assert half[1, 1, 0] == pytest.approx(0.4)
    np.testing.assert_allclose(nothing, 0.7)
