"""Filters over small squares, against the general ones of scipy."""

import numpy as np
import pytest
from scipy import ndimage

from render import filters


@pytest.mark.parametrize("name", ["maximum_filter", "minimum_filter", "uniform_filter"])
@pytest.mark.parametrize("size", [3, 5, 9])
@pytest.mark.parametrize("shape", [(211, 97), (3, 2)])
def test_they_give_what_scipy_gives(name: str, size: int, shape: tuple[int, int]) -> None:
    """Bit for bit, at the borders and in pictures smaller than the square too."""
    image = np.random.default_rng(size).random(shape, np.float32)
    wanted = getattr(ndimage, name)(image, size)
    np.testing.assert_array_equal(getattr(filters, name)(image, size), wanted)


def test_marks_and_whole_numbers_keep_their_kind() -> None:
    """Masks stay masks, codes stay codes."""
    codes = np.random.default_rng(0).integers(0, 65536, (40, 30), np.uint16)
    for image in (codes, codes > 60_000):
        found = filters.maximum_filter(image, 5)
        assert found.dtype == image.dtype
        np.testing.assert_array_equal(found, ndimage.maximum_filter(image, 5))
