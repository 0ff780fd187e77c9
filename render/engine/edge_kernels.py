"""Compiled loops that find depth edges, part their mixed pixels and guess what they hide.

Plain arrays in, plain arrays out. Common to all kernels here:
``iz`` (H, W) f32 inverse depth 1/m; ``r`` (H, W) f32 signed blur radius, px;
``gain`` f32, the radius that one unit of inverse depth adds; ``flags`` (H, W) u8, bits
1 near side of an edge, 2 far side, 4 8 16 32 farther neighbour left right up down, 64 hides;
``index`` (H, W) i32, row of ``record`` or -1;
``record`` (n, 13) f32: near r g b, share, iz | far r g b, iz | hidden r g b, share.
"""

import numpy as np
from numba import njit

__all__ = [
    "assign_rows",
    "fill_columns",
    "fill_rows",
    "find_edges",
    "mark_columns",
    "mark_rows",
    "part_edges",
    "settle_records",
]


@njit(cache=True, nogil=True, inline="always")
def _edge(iz, r, i, j, di, dj):
    """+1 if (i, j) is near side of an edge towards (di, dj), -1 if far side, else 0."""
    h, w = iz.shape
    i1, j1 = i + di, j + dj
    if i1 < 0 or j1 < 0 or i1 >= h or j1 >= w:
        return 0
    if abs(r[i, j] - r[i1, j1]) <= np.float32(0.3):
        return 0
    here, there = iz[i, j], iz[i1, j1]
    step = abs(here - there)
    if step <= np.float32(0.01) * max(here, there):
        return 0
    i2, j2 = min(max(i1 + di, 0), h - 1), min(max(j1 + dj, 0), w - 1)
    i0, j0 = min(max(i - di, 0), h - 1), min(max(j - dj, 0), w - 1)
    slope = min(abs(iz[i2, j2] - there), abs(here - iz[i0, j0]))
    if step <= np.float32(2.5) * slope:
        return 0
    return 1 if here > there else -1


@njit(cache=True, nogil=True)
def find_edges(iz, r, flags, row0, row1):
    """Set bits 1 to 32 of ``flags`` in rows row0 to row1."""
    h, w = iz.shape
    for i in range(row0, row1):
        for j in range(w):
            here = r[i, j]
            low, high = here, here
            for ii in range(max(i - 1, 0), min(i + 2, h)):
                for jj in range(max(j - 1, 0), min(j + 2, w)):
                    low, high = min(low, r[ii, jj]), max(high, r[ii, jj])
            flag = 0
            if high - here > np.float32(0.3) or here - low > np.float32(0.3):
                for di in range(-1, 2):
                    for dj in range(-1, 2):
                        side = _edge(iz, r, i, j, di, dj)
                        if side > 0:
                            flag |= 1
                            if di == 0:
                                flag |= 4 if dj < 0 else 8
                            elif dj == 0:
                                flag |= 16 if di < 0 else 32
                        elif side < 0:
                            flag |= 2
            flags[i, j] = flag


@njit(cache=True, nogil=True, inline="always")
def _walk(iz, r, flags, gain, i, j, di, dj, bit):
    """Count the pixels from (i, j) along (di, dj) that hide the surface beyond (i, j)'s edge."""
    h, w = iz.shape
    far = iz[i - di, j - dj]
    n = 0
    while 0 <= i < h and 0 <= j < w:
        if n > 0 and flags[i, j] & bit:
            break
        lead = iz[i, j] - far
        if lead <= np.float32(0.01) * iz[i, j]:
            break
        if np.float32(n) > abs(gain * lead) + np.float32(2.0):
            break
        n += 1
        i += di
        j += dj
    return n


@njit(cache=True, nogil=True)
def mark_rows(iz, r, flags, gain, row0, row1):
    """Set bit 64 where a walk left or right from an edge finds something hidden."""
    for i in range(row0, row1):
        for j in range(iz.shape[1]):
            if flags[i, j] & 4:
                for k in range(_walk(iz, r, flags, gain, i, j, 0, 1, 4)):
                    flags[i, j + k] |= 64
            if flags[i, j] & 8:
                for k in range(_walk(iz, r, flags, gain, i, j, 0, -1, 8)):
                    flags[i, j - k] |= 64


@njit(cache=True, nogil=True)
def mark_columns(iz, r, flags, gain, column0, column1):
    """Set bit 64 where a walk up or down from an edge finds something hidden."""
    for i in range(iz.shape[0]):
        for j in range(column0, column1):
            if flags[i, j] & 16:
                for k in range(_walk(iz, r, flags, gain, i, j, 1, 0, 16)):
                    flags[i + k, j] |= 64
            if flags[i, j] & 32:
                for k in range(_walk(iz, r, flags, gain, i, j, -1, 0, 32)):
                    flags[i - k, j] |= 64


@njit(cache=True, nogil=True)
def assign_rows(flags, index):
    """Number the pixels that need a record, row by row; returns how many there are."""
    n = 0
    for i in range(flags.shape[0]):
        for j in range(flags.shape[1]):
            if flags[i, j] & 67:
                index[i, j] = n
                n += 1
            else:
                index[i, j] = -1
    return n


@njit(cache=True, nogil=True, inline="always")
def _beyond(iz, r, i, j, di, dj):
    """The pixel one step on from (i, j), or (i, j) if that leaves it or crosses an edge."""
    h, w = iz.shape
    if i + di < 0 or j + dj < 0 or i + di >= h or j + dj >= w:
        return i, j
    if _edge(iz, r, i, j, di, dj) != 0:
        return i, j
    return i + di, j + dj


