"""Compiled loops that find depth edges, part their mixed pixels and guess what they hide.

Plain arrays in, plain arrays out. Common to all kernels here:
``iz`` (H, W) f32 inverse depth 1/m; ``r`` (H, W) f32 signed blur radius, px;
``gain`` f32, the radius that one unit of inverse depth adds; ``flags`` (H, W) u8, bits
1 near side of an edge, 2 far side, 4 8 16 32 farther neighbour left right up down, 64 hides;
``index`` (H, W) i32, row of ``record`` or -1;
``record`` (n, RECORD) f32, its columns named in `render.engine.kernels.tables`.
"""

import math

import numpy as np

from render.compiled import loop, step
from render.engine.kernels.tables import (
    FAR,
    FAR_IZ,
    HIDDEN,
    HIDDEN_SHARE,
    NEAR,
    NEAR_IZ,
    NEAR_SHARE,
)

__all__ = [
    "LOOKS",
    "assign_rows",
    "average_hidden",
    "fill_hidden",
    "find_edges",
    "mark_hiding",
    "part_edges",
    "settle_records",
]


#: Flags of the pixels whose known behind is used: on the near side of an edge, or hiding.
LOOKS = 1 | 64

#: Cosine and sine of a quarter of a right angle: eight places on a ring.
_LONG, _SHORT = np.float32(math.cos(math.pi / 8)), np.float32(math.sin(math.pi / 8))


@step(forceinline=True)
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


@step()
def _apart(r, i, above, below, apart):
    """Mark where row i's radius is over 0.3 px from one of 8 neighbours; plain, for SIMD."""
    w, limit = r.shape[1], np.float32(0.3)
    for j in range(w):
        here = r[i, j]
        apart[j] = max(abs(r[above, j] - here), abs(r[below, j] - here)) > limit
    for j in range(w - 1):
        here = r[i, j]
        apart[j] |= (
            max(
                max(abs(r[above, j + 1] - here), abs(r[below, j + 1] - here)),
                abs(r[i, j + 1] - here),
            )
            > limit
        )
    for j in range(1, w):
        here = r[i, j]
        apart[j] |= (
            max(
                max(abs(r[above, j - 1] - here), abs(r[below, j - 1] - here)),
                abs(r[i, j - 1] - here),
            )
            > limit
        )


@loop()
def find_edges(iz, r, flags, row0, row1):
    """Set bits 1 to 32 of ``flags`` in rows row0 to row1."""
    h, w = iz.shape
    apart = np.empty(w, np.bool_)
    for i in range(row0, row1):
        _apart(r, i, max(i - 1, 0), min(i + 1, h - 1), apart)
        for j in range(w):
            flag = 0
            if apart[j]:
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


@step(forceinline=True)
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


@step(forceinline=True)
def _sides(down):
    """Bits of an edge whose farther neighbour lies before, and behind, along rows or down."""
    return (16, 32) if down else (4, 8)


@loop()
def mark_hiding(iz, r, flags, gain, row0, row1, column0, column1, down):
    """Set bit 64 where a walk from an edge finds something hidden: along rows, or down (1)."""
    before, behind = _sides(down)
    along = 1 - down
    for i in range(row0, row1):
        for j in range(column0, column1):
            for bit in (before, behind):
                if flags[i, j] & bit:
                    way = 1 if bit == before else -1
                    di, dj = way * down, way * along
                    for k in range(_walk(iz, r, flags, gain, i, j, di, dj, bit)):
                        flags[i + k * di, j + k * dj] |= 64


@loop()
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


@step(forceinline=True)
def _beyond(iz, r, i, j, di, dj):
    """The pixel one step on from (i, j), or (i, j) if that leaves it or crosses an edge."""
    h, w = iz.shape
    if i + di < 0 or j + dj < 0 or i + di >= h or j + dj >= w:
        return i, j
    if _edge(iz, r, i, j, di, dj) != 0:
        return i, j
    return i + di, j + dj


@loop()
def part_edges(picture, iz, r, behind, behind_iz, flags, index, record, row0, row1):
    """Part each edge pixel into near and far share; ``behind`` holds known far light, if any."""
    known = behind_iz.shape[0] > 0
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
            if known and side > 0 and behind_iz[i, j] < iz[i, j]:  # nan is not
                b0, b1, b2 = behind[i, j, 0], behind[i, j, 1], behind[i, j, 2]
                other = behind_iz[i, j]
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
            at = index[i, j]
            if side > 0:
                n0 = min(max(c0 - rest * b0, zero), c0)
                n1 = min(max(c1 - rest * b1, zero), c1)
                n2 = min(max(c2 - rest * b2, zero), c2)
                record[at, NEAR_IZ], record[at, FAR_IZ] = iz[i, j], other
            else:
                n0, n1, n2 = min(share * f0, c0), min(share * f1, c1), min(share * f2, c2)
                b0, b1, b2 = (c0 - n0) / rest, (c1 - n1) / rest, (c2 - n2) / rest
                record[at, NEAR_IZ], record[at, FAR_IZ] = other, iz[i, j]
            record[at, NEAR], record[at, NEAR + 1], record[at, NEAR + 2], record[at, NEAR_SHARE] = (
                n0,
                n1,
                n2,
                share,
            )
            record[at, FAR], record[at, FAR + 1], record[at, FAR + 2] = c0 - n0, c1 - n1, c2 - n2
            (
                record[at, HIDDEN],
                record[at, HIDDEN + 1],
                record[at, HIDDEN + 2],
                record[at, HIDDEN_SHARE],
            ) = b0, b1, b2, share


