"""Largest, smallest and mean value in the square round each pixel, by bands of rows in threads.

They give what `scipy.ndimage`'s filters of these names give; its largest and smallest values take
eight times the processor, on one thread, and its import a tenth of a second. Beyond the picture
lies its mirror image; squares are small, of an odd number of pixels.
"""

import functools
from collections.abc import Callable
from typing import Any

import numpy as np
from numpy.typing import NDArray

from render.threads import each_share

__all__ = ["maximum_filter", "minimum_filter", "uniform_filter"]


def maximum_filter(image: NDArray[Any], size: int) -> NDArray[Any]:
    """Largest value round each pixel of an (H, W) array, `size` pixels across."""
    return _filtered(image, size, lambda rows: _joined(np.maximum, rows, size))


def minimum_filter(image: NDArray[Any], size: int) -> NDArray[Any]:
    """Smallest value round each pixel of an (H, W) array, `size` pixels across."""
    return _filtered(image, size, lambda rows: _joined(np.minimum, rows, size))


def uniform_filter(image: NDArray[Any], size: int) -> NDArray[Any]:
    """Mean round each pixel of an (H, W) array of floats, `size` pixels across."""

    def mean(rows: NDArray[Any]) -> NDArray[Any]:
        total = _joined(np.add, rows.astype(np.float64), size)
        return np.asarray((total / size).astype(image.dtype))

    return _filtered(image, size, mean)


def _filtered(
    image: NDArray[Any], size: int, filtered: Callable[[NDArray[Any]], NDArray[Any]]
) -> NDArray[Any]:
    """Filter down the columns, then along the rows; `filtered` works along the first axis."""
    reach = size // 2
    rows = np.pad(np.arange(len(image)), reach, mode="symmetric")
    made = np.empty_like(image)

    def band(first: int, last: int) -> None:
        down = filtered(image[rows[first : last + 2 * reach]])
        wide = np.pad(down, ((0, 0), (reach, reach)), mode="symmetric")
        made[first:last] = filtered(wide.T).T

    each_share(len(image), band)
    return made


def _joined(join: np.ufunc, rows: NDArray[Any], size: int) -> NDArray[Any]:
    """Each `size` rows that follow each other made one."""
    count = len(rows) - size + 1
    return functools.reduce(join, (rows[k : k + count] for k in range(size)))
