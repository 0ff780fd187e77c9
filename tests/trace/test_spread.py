"""Rays of a pixel and its neighbours are spread evenly."""

import numpy as np
import pytest
from numba import njit
from numpy.typing import NDArray
from scipy.stats import qmc

from render.trace.spread import pixel_code, sobol, spread, turned
from tests.steps import opened


@njit
def _points(i, j, side, bits, use):  # type: ignore[no-untyped-def]
    out = np.empty((side * side << bits, 2))
    for n in range(len(out)):
        pixel = n >> bits
        code = pixel_code(i + pixel // side, j + pixel % side)
        out[n, 0], out[n, 1] = spread(code, n & ((1 << bits) - 1), bits, use)
    return out


def _cells(points: NDArray[np.float64]) -> list[int]:
    """Points in different cells, for every shape of cell of which there are as many as points."""
    m = len(points).bit_length() - 1
    shapes = [(1 << a, 1 << (m - a)) for a in range(m + 1)]
    return [len(np.unique(np.floor(points * shape), axis=0)) for shape in shapes]


@pytest.mark.parametrize("use", [0, 3, 21])
@pytest.mark.parametrize(("side", "bits"), [(1, 0), (1, 2), (1, 4), (1, 8), (2, 1), (4, 1), (8, 2)])
def test_pixels_and_blocks_of_pixels_fill_the_square_evenly(use: int, side: int, bits: int) -> None:
    """One point in every cell of every shape: a (0, m, 2)-net (Niederreiter 1987)."""
    points = _points(8, 16, side, bits, use)

    assert _cells(points) == [len(points)] * len(_cells(points))


def test_neighbours_and_uses_take_other_rays() -> None:
    """No two pixels of a block share a point, and two uses are not tied to each other."""
    here, other = _points(0, 0, 16, 2, 1), _points(0, 0, 16, 2, 2)

    assert len(np.unique(here, axis=0)) == len(here)
    tied = np.corrcoef(np.concatenate([here, other], axis=1).T) - np.eye(4)
    assert np.abs(tied).max() < 0.1


def test_the_points_of_a_pixel_are_the_published_sequence() -> None:
    """Bit for bit those of scipy.stats, whose direction numbers are Joe and Kuo's (2008)."""
    np.testing.assert_array_equal(sobol(256), qmc.Sobol(2, scramble=False).random(256))
    np.testing.assert_array_equal(sobol(5), sobol(256)[:5])


def test_a_share_of_a_turn_has_its_cosine_and_sine() -> None:
    """All the way round, to within what its docstring says."""
    shares = np.linspace(0, 1, 1001)
    got = np.array([opened(turned)(share) for share in shares])
    angle = 2 * np.pi * shares

    np.testing.assert_allclose(got, np.stack([np.cos(angle), np.sin(angle)], axis=1), atol=4e-7)
