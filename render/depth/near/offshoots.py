"""What grows out of a thing near the lens: the bars of a railing, the twigs of a branch.

They have the thing's colours, are no thicker, hang together with it, and are long for their width.
Numbers were chosen on three railings with known depth: `render/depth/README.md`.
"""

import numpy as np
import scipy
from numpy.typing import NDArray

from render.depth.near.colours import Colours, by_shade

__all__ = ["with_offshoots"]

_LIKELIER = 1.0  # logarithm of how much likelier a colour is the thing's than the rest's
_FAT = 0.85  # of the thing's half width: what holds a square of it is no offshoot
_LONGER, _SLIMMER, _NO_THICKER = 3.0, 9.0, 1.3  # widths long, length to width, widths thick


def with_offshoots(coded: NDArray[np.float32], region: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """The region with its offshoots.

    Parameters
    ----------
    coded : ndarray, shape (h, w, 3), float32
        Coded light of the picture.
    region : ndarray of bool, shape (h, w)
        A thing that was cut out along a stroke.
    """
    deep = scipy.ndimage.distance_transform_edt(np.pad(region, 1))[1:-1, 1:-1]
    ridge = region & (deep == scipy.ndimage.maximum_filter(deep, 5))
    if not ridge.any():
        return region
    half_px = float(np.median(deep[ridge]))
    beyond = ~scipy.ndimage.binary_dilation(region, iterations=2)
    core = region & (deep >= min(1.5, 0.6 * half_px))
    if not beyond.any():
        return region
    own, rest = (
        Colours.of(coded[part].astype(float), most) for part, most in ((core, 4), (beyond, 10))
    )
    alike = by_shade(lambda shade: own.likelihood(shade) - rest.likelihood(shade), coded)
    likelier = (alike > _LIKELIER) & ~region
    fat = scipy.ndimage.binary_opening(likelier, iterations=max(1, int(np.ceil(_FAT * half_px))))
    likelier &= ~scipy.ndimage.binary_dilation(fat, iterations=2)
    names, _ = scipy.ndimage.label(likelier, np.ones((3, 3)))
    touching = np.unique(names[scipy.ndimage.binary_dilation(region, iterations=3)])
    found = region.copy()
    for name in touching[touching > 0]:
        part = names == name
        if _is_slim(part, 2.0 * half_px):
            found |= part
    return np.asarray(scipy.ndimage.binary_closing(found, iterations=2) | found)


def _is_slim(part: NDArray[np.bool_], thing_px: float) -> bool:
    """Whether a part is longer than the thing is wide, and neither thick nor stout."""
    rows, columns = np.nonzero(part)
    length = float(np.hypot(np.ptp(rows) + 1, np.ptp(columns) + 1))
    width = len(rows) / length
    long = length > _LONGER * thing_px and length > _SLIMMER * width
    return long and width < _NO_THICKER * thing_px
