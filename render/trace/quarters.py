"""Pixels parted into quarters, so that a nearly sharp lens sees what a whole pixel averages.

Blur of a pixel or so takes out just what a pixel cannot hold: details finer than two of it, which
it shows as others that are not there.  The samples are taken anyway; here they are kept apart.
"""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from render.scene.scene import Finer
from render.threads import each_share
from render.trace.columns import QUARTER, QUARTER_LIGHT, QUARTER_SAMPLES
from render.trace.kernels.laying import laid_finer

__all__ = ["PARTED_UP_TO_PX", "WHOLE", "Quarters", "finer_of", "quarters_of"]

#: Pixels of no larger picture are parted, margin included: what they cannot hold shrinks with them.
PARTED_UP_TO_PX = 4_000_000
#: Blur below which they are, px.
_PARTED_PX = 3.0


class Quarters(NamedTuple):
    """What the samples of a picture add up to, by quarters of pixels, as the loops take it.

    Attributes
    ----------
    rows : ndarray, shape (H, W), int32
        Row of `sums` for a pixel that is parted, -1 for all others; or empty.
    sums : ndarray, shape (n, 4, QUARTER), float32
        Upper left, upper right, lower left, lower right; columns as in `render.trace.columns`.
    """

    rows: NDArray[np.int32]
    sums: NDArray[np.float32]


#: No pixel is parted.
WHOLE = Quarters(np.zeros((0, 0), np.int32), np.zeros((0, 4, QUARTER), np.float32))


def quarters_of(blur_px: NDArray[np.float32], sums: NDArray[np.float32]) -> Quarters:
    """Part the nearly sharp pixels, after the one sample through each pixel's centre.

    It counts a quarter in each of the four.
    """
    if blur_px.size > PARTED_UP_TO_PX:
        return WHOLE
    where = blur_px < _PARTED_PX
    before = np.append(0, np.cumsum(np.count_nonzero(where, axis=1)))
    rows = np.full(where.shape, -1, np.int32)
    parts = np.zeros((before[-1], 4, QUARTER), np.float32)

    def part(first: int, last: int) -> None:
        here, mine = where[first:last], slice(before[first], before[last])
        rows[first:last][here] = np.arange(mine.start, mine.stop, dtype=np.int32)
        light = sums[first:last, :, :QUARTER_LIGHT][here]
        parts[mine, :, :QUARTER_LIGHT] = (np.float32(0.25) * light)[:, None]
        parts[mine, :, QUARTER_SAMPLES] = 0.25

    each_share(len(where), part)
    return Quarters(rows, parts)


def finer_of(
    picture: NDArray[np.float32],
    depth_m: NDArray[np.float32],
    soft: NDArray[np.float32],
    sun: NDArray[np.float32],
    quarters: Quarters,
) -> Finer | None:
    """Light and depth of all quarters, whose soft light (H, W, 4) is that of their pixel.

    So is the share of the sun that they see, as `render.trace.penumbra` has it.

    Returns
    -------
    Finer or None
        None where no pixel is parted.
    """
    if not len(quarters.sums):
        return None
    height, width = depth_m.shape
    light = np.empty((2 * height, 2 * width, 3), np.float32)
    depths = np.empty(light.shape[:2], np.float32)
    laid = (picture, depth_m, soft, sun, *quarters, light, depths)
    each_share(height, lambda a, b: laid_finer(*laid, a, b))
    return Finer(light, depths)
