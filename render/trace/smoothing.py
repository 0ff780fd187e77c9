"""Sharing soft and mirrored light over the pixels of one smooth surface.

A wavelet filter with holes that stops at edges of shape, and at steps of the light itself that
its noise does not explain (Dammertz et al. 2010, "Edge-avoiding A-Trous wavelet transform for fast
global illumination filtering"; Schied et al. 2017, "Spatiotemporal variance-guided filtering").
Soft light is shared only as near as what sends it is far: how fast it changes along a surface goes
with the harmonic mean of that distance (Ward, Rubinstein and Clear 1988, "A ray tracing solution
for diffuse interreflection"; Kontkanen, Rasanen and Keller 2004, "Irradiance filtering for Monte
Carlo ray tracing", chose the filter's width by it; all four from memory).

``surface`` (H, W, 4) f32: face normal in the camera frame, depth z; ``eye`` an `Eye`.
"""

import math

import numpy as np
from numpy.typing import NDArray

from render.compiled import loop, step
from render.threads import each_share
from render.trace.columns import Eye

__all__ = ["lamp_levels", "shared"]

#: So many rays of a pixel tell of a step in the light; fewer do with those of wider surroundings.
_TELLING = np.float32(8)
#: Pixels as near as that share whatever sends their light.
_BESIDE = np.float32(1.8)
#: So far apart lie the three by three pixels that tell a pixel's noise, and how near its light is.
_APART_PX = 4
#: A picture twice as wide as this, px, shares lamps' light by one level.
_LAMPS_PX = 300
_LOOSE = {"nnan", "nsz", "contract", "arcp", "reassoc"}


def lamp_levels(width_px: int) -> int:
    """Levels by which lamps' light, which has edges, is shared: one more in each double width."""
    return min(max(round(math.log2(width_px / _LAMPS_PX)), 1), 3)


def shared(
    sums: NDArray[np.float32],
    counts: NDArray[np.float32],
    surface: NDArray[np.float32],
    eye: Eye,
    levels: int,
    *,
    nearness: NDArray[np.float32] | None = None,
    reach: float = 2.0,
    sharp: bool = False,
) -> NDArray[np.float32]:
    """Mean light of every pixel, with what its neighbours on the same surface have seen.

    Parameters
    ----------
    sums : ndarray, shape (H, W, 5), float32
        Weighted sums of red, green, blue; of the weight; of the luminance squared.
    counts : ndarray, shape (H, W), float32
        Rays that went into each sum.
    nearness : ndarray, shape (H, W), float32, or None
        Sums over the rays of 1 / the distance to what sends the light, m; None where shape and
        noise alone say how far it is shared.
    reach : float
        How far at most otherwise, as a share of the harmonic mean of that distance.
    levels : int
        Level n reaches 2^n pixels farther; 0 shares nothing.
    sharp : bool
        Light with edges of its own, such as shadows: only what differs by less than the noise
        of each pixel's own rays is shared.

    Returns
    -------
    ndarray, shape (H, W, 4), float32
        Red, green, blue, and the variance that is left in the luminance; 0 where nothing was seen.
    """
    near = np.array([1 / eye.focal, eye.centre_x, eye.centre_y, reach], np.float32)
    light = np.empty((*counts.shape, 4), np.float32)
    rows, window = counts.shape[0], 0 if sharp else _APART_PX
    counts = np.ascontiguousarray(counts)
    if nearness is None:
        nearness = np.zeros((0, 0), np.float32)
    most = np.empty(nearness.shape, np.float32)
    told = (sums, counts, np.ascontiguousarray(nearness), surface, near, window, light, most)
    each_share(rows, lambda a, b: _estimate(*told, a, b))
    other, weights = np.empty_like(light), np.ascontiguousarray(sums[..., 3])
    for level in range(levels):
        one = (light, weights, counts, most, surface, near, 1 << level, sharp, other)
        each_share(rows, lambda a, b, one=one: _spread_out(*one, a, b))  # type: ignore[misc]
        light, other = other, light
    return light


@step(fastmath=_LOOSE, forceinline=True)
def _way(surface, near, i, j, y, x):
    """From the place that one pixel shows to that of another, m, in the camera frame."""
    z, other = surface[i, j, 3], surface[y, x, 3]
    u, v = (np.float32(j) + np.float32(0.5) - near[1]), (np.float32(i) + np.float32(0.5) - near[2])
    right = ((u + np.float32(x - j)) * other - u * z) * near[0]
    down = ((v + np.float32(y - i)) * other - v * z) * near[0]
    return right, down, other - z


@step(fastmath=_LOOSE, forceinline=True)
def _steep(near, z, cells):
    """What makes how far a place lies out of a plane, squared, a share of what is allowed."""
    reach = np.float32(0.7) * np.float32(cells) * z * near[0]
    return np.float32(1) / (reach * reach)


@step(fastmath=_LOOSE, forceinline=True)
def _alike(surface, i, j, y, x, right, down, ahead, steep):
    """How far two pixels show one smooth surface, 0 to 1; below 0 not at all."""
    nx, ny, nz = surface[i, j, 0], surface[i, j, 1], surface[i, j, 2]
    same = nx * surface[y, x, 0] + ny * surface[y, x, 1] + nz * surface[y, x, 2]
    off = nx * right + ny * down + nz * ahead
    fit = np.float32(1) - off * off * steep
    if not same > np.float32(0.5):
        return np.float32(-1)
    same *= same
    same *= same
    return same * same * fit


