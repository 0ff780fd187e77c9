"""Exposure flicker evened: each frame's light follows the running mean of its neighbours."""

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import gaussian_filter1d

__all__ = ["brightness_step", "evening_gains"]

#: Light that is neither lost in the dark nor clipped.
_DARK, _BRIGHT = 0.01, 0.9


def brightness_step(one: NDArray[np.float32], other: NDArray[np.float32]) -> float:
    """How much brighter `other` is exposed than `one`, natural log.

    The median over pixels of the ratio of their light: what stands still outnumbers what moves,
    so people and cars that come and go change nothing. 0 where nothing is well exposed in both.

    Parameters
    ----------
    one, other : ndarray, shape (H, W, 3), float32
        Linear light of the same place.
    """
    a, b = (each[..., 1].ravel() for each in (one, other))
    good = (a > _DARK) & (a < _BRIGHT) & (b > _DARK) & (b < _BRIGHT)
    if np.count_nonzero(good) < 100:
        return 0.0
    return float(np.median(np.log(b[good] / a[good])))


def evening_gains(steps: NDArray[np.float64], seconds: NDArray[np.float64]) -> NDArray[np.float64]:
    """Factor for each frame's light that takes out what changes faster than a second.

    Parameters
    ----------
    steps : ndarray, shape (n,)
        Brightness of every frame against one and the same frame, natural log.
    seconds : ndarray, shape (n,)
        When each is shown in the film.

    Returns
    -------
    ndarray, shape (n,)
        ``exp(smooth - step)``, smooth a Gaussian mean over about a second of film (sigma 0.5 s):
        dusk still falls.
    """
    if len(steps) < 2:
        return np.ones(len(steps))
    pace = float(np.median(np.diff(seconds)))
    smooth = gaussian_filter1d(steps, 0.5 / max(pace, 1e-6), mode="nearest")
    return np.asarray(np.exp(smooth - steps))
