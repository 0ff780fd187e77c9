"""Turning arrays upright by their EXIF orientation."""

from typing import Any

import numpy as np
from numpy.typing import NDArray

__all__ = ["turned"]


def turned(array: NDArray[Any], orientation: int) -> NDArray[Any]:
    """Turn an array (H, W[, C]) upright.

    Parameters
    ----------
    orientation : int
        1 to 8; EXIF 2.32, 4.6.4, tag 0x0112.
    """
    if orientation >= 5:
        array = array.swapaxes(0, 1)
    if orientation in (3, 4, 7, 8):
        array = array[::-1]
    if orientation in (2, 3, 6, 7):
        array = array[:, ::-1]
    return np.ascontiguousarray(array)
