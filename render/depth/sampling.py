"""Pictures and planes on a coarser grid, and back; light coded as the eye grades it."""

import numpy as np
from numpy.typing import NDArray

__all__ = ["averaged", "coded", "coded_grey", "enlarged", "reduced", "reduced_size"]


def reduced_size(height: int, width: int, long_side_px: int) -> tuple[int, int]:
    """Rows and columns of the same view with at most `long_side_px` on its long side."""
    shrink = min(1.0, long_side_px / max(height, width))
    return max(1, round(height * shrink)), max(1, round(width * shrink))


def reduced(plane: NDArray[np.float32], long_side_px: int) -> NDArray[np.float32]:
    """Mean of `plane` (H, W[, C]) over the cells of a grid with at most `long_side_px`.

    Cells are whole pixels, so some are a pixel wider than others. A plane that is small enough
    comes back as it is.
    """
    height, width = plane.shape[:2]
    rows, columns = reduced_size(height, width, long_side_px)
    if (rows, columns) == (height, width):
        return plane
    return averaged(plane, rows, columns)


def averaged(plane: NDArray[np.float32], rows: int, columns: int) -> NDArray[np.float32]:
    """Mean of `plane` (H, W[, C]) over a coarser grid of `rows` x `columns` cells."""
    height, width = plane.shape[:2]
    top, left = _cells(height, rows), _cells(width, columns)
    down = np.add.reduceat(plane, top[:-1], axis=0, dtype=np.float32)
    total = np.add.reduceat(down, left[:-1], axis=1, dtype=np.float32)
    area = np.multiply.outer(np.diff(top), np.diff(left)).astype(np.float32)
    return np.asarray(total / area.reshape(area.shape + (1,) * (plane.ndim - 2)), np.float32)


def enlarged(plane: NDArray[np.float32], height: int, width: int) -> NDArray[np.float32]:
    """Return `plane` (h, w) on a grid of `height` x `width`, linear between cell centres."""
    if plane.shape == (height, width):
        return plane
    left, share = _between(width, plane.shape[1])
    right = np.minimum(left + 1, plane.shape[1] - 1)
    wide = plane[:, left] + (plane[:, right] - plane[:, left]) * share
    top, share = _between(height, plane.shape[0])
    bottom = np.minimum(top + 1, plane.shape[0] - 1)
    return np.asarray(wide[top] + (wide[bottom] - wide[top]) * share[:, None], np.float32)


def coded(light: NDArray[np.float32]) -> NDArray[np.float32]:
    """Linear light as its square root clipped to 1: steps in it are about equally visible."""
    return np.sqrt(np.clip(light, 0, 1), dtype=np.float32)


def coded_grey(light: NDArray[np.float32]) -> NDArray[np.float32]:
    """Mean of the coded channels of a picture (H, W, 3), shape (H, W), 0 to 1."""
    return np.asarray(coded(light).mean(axis=2), np.float32)


def _cells(length: int, count: int) -> NDArray[np.intp]:
    return np.round(np.linspace(0, length, count + 1)).astype(np.intp)


def _between(length: int, count: int) -> tuple[NDArray[np.intp], NDArray[np.float32]]:
    """For every pixel of a length the cell before it, and how far it is towards the next."""
    place = np.clip((np.arange(length) + 0.5) * (count / length) - 0.5, 0, count - 1)
    before = place.astype(np.intp)
    return before, (place - before).astype(np.float32)
