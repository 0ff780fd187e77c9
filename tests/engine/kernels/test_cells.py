"""Cells that coarser bins are gathered in."""

import numpy as np
import pytest

from render.engine.kernels.cells import gather_blocks
from render.engine.kernels.tables import (
    BIN,
    BINS,
    BLOCK,
    LAMPS,
    RECORD,
    RED,
    SHARE,
    Bins,
    Blocks,
    Optic,
    Pixels,
    X,
    Y,
)


def test_gathered_cells_hold_all_the_light():
    """Fragments and what is left to be spread one by one add up to the picture, bin by bin."""
    rng = np.random.default_rng(6)
    picture = rng.uniform(0, 0.2, (64, 96, 3)).astype(np.float32)
    picture[7, 11] = 30.0
    picture.flags.writeable = False  # as a scene's is: the loop that photographs run, compiled once
    iz = np.repeat(rng.uniform(0.01, 0.5, (8, 12)), 8, 0).repeat(8, 1).astype(np.float32)
    optic = Optic(*np.zeros(16, np.float32))._replace(radius=np.float32(1.0))
    defocus = (iz - np.float32(0.2)) * np.float32(100.0)
    index, record = np.full(iz.shape, -1, np.int32), np.zeros((0, RECORD), np.float32)
    size = np.abs(np.arange(BINS) % LAMPS - 32)
    cells = np.where(size >= 7, (size - 1) // 2 - 2, 0).astype(np.int64)
    starts, reaches = np.zeros(7, np.int64), np.zeros(6, np.float32)
    small, seen = np.zeros(6, np.uint8), np.zeros(BINS, np.uint8)
    pixels, bins = Pixels(picture, defocus, iz, index, record), Bins(cells, cells)
    got = gather_blocks(pixels, optic, bins, Blocks(0, 0, 3, starts, reaches, small), 0, 6, seen)

    far = np.abs(defocus) >= 8
    np.testing.assert_allclose(got[:, :3].sum(0), picture[far].sum(0), rtol=1e-4)
    assert got[:, 3].sum() == pytest.approx(far.sum())
    assert starts.sum() == got.shape[0]
    np.testing.assert_allclose(reaches.max(), np.abs(defocus).max(), rtol=1e-6)
    if far[7, 11]:
        lamp = got[got[:, BIN] >= LAMPS]
        block = picture[:BLOCK, :BLOCK, 0]  # the mean of the others stays in the cell
        over = 30 - (block.sum(dtype=float) - 30) / (block.size - 1)
        np.testing.assert_allclose(lamp[:, [RED, SHARE, X, Y]], [[over, 0, 11.5, 7.5]], rtol=1e-5)
