"""Which bin a blur radius belongs to, and the parts of a pixel that go into bins."""

import numpy as np

from render.compiled import step
from render.engine.kernels.tables import (
    FAR,
    FAR_IZ,
    HIDDEN,
    HIDDEN_SHARE,
    NEAR,
    NEAR_IZ,
    NEAR_SHARE,
)

__all__ = ["bin_of", "buffer_side", "is_small", "part_of"]


@step(forceinline=True)
def _size_class(r):
    """Class of a blur radius in px: borders 0.3, 0.7, 1.2, 2, 4, 6, 8, then half octaves."""
    if r < np.float32(2.0):
        if r < np.float32(0.3):
            return 0
        if r < np.float32(0.7):
            return 1
        return 2 if r < np.float32(1.2) else 3
    if r < np.float32(8.0):
        if r < np.float32(4.0):
            return 4
        return 5 if r < np.float32(6.0) else 6
    bits = np.float32(r * r).view(np.int32) >> 23  # each power of 2 in r^2 is half an octave in r
    return min(bits - 126, 31)


@step(forceinline=True)
def bin_of(r, hidden):
    """Bin of a signed blur radius in px."""
    size = _size_class(abs(r))
    if hidden:
        size = 0 if size < 3 else (size + 1) // 2 - 1  # 1.2, 2, 4, 8, 16 ...
        return 80 - size if r > 0 else 80 + size
    return 32 - size if r > 0 else 32 + size


@step(forceinline=True)
def is_small(key):
    """Whether a bin is spread by the 3 x 3 kernel instead of row differences."""
    return 30 <= key <= 34 or key == 80


@step(forceinline=True)
def buffer_side(level, side):
    """Rows (= columns) of a tile's buffer at a level."""
    return side if level == 0 else (side >> level) + 3


@step(forceinline=True)
def part_of(picture, defocus, iz, index, record, optic, i, j, part):
    """Part 0 near, 1 far or 2 hidden of picture position (i, j): r, g, b, share, defocus.

    Positions outside the picture repeat its edge, no brighter than 1, at their own defocus.
    """
    h, w = iz.shape
    one = np.float32(1.0)
    ci, cj = min(max(i, 0), h - 1), min(max(j, 0), w - 1)
    d = defocus[ci, cj]
    n = index[ci, cj]
    if n < 0:
        r, g, b, share = picture[ci, cj, 0], picture[ci, cj, 1], picture[ci, cj, 2], one
    elif part == 0:
        r, g, b = record[n, NEAR], record[n, NEAR + 1], record[n, NEAR + 2]
        share = record[n, NEAR_SHARE]
        d += optic.per_iz * (record[n, NEAR_IZ] - iz[ci, cj])
    elif part == 1:
        r, g, b = record[n, FAR], record[n, FAR + 1], record[n, FAR + 2]
        share = one - record[n, NEAR_SHARE]
        d += optic.per_iz * (record[n, FAR_IZ] - iz[ci, cj])
    else:
        share = record[n, HIDDEN_SHARE]
        r, g = record[n, HIDDEN] * share, record[n, HIDDEN + 1] * share
        b = record[n, HIDDEN + 2] * share
        d += optic.per_iz * (record[n, FAR_IZ] - iz[ci, cj])
    if ci != i or cj != j:
        d += optic.right * np.float32(j - cj) + optic.down * np.float32(i - ci)
        r, g, b = min(r, one), min(g, one), min(b, one)
    return r, g, b, share, d
