"""A thing along a stroke, as the small network of `insides.py` knows it, square by square.

The network is shown the stroke in squares that overlap along it, so that a long rail is seen as
finely as a short one. Numbers were chosen on rails over busy pictures: `render/depth/README.md`.
"""

from concurrent.futures import ThreadPoolExecutor

import numpy as np
from numpy.typing import NDArray

from render.depth.near.insides import SIDE, Square
from render.depth.near.looks import Looks
from render.depth.near.strip import length_px, places_along
from render.threads import thread_count

__all__ = ["known_along"]

Plane = NDArray[np.float32]

#: Side of a square: of the thing's width, and at least of the long side and in all, px.
_WIDTHS, _LEAST_SHARE, _LEAST_PX = 10.0, 0.09, 96.0
_COARSE = 4.5  # times the least side: borders are told better by the strip
_APART = 0.5  # of a side, between squares
_LIKELY, _LEAST_SURE = 0.5, 0.86
_FOLLOWED = 0.7  # of the stroke, for the thing to be known


def known_along(
    light: Plane, line_px: NDArray[np.float64], width_px: float
) -> NDArray[np.bool_] | None:
    """Region of the thing along a stroke, or None where the network does not know it.

    Parameters
    ----------
    light : ndarray, shape (H, W, 3), float32
        Linear light.
    line_px : ndarray, shape (K, 2)
        The stroke.
    width_px : float
        About how wide the thing is.
    """
    from scipy.ndimage import label

    looks = Looks.at(light)
    least_px = max(_LEAST_SHARE * max(looks.shape), _LEAST_PX)
    sides = [least_px, *([_WIDTHS * width_px] if _WIDTHS * width_px > 1.5 * least_px else [])]
    seen = [_likely_along(looks, line_px, side_px) for side_px in sides]
    likely = max(seen, key=_sureness)
    coarse = likely is not seen[0] and sides[-1] > _COARSE * least_px
    if coarse or _sureness(likely) < _LEAST_SURE:  # leaves mostly, and broad boards
        return None
    region = likely > _LIKELY
    points = _spread(line_px, 2.0).astype(int)
    inside = ((points >= 0) & (points < looks.shape[::-1])).all(axis=1)
    x, y = points[inside].T
    pieces, _ = label(region, np.ones((3, 3)))
    met = pieces[y, x]
    if not len(met) or np.mean(met > 0) < _FOLLOWED:
        return None
    return np.isin(pieces, np.unique(met[met > 0]))


def _likely_along(looks: Looks, line_px: NDArray[np.float64], side_px: float) -> Plane:
    """How likely each pixel belongs to the thing, from squares of one size along a stroke."""
    places = _spread(line_px, _APART * side_px)
    squares = [Square((float(x), float(y)), side_px) for x, y in places]
    nothing = np.zeros((SIDE, SIDE), np.float32)
    with ThreadPoolExecutor(min(thread_count(), len(squares))) as pool:
        seen = list(pool.map(lambda s: looks.seen(s, s.stroke(line_px), nothing), squares))
    fall = 1.02 - np.abs(np.linspace(-1.0, 1.0, SIDE))
    weight = np.minimum(fall[:, None], fall[None, :]).astype(np.float32)
    likely, total = np.zeros((2, *looks.shape), np.float32)
    for square, (found, held) in zip(squares, seen, strict=True):
        likely += looks.laid(square, found * weight, held)
        total += looks.laid(square, weight, held)
    return np.asarray(likely / np.maximum(total, 1e-6), np.float32)


def _sureness(likely: Plane) -> float:
    """Overlap with the truth to be expected if pixels were independent."""
    region = likely > _LIKELY
    either = float(region.sum()) + float(likely[~region].sum())
    return float(likely[region].sum()) / max(either, 1.0)


def _spread(line_px: NDArray[np.float64], apart_px: float) -> NDArray[np.float64]:
    """Places along a line, so far apart at most, each in the middle of its part."""
    whole = length_px(line_px)
    count = max(1, int(np.ceil(whole / apart_px)))
    return places_along(line_px, (np.arange(count) + 0.5) * whole / count)