@step(fastmath=_LOOSE)
def _luminance(light, i, j):
    return (
        np.float32(0.25) * light[i, j, 0]
        + np.float32(0.6) * light[i, j, 1]
        + np.float32(0.15) * light[i, j, 2]
    )


@loop(fastmath=_LOOSE)
def _estimate(sums, counts, nearness, surface, near, window, out, reach, row0, row1):
    """Each pixel's own mean, and the variance of that from pixels up to `window` away.

    reach (H, W): square of the distance up to which light is shared, m, from ``nearness``; both
    are (0, 0) where that is not known.
    """
    height, width = counts.shape
    for i in range(row0, row1):
        for j in range(width):
            weight = sums[i, j, 3]
            if not weight > 0:
                for c in range(4):
                    out[i, j, c] = np.float32(0)
                continue
            for c in range(3):
                out[i, j, c] = sums[i, j, c] / weight
            total, first, second = np.float32(0), np.float32(0), np.float32(0)
            rays, beside = np.float32(0), np.float32(1e-9)
            for dy in range(-window, window + 1, _APART_PX):
                y = i + dy
                if y < 0 or y >= height:
                    continue
                for dx in range(-window, window + 1, _APART_PX):
                    x = j + dx
                    if x < 0 or x >= width or not sums[y, x, 3] > 0:
                        continue
                    k = np.float32(1)
                    if dx != 0 or dy != 0:
                        way = _way(surface, near, i, j, y, x)
                        steep = _steep(near, surface[i, j, 3], abs(dx) + abs(dy))
                        k = max(_alike(surface, i, j, y, x, *way, steep), np.float32(0))
                    total += k * sums[y, x, 3]
                    first += k * _luminance(sums, y, x)
                    second += k * sums[y, x, 4]
                    if reach.shape[0] > 0:
                        rays += k * counts[y, x]
                        beside += k * nearness[y, x]
            if reach.shape[0] > 0:
                reach[i, j] = (near[3] * rays / beside) ** 2
            mean = first / total
            out[i, j, 3] = max(second / total - mean * mean, np.float32(0)) / counts[i, j]


@loop(fastmath=_LOOSE)
def _spread_out(light, weights, counts, reach, surface, near, apart_px, sharp, out, row0, row1):
    """One level: each pixel with its eight neighbours `apart_px` away, as far as they are alike."""
    height, width = light.shape[:2]
    for i in range(row0, row1):
        for j in range(width):
            if not weights[i, j] > 0:
                for c in range(4):
                    out[i, j, c] = np.float32(0)
                continue
            noise, parts = np.float32(0), np.float32(0)
            for dy in range(-1, 2):
                for dx in range(-1, 2):
                    y, x = i + dy, j + dx
                    if 0 <= y < height and 0 <= x < width and weights[y, x] > 0:
                        k = np.float32((2 - abs(dy)) * (2 - abs(dx)))
                        noise += k * light[y, x, 3]
                        parts += k
            own, z = _luminance(light, i, j), surface[i, j, 3]
            beside = (_BESIDE * near[0] * z) ** 2
            steep = _steep(near, z, apart_px)
            scale = np.float32(0)
            if sharp or apart_px > 2 or counts[i, j] >= _TELLING:
                scale = np.float32(1) / (np.float32(36) * noise / parts + np.float32(1e-8))
            total = np.float32(4) * weights[i, j]
            r, g, b = total * light[i, j, 0], total * light[i, j, 1], total * light[i, j, 2]
            spread = total * total * light[i, j, 3]
            for dy in range(-1, 2):
                y = i + dy * apart_px
                if y < 0 or y >= height:
                    continue
                for dx in range(-1, 2):
                    x = j + dx * apart_px
                    if x < 0 or x >= width or (dx == 0 and dy == 0) or not weights[y, x] > 0:
                        continue
                    apart = _luminance(light, y, x) - own
                    fit = np.float32(1) - apart * apart * scale
                    if not fit > np.float32(0):
                        continue
                    k = np.float32((2 - abs(dy)) * (2 - abs(dx))) * fit * fit * weights[y, x]
                    right, down, ahead = _way(surface, near, i, j, y, x)
                    if reach.shape[0] > 0:
                        most = min(reach[i, j], reach[y, x])
                        if apart_px == 1:  # a corner's own few rays are beads beside each other
                            most = max(most, beside)
                        fit = most - (right * right + down * down + ahead * ahead)
                        if not fit > np.float32(0):
                            continue
                        k *= fit / most
                    at_corner = np.float32(0.25) if dx != 0 and dy != 0 else np.float32(1)
                    k *= _alike(surface, i, j, y, x, right, down, ahead, steep * at_corner)
                    if not k > np.float32(0):
                        continue
                    total += k
                    r += k * light[y, x, 0]
                    g += k * light[y, x, 1]
                    b += k * light[y, x, 2]
                    spread += k * k * light[y, x, 3]
            out[i, j, 0], out[i, j, 1], out[i, j, 2] = r / total, g / total, b / total
            out[i, j, 3] = spread / (total * total)