@step(forceinline=True)
def _fill(iz, r, flags, gain, index, record, i, j, di, dj, bit):
    """Add what lies beyond (i, j)'s edge to every pixel that hides it, weight 1/distance^1.5."""
    n = _walk(iz, r, flags, gain, i, j, di, dj, bit)
    source = index[i - di, j - dj]
    far_iz = iz[i - di, j - dj]
    for k in range(n):
        ii, jj = i + k * di, j + k * dj
        if flags[ii, jj] & 3:
            continue
        steps = np.float32(k + 1)
        weight = np.float32(1.0) / (steps * np.float32(math.sqrt(steps)))
        at = index[ii, jj]
        record[at, HIDDEN] += weight * record[source, HIDDEN]
        record[at, HIDDEN + 1] += weight * record[source, HIDDEN + 1]
        record[at, HIDDEN + 2] += weight * record[source, HIDDEN + 2]
        record[at, FAR_IZ] += weight * far_iz
        record[at, HIDDEN_SHARE] += weight


@loop()
def fill_hidden(iz, r, flags, gain, index, record, row0, row1, column0, column1, down):
    """Gather hidden colour and depth, summed with weights, from along rows or from down (1)."""
    before, behind = _sides(down)
    along = 1 - down
    for i in range(row0, row1):
        for j in range(column0, column1):
            for bit in (before, behind):
                if flags[i, j] & bit:
                    way = 1 if bit == before else -1
                    di, dj = way * down, way * along
                    _fill(iz, r, flags, gain, index, record, i, j, di, dj, bit)


@loop()
def average_hidden(flags, index, record, sums, reach, row0, row1):
    """Average what is filled in over those around: ``reach`` of the way to the edge, less a pixel.

    One pixel's colour, carried on behind an edge, would leave streaks across it. Eight places on
    a ring stand for the surroundings; called twice, with a smaller ring, for 81.
    sums (n, 5) f32 holds the record's depth, colour and weight, and gets their averages.
    """
    h, w = flags.shape
    for i in range(row0, row1):
        for j in range(w):
            at = index[i, j]
            if flags[i, j] & 3 or not flags[i, j] & 64:
                continue
            total = record[at, HIDDEN_SHARE]
            root = np.float32(np.cbrt(total))
            ring = reach / (root * root) - np.float32(1.0)  # weight 1/distance^1.5
            if ring < np.float32(1.0):
                continue
            long, short = int(_LONG * ring + np.float32(0.5)), int(_SHORT * ring + np.float32(0.5))
            met = np.float32(1.0)
            for k in range(8):
                down, across = (long, short) if k & 4 else (short, long)
                ii = i + (down if k & 1 else -down)
                jj = j + (across if k & 2 else -across)
                if not (0 <= ii < h and 0 <= jj < w):
                    continue
                if flags[ii, jj] & 3 or not flags[ii, jj] & 64:
                    continue
                met += np.float32(1.0)
                for q in range(5):
                    sums[at, q] += record[index[ii, jj], FAR_IZ + q]
            for q in range(5):
                sums[at, q] /= met


@loop()
def settle_records(picture, iz, behind, behind_iz, flags, index, record, row0, row1):
    """Turn the sums of plain pixels into means, or take what is known to lie behind them."""
    known = behind_iz.shape[0] > 0
    for i in range(row0, row1):
        for j in range(iz.shape[1]):
            if flags[i, j] & 3 or not flags[i, j] & 64:
                continue
            at = index[i, j]
            record[at, NEAR], record[at, NEAR + 1], record[at, NEAR + 2] = (
                picture[i, j, 0],
                picture[i, j, 1],
                picture[i, j, 2],
            )
            record[at, NEAR_SHARE], record[at, NEAR_IZ] = np.float32(1.0), iz[i, j]
            if known and behind_iz[i, j] < iz[i, j]:
                record[at, FAR_IZ] = behind_iz[i, j]
                for q in range(3):
                    record[at, HIDDEN + q] = behind[i, j, q]
            else:
                total = record[at, HIDDEN_SHARE]
                for q in range(FAR_IZ, HIDDEN_SHARE):
                    record[at, q] /= total
            record[at, HIDDEN_SHARE] = np.float32(1.0)
