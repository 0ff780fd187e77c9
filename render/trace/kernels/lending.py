"""Neighbours whose first surface a pixel's other samples show: their shared light is borrowed.

A sample that meets another surface than its pixel's first would have one soft ray of its own:
along beams, shelves and mullions that leaves beads. The pixel beside it that looks at the same
surface has shared its soft and mirrored light with its neighbours, and lends that. Lamps' light,
whose shadows are thin beside what casts them, is each sample's own.
"""

import math

import numpy as np

from render.compiled import step
from render.trace.columns import DEPTH, FACE, LENT_BY, SLOTS, SOFT_NEARNESS, SOFT_RAYS
from render.trace.light import dot

__all__ = ["column_of", "lender", "row_of", "slot_for"]

#: How far two places may lie out of one plane, as a slope, and how alike their normals must be.
_OUT_OF_PLANE, _TURNED = 0.3, 0.95
#: How far a lender's light is a sample's own, as a share of the harmonic mean distance to what
#: sends soft light there; where it is worth as much as the sample's own rays; and up to where it
#: is asked for.
_SAME, _EVEN, _FAR = 0.1, 0.3, 0.6


@step(forceinline=True)
def row_of(by):
    """How many rows below the pixel its lender `by`, 1 to 9, lies: -1 to 1."""
    return (by - 1) // 3 - 1


@step(forceinline=True)
def column_of(by):
    """How many columns to the right of the pixel its lender `by`, 1 to 9, lies: -1 to 1."""
    return (by - 1) % 3 - 1


@step(forceinline=True)
def _away(sums, surface, key, eye, i, j, y, x, h, t, mark):
    """How far a sample at (x, y), depth t, lies from where pixel (i, j) is lit, inf if elsewhere.

    It is a share of the harmonic mean distance to what sends soft light there.
    """
    if not (0 <= i < key.shape[0] and 0 <= j < key.shape[1]) or key[i, j] != mark:
        return np.inf
    a, b, c = surface[i, j, 0], surface[i, j, 1], surface[i, j, 2]
    if (
        not a * dot(h, FACE, eye.right_x, eye.right_y, eye.right_z)
        + b * dot(h, FACE, eye.down_x, eye.down_y, eye.down_z)
        + c * dot(h, FACE, eye.ahead_x, eye.ahead_y, eye.ahead_z)
        > _TURNED
    ):
        return np.inf
    z = surface[i, j, DEPTH]
    p, q = (j + 0.5 - eye.centre_x), (i + 0.5 - eye.centre_y)
    u, v = x - eye.centre_x, y - eye.centre_y
    right, down = (u * t - p * z) * eye.slope, (v * t - q * z) * eye.slope
    off = a * right + b * down + c * (t - z)
    reach = (abs(u - p) + abs(v - q)) * z * eye.slope
    if abs(off) > _OUT_OF_PLANE * reach:
        return np.inf
    away = math.sqrt(right * right + down * down + (t - z) * (t - z))
    return away * sums[i, j, SOFT_NEARNESS] / max(sums[i, j, SOFT_RAYS], 1.0)


@step(forceinline=True)
def _worth(away):
    """Share of a sample's soft light that a lender so far away stands for; the rest is its own."""
    return 1.0 if away <= _SAME else 1 / (1 + (away / _EVEN) ** 2)


@step(forceinline=True)
def lender(sums, surface, key, eye, i, j, right, down, h, t, mark, held, each):
    """Which neighbour lends its light to a sample of pixel (i, j), 0: none does; and what share.

    right, down: where in the pixel the sample lies, 0 to 1.  held: numbers of the pixel's slots,
    `each` a slot, which go first, so that one surface has one lender.
    """
    y, x = i + down, j + right
    best, least = np.int64(0), _FAR
    for slot in range(SLOTS):
        by = np.int64(held[each * slot + LENT_BY])
        if by > 0:
            away = _away(
                sums, surface, key, eye, i + row_of(by), j + column_of(by), y, x, h, t, mark
            )
            if away <= _SAME:
                return by, 1.0
            if away < least:
                best, least = by, away
    across, along = (1 if right >= 0.5 else -1), (1 if down >= 0.5 else -1)
    for turn in range(8):  # on the sample's own side first
        a, b = across, along
        if turn == 0 or turn == 3:
            b = 0
        elif turn == 1 or turn == 4:
            a = 0
        if turn == 3 or turn == 5 or turn == 7:
            a = -across
        if turn == 4 or turn == 6 or turn == 7:
            b = -along
        away = _away(sums, surface, key, eye, i + b, j + a, y, x, h, t, mark)
        if away < least:
            best, least = np.int64(5 + 3 * b + a), away
        if away <= _SAME:
            break
    return best, _worth(least)


@step()
def slot_for(held, each, by):
    """Where in `held` the lender's numbers begin, taking a free slot; -1 if there is none."""
    for slot in range(SLOTS):
        at = each * slot
        if held[at + LENT_BY] == by:
            return at
        if held[at + LENT_BY] == 0:
            held[at + LENT_BY] = by
            return at
    return -1
