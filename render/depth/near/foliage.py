"""What is no solid thing along a stroke but leaves: cut out by colour, with what shows between.

Numbers were chosen on leafy branches laid over scenes, and on railings, posts and wires, which must
stay as they are: `render/depth/README.md`.
"""

import itertools
from collections.abc import Sequence

import numpy as np
import scipy
from numpy.typing import NDArray

from render.depth.near.colours import Colours, by_shade

__all__ = ["leaves_along"]

Mask = NDArray[np.bool_]

_REACH, _APART, _BEYOND = 0.05, 0.055, 0.11  # of the long side, from the stroke
_NOVEL = 0.03  # of what is beyond is as unlike the rest as what is new beside the stroke
_LIKELIER = 1.0  # logarithm of how much likelier a colour is the leaves' than the rest's
_INSIDE = 0.28  # of the solid region at least that has the new colours
_OUTSIDE = 0.45  # of the new colours that lie outside the solid region, or as much as fills it
_STRAY = 0.08  # of what is beyond at most that has them too
_COVER = (0.1, 0.5)  # of what is within reach
_LEAST_PX = 6


def leaves_along(
    coded: NDArray[np.float32], line_px: NDArray[np.float64], solid: Mask
) -> Mask | None:
    """Region of the leaves along a stroke, or None where a solid thing is the better guess.

    Leaves are what has colours that are new beside the stroke, where those fill little of the
    solid region and half of them lies outside it.

    Parameters
    ----------
    coded : ndarray, shape (h, w, 3), float32
        Coded light of the picture.
    line_px : ndarray, shape (K, 2)
        The stroke.
    solid : ndarray of bool, shape (h, w)
        What was cut out along it as one thing.
    """
    long_side = max(coded.shape[:2])
    away = _distance(line_px, solid.shape) / long_side
    within, beyond = away < _REACH, (away >= _APART) & (away < _BEYOND)
    if not beyond.any():
        return None
    rest = Colours.of(coded[beyond].astype(float), 10)
    unlike = -by_shade(rest.likelihood, coded)
    novel = within & (unlike > np.quantile(unlike[beyond], 1.0 - _NOVEL))
    if novel.sum() < 30:
        return None
    own = Colours.of(coded[novel].astype(float), 4)
    alike = by_shade(own.likelihood, coded) + unlike > _LIKELIER
    found = alike & within
    filled = float(found[solid].mean())
    if not (
        filled >= _INSIDE
        and (found & ~solid).sum() >= min(_OUTSIDE, filled) * found.sum()
        and alike[beyond].mean() <= _STRAY
        and _COVER[0] <= found[within].mean() <= _COVER[1]
    ):
        return None
    names, _ = scipy.ndimage.label(found, np.ones((3, 3)))
    sizes = np.bincount(names.ravel())
    return np.asarray(found & (sizes[names] >= _LEAST_PX))


def _distance(line_px: NDArray[np.float64], shape: Sequence[int]) -> NDArray[np.float64]:
    """Distance of every pixel from a line, px."""
    off = np.ones(tuple(shape), bool)
    for start, end in itertools.pairwise(line_px):
        count = 2 * int(np.abs(end - start).max()) + 2
        x, y = np.linspace(start, end, count).astype(int).T
        off[np.clip(y, 0, shape[0] - 1), np.clip(x, 0, shape[1] - 1)] = False
    return np.asarray(scipy.ndimage.distance_transform_edt(off))
