"""Unrolling along a stroke, and painting back."""

import numpy as np

from render.depth.near.strip import unrolled


def test_columns_cross_the_stroke_from_left_to_right() -> None:
    """Along a level stroke to the right, the right-hand side lies below it."""
    picture = np.zeros((40, 60, 3), np.float32)
    picture[20:] = 1.0

    strip = unrolled(picture, np.array([[5.0, 20.0], [55.0, 20.0]]), 1.0, 6)

    assert strip.light.shape == (51, 12, 3)
    np.testing.assert_allclose(strip.light[25, :, 0], [0] * 6 + [1] * 6, atol=1e-6)
    np.testing.assert_allclose(strip.edges_px[[0, -1]], [-6, 6])


def test_cells_beyond_the_picture_are_marked() -> None:
    """A stroke beside the top edge has cells above it that are no picture."""
    strip = unrolled(np.zeros((40, 60, 3), np.float32), np.array([[5.0, 2.0], [55.0, 2.0]]), 1.0, 6)

    np.testing.assert_array_equal(strip.inside[25], [False] * 4 + [True] * 8)


def test_painting_two_borders_gives_the_band_between_them() -> None:
    """From 3 px above to 2 px below a level stroke, and no farther than its ends."""
    strip = unrolled(np.zeros((40, 60, 3), np.float32), np.array([[10.0, 20], [50.0, 20]]), 1.0, 6)
    size = len(strip.middle_px)

    mask = strip.painted(np.full(size, -3.0), np.full(size, 2.0), (40, 60))

    rows, columns = np.nonzero(mask)
    assert set(rows) == {17, 18, 19, 20, 21}
    assert 8 <= columns.min() <= 10
    assert 49 <= columns.max() <= 51
