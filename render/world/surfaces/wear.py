"""What weather, feet and repairs leave on a surface: drips, bare patches, cracks, moss, stains.

Amounts were chosen by eye and against the local contrast of photographs of fronts; no table of
such stains was found. Every mark fades with the footprint, and few are wide, so that the mean of
a surface stays what its words say.
"""

import math

from render.compiled import step
from render.world.surfaces.noise import cell, covered, fade, noise

__all__ = ["bare", "crack", "drips", "mended", "sooty", "spots"]

#: Width of one drip's strip, and height in which one begins, metres.
_STRIP_M, _FALL_M = 0.26, 2.9


@step()
def drips(u, v, foot, seed):
    """Rain carries dirt down from ledges: dark at its upper end, thinning out below, 0 to 1."""
    k = fade(foot, 1.5 * _STRIP_M)
    if k == 0.0:
        return 0.0
    total = 0.0
    for side in range(2):
        x = u / _STRIP_M + 0.5 * side
        column = math.floor(x)
        y = v / _FALL_M + cell(column, side, seed)
        row = math.floor(y)
        pick = cell(column, row, seed + 1 + side)
        if pick > 0.45:
            continue
        across = 2 * abs(x - column - 0.5 + 0.12 * noise(v / 0.5, column, seed + 3))
        wide = 0.25 + 0.7 * cell(row, column, seed + 4)
        if across < wide:
            down = (row + 1 - y) * _FALL_M
            edge = min(down / 0.03, 1.0)
            total += edge * (1 - across / wide) * math.exp(-down / (0.25 + 2.2 * pick))
    return k * min(total, 1.0)


@step()
def bare(cloud, u, v, size, share, foot):
    """Where a coat has come off: high parts of a cloud of that size, sharp-edged, 0 to 1."""
    high = cloud - 0.62 + 0.5 * share
    if high < -0.12:
        return 0.0
    ragged = high + 0.12 * noise(u / 0.05, v / 0.05, 9)
    return fade(foot, 0.3 * size) * min(max(ragged / (0.03 + 2 * foot / size), 0.0), 1.0)


@step()
def crack(u, v, size, foot, seed):
    """A thin line that wanders, here and there, 0 to 1."""
    k = fade(foot, 0.16)
    if k == 0.0:
        return 0.0
    here = noise(u / (2.3 * size), v / (2.3 * size), seed + 1)
    if here < 0.1:
        return 0.0
    bend = 0.30 * noise(u / 0.11, v / 0.11, seed + 2)
    way = noise(u / size, v / size, seed) + 0.10 * bend
    return k * covered(abs(way) * size * 0.5, 0.006 + 0.012 * here, foot)


@step()
def mended(u, v, size, share, foot, seed):
    """Repairs with straight edges: 0 outside, -1 dark (its seam) to 1 pale inside."""
    k = fade(foot, 0.7 * size)
    if k == 0.0:
        return 0.0
    row = math.floor(v / (0.8 * size))
    x = u / (1.7 * size) + cell(row, 5, seed)
    column = math.floor(x)
    pick = cell(column, row, seed + 1)
    if pick > share:
        return 0.0
    du = abs(x - column - 0.5)
    dv = abs(v / (0.8 * size) - row - 0.5)
    wide, tall = 0.2 + 0.25 * cell(row, column, seed + 2), 0.18 + 0.28 * pick / share
    inward = min((wide - du) * 1.7, (tall - dv) * 0.8) * size
    if inward < 0:
        return 0.0
    return -k if inward < 0.03 else k * (2 * pick / share - 1)


@step()
def sooty(v, u, foot, seed):
    """Splashes and damp near the ground, uneven along it, 0 to 1."""
    low = 0.35 + 0.25 * noise(u / 0.7, 0.3, seed) + 0.10 * noise(u / 0.16, v / 0.2, seed + 1)
    return min(max(1.0 - v / max(low, 0.05), 0.0), 1.0) if v > -0.5 else 1.0


@step()
def spots(u, v, size, share, foot, seed):
    """Round dark or pale spots, one to a cell of `size` at most: 0 outside, else 0 to 1."""
    k = fade(foot, 0.25 * size)
    if k == 0.0:
        return 0.0
    i, j = math.floor(u / size), math.floor(v / size)
    pick = cell(i, j, seed)
    if pick > share:
        return 0.0
    du = u / size - i - 0.3 - 0.4 * cell(i, j, seed + 1)
    dv = v / size - j - 0.3 - 0.4 * cell(i, j, seed + 2)
    wide = 0.08 + 0.2 * cell(i, j, seed + 3)
    soft = 0.3 * wide + foot / size
    return k * min(max((wide - math.hypot(du, dv)) / soft, 0.0), 1.0)
