"""Two borders along a strip that change slowly: the best pair, by dynamic programming."""

import numpy as np
from numpy.typing import NDArray

__all__ = ["best_bounds"]

Floats = NDArray[np.float64]

_NEVER = -1e9
_FREE, _SHARE = 2.0, 0.1  # so many cells, and so much of its width, a thing may lie aside


def best_bounds(
    gain: Floats,
    edge: Floats,
    *,
    step_cost: float,
    off_cost: float,
    least_cells: int,
    aside_cost: float = 0.0,
) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """Left and right border (S,) of every row, as border numbers 0 to T.

    Maximises the gain of the cells between them plus the edges they lie on; a border moves by
    one cell a row at most.

    Parameters
    ----------
    gain : ndarray, shape (S, T)
        Of each cell that lies between the borders.
    edge : ndarray, shape (S, T + 1)
        Reward of a border there.
    step_cost : float
        Of each move of a border by a cell.
    off_cost : float
        For each cell by which the stroke (the strip's middle) lies outside the borders.
    least_cells : int
        Between the borders.
    aside_cost : float
        For each cell by which the middle between the borders lies aside of the stroke, which is
        drawn along the middle of a thing.
    """
    rows, cells = gain.shape
    total = np.concatenate([np.zeros((rows, 1)), np.cumsum(gain, axis=1)], axis=1)
    place = np.arange(cells + 1) - cells / 2
    outside = np.maximum(0.0, np.maximum(place[:, None], -place[None, :]))
    aside = np.abs(place[:, None] + place[None, :]) / 2
    wide = place[None, :] - place[:, None]
    fixed = -off_cost * outside - aside_cost * np.maximum(0.0, aside - _FREE - _SHARE * wide)
    fixed[wide < least_cells] = _NEVER
    moves = np.zeros((rows, cells + 1, cells + 1), np.int8)
    best = np.zeros_like(fixed)
    for row in range(rows):
        here = total[row][None, :] - total[row][:, None] + fixed
        here += edge[row][:, None] + edge[row][None, :]
        if row:
            best, left_move = _moved(best, 0, step_cost)
            best, right_move = _moved(best, 1, step_cost)
            left_move = np.take_along_axis(
                left_move, np.arange(cells + 1)[None, :] + right_move, axis=1
            )
            moves[row] = 3 * (left_move + 1) + right_move + 1
        best = best + here
    left, right = np.empty(rows, np.intp), np.empty(rows, np.intp)
    at = np.unravel_index(int(np.argmax(best)), best.shape)
    low, high = int(at[0]), int(at[1])
    for row in range(rows - 1, -1, -1):
        left[row], right[row] = low, high
        if row:
            down, across = divmod(int(moves[row, low, high]), 3)
            low, high = low + down - 1, high + across - 1
    return left, right


def _moved(best: Floats, axis: int, cost: float) -> tuple[Floats, NDArray[np.intp]]:
    """The best of staying and coming from either neighbour, and where from (-1, 0, 1)."""
    found, move = best.copy(), np.zeros(best.shape, np.intp)
    for come in (-1, 1):
        other = np.full_like(best, _NEVER)
        ahead, behind = [slice(None)] * 2, [slice(None)] * 2
        ahead[axis], behind[axis] = (
            (slice(1, None), slice(None, -1)) if come < 0 else (slice(None, -1), slice(1, None))
        )
        other[tuple(ahead)] = best[tuple(behind)] - cost
        better = other > found
        found[better] = other[better]
        move[better] = come
    return found, move
