"""What textures are mixed from: numbers of cells, noise that fades with the footprint, lines.

`foot` is the footprint: metres of surface under one sample.
"""

import math

import numpy as np

from render.compiled import step
from render.world.surfaces.tables import f64

__all__ = ["between", "cell", "clouded", "covered", "fade", "mix", "noise", "resolved", "scale"]


@step()
def cell(i, j, seed):
    """A number in [0, 1) for a cell."""
    h = np.uint32(np.int64(i) & 0xFFFFFFFF) * np.uint32(0x9E3779B1)
    h ^= np.uint32(np.int64(j) & 0xFFFFFFFF) * np.uint32(0x85EBCA77)
    h ^= np.uint32(np.int64(seed) & 0xFFFFFFFF) * np.uint32(0xC2B2AE3D)
    h = np.uint32(h ^ (h >> np.uint32(15))) * np.uint32(0x2C1B3C6D)
    h = np.uint32(h ^ (h >> np.uint32(12))) * np.uint32(0x297A2D39)
    h = np.uint32(h ^ (h >> np.uint32(15)))
    return np.float64(h) * (1.0 / 4294967296.0)


@step()
def noise(u, v, seed):
    """Smooth value noise, -1..1, period of detail about 1."""
    i, j = math.floor(u), math.floor(v)
    a, b = u - i, v - j
    a = a * a * a * (a * (6 * a - 15) + 10)
    b = b * b * b * (b * (6 * b - 15) + 10)
    low = cell(i, j, seed) * (1 - a) + cell(i + 1, j, seed) * a
    high = cell(i, j + 1, seed) * (1 - a) + cell(i + 1, j + 1, seed) * a
    return 2 * (low * (1 - b) + high * b) - 1


@step()
def fade(foot, period):
    """1 where a detail of this period is resolved, 0 where it is not."""
    t = min(max((0.9 - foot / period) * (1 / 0.65), 0.0), 1.0)
    return t * t * (3 - 2 * t)


@step()
def resolved(u, v, seed, foot, period):
    """`noise`, faded as a detail of that period, and not asked where it is not resolved."""
    k = fade(foot, period)
    return k * noise(u, v, seed) if k > 0.0 else 0.0


@step()
def clouded(u, v, period, foot, seed):
    """Four octaves of noise from `period` down, each turned, each faded by the footprint."""
    total, weight = 0.0, 0.55
    x, y = u / period, v / period
    size = period
    for octave in range(4):
        k = fade(foot, size)
        if k == 0.0:
            break
        total += weight * k * noise(x, y, seed + octave)
        x, y = 1.57 * x - 1.21 * y + 3.7, 1.21 * x + 1.57 * y + 1.3
        size *= 0.505
        weight *= 0.55
    return total


@step()
def covered(distance, width, foot):
    """Share of the footprint that a line of `width` at `distance` covers."""
    low = max(distance - 0.5 * foot, -0.5 * width)
    high = min(distance + 0.5 * foot, 0.5 * width)
    return max(high - low, 0.0) / max(foot, 1e-6)


@step()
def mix(m, t, out):
    """The first colour of a material row at t = 0, the second at 1."""
    t = min(max(t, 0.0), 1.0)
    out[0] = f64(m, 1) + (f64(m, 4) - f64(m, 1)) * t
    out[1] = f64(m, 2) + (f64(m, 5) - f64(m, 2)) * t
    out[2] = f64(m, 3) + (f64(m, 6) - f64(m, 3)) * t


@step()
def scale(k, out):
    """All three colours k times as bright."""
    out[0] *= k
    out[1] *= k
    out[2] *= k


@step()
def between(x, y, seed):
    """How much farther the second of points, one to a cell, lies than the nearest; 0 midway."""
    i, j = math.floor(x), math.floor(y)
    first, second = 9.0, 9.0
    for di in range(-1, 2):
        for dj in range(-1, 2):
            dx = i + di + cell(i + di, j + dj, seed) - x
            dy = j + dj + cell(j + dj, i + di, seed + 1) - y
            d = dx * dx + dy * dy
            if d < first:
                first, second = d, first
            elif d < second:
                second = d
    return math.sqrt(second) - math.sqrt(first)
