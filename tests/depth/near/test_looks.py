"""A picture at several sizes, and squares laid back on it."""

import numpy as np

from render.depth.near.insides import SIDE, Square
from render.depth.near.looks import Looks


def test_what_is_laid_lies_where_its_square_is() -> None:
    """Each cell's own place comes back at the pixels there; beyond the square nothing does."""
    looks = Looks.at(np.full((200, 300, 3), 0.2, np.float32))
    square = Square((150.0, 90.0), 100.0)
    x, y = square.places()
    held = np.ones((SIDE, SIDE), np.float32)

    laid = looks.laid(square, np.asarray(x + 1000 * y, np.float32), held)

    rows, columns = np.mgrid[42:138, 102:198]
    np.testing.assert_allclose(laid[42:138, 102:198], columns + 0.5 + 1000 * (rows + 0.5), atol=0.1)
    assert not laid[:40].any()
    assert not laid[:, 201:].any()


def test_coarser_sizes_are_means_of_four() -> None:
    """Codes of half the size are the mean codes of the pixels that they hold."""
    light = np.random.default_rng(1).uniform(0, 1, (96, 128, 3)).astype(np.float32)

    fine, half, *_ = Looks.at(light).levels

    assert fine.shape == (3, 96, 128)
    np.testing.assert_allclose(half[:, 3, 5], fine[:, 6:8, 10:12].mean(axis=(1, 2)), atol=1e-6)
