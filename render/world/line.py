"""Lines of points on the ground: how far along them, and what lies there."""

import numpy as np
from numpy.typing import ArrayLike, NDArray

__all__ = ["places_along", "run_along"]

Floats = NDArray[np.float64]


def run_along(line: ArrayLike) -> Floats:
    """Metres along a line to each of its points (n, 2), shape (n,), from 0."""
    legs = np.diff(np.asarray(line, float), axis=0)
    return np.concatenate([[0.0], np.cumsum(np.hypot(legs[:, 0], legs[:, 1]))])


def places_along(line: Floats, run: Floats, at: ArrayLike) -> Floats:
    """Places so many metres along a line (n, 2), of which `run` is known; shape of `at` + (2,)."""
    return np.stack([np.interp(np.asarray(at, float), run, line[:, k]) for k in (0, 1)], axis=-1)