@njit(cache=True, nogil=True)
def part_edges(picture, iz, r, flags, index, record, row0, row1):
    """Part each edge pixel into near and far share (steps 3 of the recipe)."""
    zero, one = np.float32(0.0), np.float32(1.0)
    for i in range(row0, row1):
        for j in range(iz.shape[1]):
            kind = flags[i, j] & 3
            if kind == 0:
                continue
            side = 1 if kind & 1 else -1
            n = zero
            f0, f1, f2, b0, b1, b2, other = zero, zero, zero, zero, zero, zero, zero
            for di in range(-1, 2):
                for dj in range(-1, 2):
                    if _edge(iz, r, i, j, di, dj) != side:
                        continue
                    qi, qj = _beyond(iz, r, i + di, j + dj, di, dj)
                    pi, pj = _beyond(iz, r, i, j, -di, -dj)
                    if side < 0:
                        qi, qj, pi, pj = pi, pj, qi, qj
                    f0 += picture[pi, pj, 0]
                    f1 += picture[pi, pj, 1]
                    f2 += picture[pi, pj, 2]
                    b0 += picture[qi, qj, 0]
                    b1 += picture[qi, qj, 1]
                    b2 += picture[qi, qj, 2]
                    other += iz[i + di, j + dj]
                    n += one
            f0, f1, f2, b0, b1, b2, other = (
                f0 / n,
                f1 / n,
                f2 / n,
                b0 / n,
                b1 / n,
                b2 / n,
                other / n,
            )
            c0, c1, c2 = picture[i, j, 0], picture[i, j, 1], picture[i, j, 2]
            contrast = (f0 - b0) ** 2 + (f1 - b1) ** 2 + (f2 - b2) ** 2
            if contrast < np.float32(0.001):
                share = one if side > 0 else zero
            else:
                share = (
                    (c0 - b0) * (f0 - b0) + (c1 - b1) * (f1 - b1) + (c2 - b2) * (f2 - b2)
                ) / contrast
                if side > 0:
                    share = min(max(share, np.float32(0.5)), one)
                else:
                    share = min(max(share, zero), np.float32(0.5))
            rest = one - share
            out = record[index[i, j]]
            if side > 0:
                n0 = min(max(c0 - rest * b0, zero), c0)
                n1 = min(max(c1 - rest * b1, zero), c1)
                n2 = min(max(c2 - rest * b2, zero), c2)
                out[4], out[8] = iz[i, j], other
            else:
                n0, n1, n2 = min(share * f0, c0), min(share * f1, c1), min(share * f2, c2)
                b0, b1, b2 = (c0 - n0) / rest, (c1 - n1) / rest, (c2 - n2) / rest
                out[4], out[8] = other, iz[i, j]
            out[0], out[1], out[2], out[3] = n0, n1, n2, share
            out[5], out[6], out[7] = c0 - n0, c1 - n1, c2 - n2
            out[9], out[10], out[11], out[12] = b0, b1, b2, share


@njit(cache=True, nogil=True, inline="always")
def _fill(iz, r, flags, gain, index, record, i, j, di, dj, bit):
    """Add what lies beyond (i, j)'s edge to every pixel that hides it, weight 1/distance^1.5."""
    n = _walk(iz, r, flags, gain, i, j, di, dj, bit)
    far = record[index[i - di, j - dj]]
    far_iz = iz[i - di, j - dj]
    for k in range(n):
        ii, jj = i + k * di, j + k * dj
        if flags[ii, jj] & 3:
            continue
        weight = np.float32(k + 1) ** np.float32(-1.5)
        out = record[index[ii, jj]]
        out[9] += weight * far[9]
        out[10] += weight * far[10]
        out[11] += weight * far[11]
        out[8] += weight * far_iz
        out[12] += weight


@njit(cache=True, nogil=True)
def fill_rows(iz, r, flags, gain, index, record, row0, row1):
    """Gather hidden colour and depth (summed with weights) from left and right."""
    for i in range(row0, row1):
        for j in range(iz.shape[1]):
            if flags[i, j] & 4:
                _fill(iz, r, flags, gain, index, record, i, j, 0, 1, 4)
            if flags[i, j] & 8:
                _fill(iz, r, flags, gain, index, record, i, j, 0, -1, 8)


@njit(cache=True, nogil=True)
def fill_columns(iz, r, flags, gain, index, record, column0, column1):
    """Gather hidden colour and depth (summed with weights) from above and below."""
    for i in range(iz.shape[0]):
        for j in range(column0, column1):
            if flags[i, j] & 16:
                _fill(iz, r, flags, gain, index, record, i, j, 1, 0, 16)
            if flags[i, j] & 32:
                _fill(iz, r, flags, gain, index, record, i, j, -1, 0, 32)


@njit(cache=True, nogil=True)
def settle_records(picture, iz, flags, index, record, row0, row1):
    """Turn the sums of plain pixels into means and give them their own light as near share."""
    for i in range(row0, row1):
        for j in range(iz.shape[1]):
            if flags[i, j] & 3 or not flags[i, j] & 64:
                continue
            out = record[index[i, j]]
            out[0], out[1], out[2] = picture[i, j, 0], picture[i, j, 1], picture[i, j, 2]
            out[3], out[4] = np.float32(1.0), iz[i, j]
            total = out[12]
            out[8] /= total
            out[9] /= total
            out[10] /= total
            out[11] /= total
            out[12] = np.float32(1.0)
