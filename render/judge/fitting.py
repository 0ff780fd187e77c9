"""Weighted fits and quantiles the measures are made of."""

import math

import numpy as np
from numpy.typing import NDArray

__all__ = [
    "correlation",
    "huber_line",
    "leverage_weights",
    "plane_fit",
    "quantiles",
    "reach_of",
    "reliability",
    "weighted_mean",
    "without_noise",
]

Floats = NDArray[np.float64]

#: Residuals beyond this many rms of the plain least-squares fit count linearly (Huber's loss).
#: Wide on purpose: a tower that fills a fifth of the picture is part of what the eye pools.
_HUBER_RMS = 2.0
_ROUNDS = 12
#: The nearest three quarters of the values make out how far the others may reach: so many times
#: their mean distance from the median (three times the half range, where values lie evenly), but
#: no less than so many times the median: a front that fills the picture leaves the street with it.
_MOST, _REACH, _LEAST = 0.75, 8.0, 2.0


def reach_of(x: Floats) -> tuple[float, float]:
    """Median of x (all above 0), and how far from it values still belong to most of the others.

    The trimmed mean of the distances holds against up to a quarter of values from far outside.
    """
    middle = float(np.median(x))
    off = np.abs(x - middle)
    most = max(1, math.ceil(_MOST * off.size))
    reach = _REACH * float(np.partition(off, most - 1)[:most].mean())
    return middle, max(reach, _LEAST * abs(middle))


def leverage_weights(x: Floats, middle: float, reach: float) -> Floats:
    """How much each x may pull a fit: 1 within half the reach, 0 out of it, a biweight between.

    What stands far outside the rest of the x (a rail near the lens) has leverage that no loss on
    residuals bounds, so it is bounded here (generalized M-estimation of Mallows' type with Tukey's
    biweight: Maronna, Martin & Yohai, *Robust Statistics*, 2006, from memory).
    """
    off = np.clip(2.0 * np.abs(x - middle) / reach - 1.0, 0.0, 1.0)
    return np.asarray((1.0 - off * off) ** 2)


def huber_line(x: Floats, y: Floats, weight: Floats) -> tuple[float, float]:
    """Slope and intercept of ``y ~ a x + b`` under Huber's loss, by reweighted least squares.

    Parameters
    ----------
    x, y, weight : ndarray, shape (N,)
        Weights >= 0, not all 0.

    Returns
    -------
    tuple of 2 floats
        ``(0, mean of y)`` where x does not vary.
    """
    a, b = _line(x, y, weight)
    residual = y - a * x - b
    limit = _HUBER_RMS * math.sqrt(weighted_mean(residual * residual, weight))
    if not limit > 1e-12 * float(np.abs(y).max(initial=0.0)):
        return a, b
    for _ in range(_ROUNDS):
        shrink = np.minimum(1.0, limit / np.maximum(np.abs(residual), 1e-300))
        before = a
        a, b = _line(x, y, weight * shrink)
        if abs(a - before) <= 1e-9 * abs(a):
            break
        residual = y - a * x - b
    return a, b


def without_noise(
    line: tuple[float, float], x: Floats, y: Floats, weight: Floats, noise: Floats, shared: float
) -> tuple[float, float]:
    """Mend a line whose x carries noise, which alone makes it too flat (errors in variables).

    With noise of variance V in x, and `shared` times the same noise in y, least squares give
    ``a L + shared (1 - L)`` in place of a, ``L = 1 - V / var(x)`` (attenuation: Fuller,
    *Measurement Error Models*, 1987, from memory; the shared term derived here).

    Parameters
    ----------
    line : tuple of 2 floats
        Slope and intercept as fitted.
    noise : ndarray, shape (N,)
        Standard deviation of each x.
    shared : float
        Slope of y on x for the noise alone.
    """
    kept = reliability(x, weight, noise)
    if kept >= 1.0:
        return line
    slope = (line[0] - shared * (1.0 - kept)) / kept
    mean_x, mean_y = weighted_mean(x, weight), weighted_mean(y, weight)
    return slope, mean_y - slope * mean_x


def reliability(x: Floats, weight: Floats, noise: Floats) -> float:
    """Share of the variance of x that is not noise, 0.3 to 1; below that nobody can tell."""
    mean = weighted_mean(x, weight)
    variance = weighted_mean((x - mean) ** 2, weight)
    lost = weighted_mean(noise * noise, weight)
    return max(0.3, 1.0 - lost / variance) if variance > 0 and lost > 0 else 1.0


def weighted_mean(value: Floats | NDArray[np.bool_], weight: Floats) -> float:
    """Mean of values, or share of those that are true, by weights >= 0 that are not all 0."""
    return _dot(value, weight) / float(weight.sum())


def plane_fit(x: Floats, y: Floats, value: Floats, weight: Floats) -> tuple[Floats, float]:
    """Least-squares plane ``value ~ gx x + gy y + c`` and the share of variance it explains.

    Returns
    -------
    coefficients : ndarray, shape (3,)
        gx, gy, c.
    explained : float
        0 to 1; 1 where the values do not vary.
    """
    rows = (x, y, np.ones_like(x))
    weighted = [weight * row for row in rows]
    normal = np.array([[_dot(one, other) for other in rows] for one in weighted])
    right = np.array([_dot(one, value) for one in weighted])
    coefficients = np.asarray(np.linalg.lstsq(normal, right, rcond=None)[0], float)
    gx, gy, c = coefficients
    total = weighted_mean((value - weighted_mean(value, weight)) ** 2, weight)
    rest = weighted_mean((value - gx * x - gy * y - c) ** 2, weight)
    tiny = (1e-12 * np.abs(value).max(initial=0.0)) ** 2
    return coefficients, float(1.0 - rest / total) if total > tiny else 1.0


def correlation(x: Floats, y: Floats, weight: Floats) -> float:
    """Weighted Pearson correlation; 0 where either does not vary."""
    dx, dy = x - weighted_mean(x, weight), y - weighted_mean(y, weight)
    xx, yy = _dot(weight * dx, dx), _dot(weight * dy, dy)
    total = float(weight.sum())
    still = (xx <= total * (1e-10 * np.abs(x).max()) ** 2) or (
        yy <= total * (1e-10 * np.abs(y).max()) ** 2
    )
    return 0.0 if still else float(_dot(weight * dx, dy) / np.sqrt(xx * yy))


def quantiles(value: Floats, weight: Floats, at: tuple[float, ...]) -> Floats:
    """Weighted quantiles, shape (len(at),), each sample standing at the middle of its weight."""
    order = np.argsort(value, kind="stable")
    sorted_weight = weight[order]
    stand = np.cumsum(sorted_weight) - 0.5 * sorted_weight
    return np.asarray(np.interp(np.asarray(at) * sorted_weight.sum(), stand, value[order]))


def _line(x: Floats, y: Floats, weight: Floats) -> tuple[float, float]:
    mean_x, mean_y = weighted_mean(x, weight), weighted_mean(y, weight)
    dx = x - mean_x
    spread = _dot(weight * dx, dx)
    if spread <= weight.sum() * (1e-9 * np.abs(x).max(initial=0.0)) ** 2:
        return 0.0, mean_y
    a = _dot(weight * dx, y - mean_y) / spread
    return a, mean_y - a * mean_x


def _dot(a: Floats | NDArray[np.bool_], b: Floats) -> float:
    """Sum of products in one thread: a BLAS library wakes all of them for it, and waits."""
    return float(np.einsum("i,i", a, b))
