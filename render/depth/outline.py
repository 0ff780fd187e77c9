"""Outlines in the picture, and which pixels lie inside."""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from render.errors import InputError

__all__ = ["box_outline", "inside_outline", "lowest_place"]

Place = tuple[float, float]


def box_outline(left: float, top: float, right: float, bottom: float) -> tuple[Place, ...]:
    """Outline of an upright box in the picture, px."""
    return ((left, top), (right, top), (right, bottom), (left, bottom))


def inside_outline(height: int, width: int, outline: Sequence[Place]) -> NDArray[np.bool_]:
    """Which pixel centres lie inside a closed outline (even-odd rule), shape (H, W).

    Each edge toggles everything right of it in the rows it crosses. The outline may reach out
    of the picture.

    Raises
    ------
    InputError
        If there are fewer than three corners, one is not a number, or no pixel lies inside.
    """
    corners = np.asarray(outline, float)
    if corners.ndim != 2 or len(corners) < 3:
        raise InputError("an outline needs at least three corners")
    if not np.all(np.isfinite(corners)):
        raise InputError("every corner of an outline needs two numbers")
    toggles = np.zeros((height, width + 1), np.int8)
    for (x0, y0), (x1, y1) in zip(corners, np.roll(corners, -1, axis=0), strict=True):
        low, high = sorted((y0, y1))
        first = max(0, int(np.ceil(low - 0.5)))
        rows = np.arange(first, min(height, int(np.ceil(high - 0.5))))
        if rows.size:
            crossed = x0 + (rows + 0.5 - y0) * (x1 - x0) / (y1 - y0)
            columns = np.clip(np.ceil(crossed - 0.5), 0, width).astype(np.intp)
            toggles[rows, columns] ^= 1
    inside = np.bitwise_xor.accumulate(toggles, axis=1)[:, :width].astype(bool)
    if not inside.any():
        raise InputError(
            f"the outline from ({corners[0, 0]:.0f}, {corners[0, 1]:.0f}) holds no pixel of the "
            f"picture of {width} x {height} px"
        )
    return inside


def lowest_place(inside: NDArray[np.bool_]) -> Place:
    """Middle of the lowest row of a region: where a thing stands, unless somebody says."""
    row = int(np.flatnonzero(inside.any(axis=1))[-1])
    return float(np.mean(np.flatnonzero(inside[row]))) + 0.5, row + 1.0
