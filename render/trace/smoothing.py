"""Sharing soft and mirrored light over the pixels of one smooth surface.

A wavelet filter with holes that stops at edges of shape, and at steps of the light itself that
its noise does not explain (Dammertz et al. 2010, "Edge-avoiding A-Trous wavelet transform for fast
global illumination filtering"; Schied et al. 2017, "Spatiotemporal variance-guided filtering").
Soft light is shared only as near as what sends it is far: how fast it changes along a surface goes
with the harmonic mean of that distance (Ward, Rubinstein and Clear 1988, "A ray tracing solution
for diffuse interreflection"; Kontkanen, Rasanen and Keller 2004, "Irradiance filtering for Monte
Carlo ray tracing", chose the filter's width by it; all four from memory).
"""

import math

import numpy as np
from numpy.typing import NDArray

from render.threads import each_share
from render.trace.columns import Eye
from render.trace.kernels.sharing import (
    EDGE,
    LANES,
    Planes,
    estimate,
    gather,
    lay_out,
    spread_out,
)

__all__ = ["Smoother", "lamp_levels"]

#: So many rays of a pixel tell of a step in the light; fewer do with those of wider surroundings.
_TELLING = 8.0
#: Pixels as near in the picture as that share whatever sends their light: on a wall seen edge-on
#: they lie far apart, and each would keep its own few rays.
_BESIDE = 1.8
#: So far apart lie the three by three pixels that tell a pixel's noise, and how near its light is:
#: side by side, for right beside a thing that touches a wall those a few pixels on know nothing.
_APART_PX = 1
#: A picture twice as wide as this, px, shares lamps' light by one level.
_LAMPS_PX = 300
#: A reach where the distance to what sends the light is not told: beyond all that is seen.
_ANYWHERE = 1e5


def lamp_levels(width_px: int) -> int:
    """Levels by which lamps' light, which has edges, is shared: one more in each double width."""
    return min(max(round(math.log2(width_px / _LAMPS_PX)), 1), 3)


class Smoother:
    """One picture's surfaces, over which its kinds of light are shared one after another.

    Parameters
    ----------
    surface : ndarray, shape (H, W, at least 4), float32
        Face normal in the camera frame, depth z; infinite or NaN where nothing is.
    eye : Eye
    """

    def __init__(self, surface: NDArray[np.float32], eye: Eye) -> None:
        self._shape = height, width = surface.shape[:2]
        wide = EDGE + LANES * math.ceil(width / LANES) + EDGE
        high = EDGE + height + EDGE
        self._planes = Planes(
            *(4 * wide, 4 * high * wide, 1 / eye.focal, eye.centre_x, eye.centre_y)
        )
        self._raw, self._place, self._known, self._light = (
            np.zeros((count, high, wide), np.float32) for count in (7, 4, 3, 4)
        )
        self._place[3] = 1
        each_share(height, lambda a, b: lay_out(surface, self._place, a, b))

    def shared(
        self,
        sums: NDArray[np.float32],
        counts: NDArray[np.float32],
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
            Weighted sums of red, green, blue; of the weight; of the luminance squared; all 0
            where nothing was seen.
        counts : ndarray, shape (H, W), float32
            Rays that went into each sum.
        nearness : ndarray, shape (H, W), float32, or None
            Sums over the rays of 1 / the distance to what sends the light, m; None where shape and
            noise alone say how far it is shared.
        reach : float
            How far at most otherwise, as a share of the harmonic mean of that distance.
        levels : int
            Level n reaches 2^n pixels farther, 5 at most; 0 shares nothing.
        sharp : bool
            Light with edges of its own, such as shadows: only what differs by less than the noise
            of each pixel's own rays is shared.

        Returns
        -------
        ndarray, shape (H, W, 4), float32
            Red, green, blue, and the variance that is left in the luminance; 0 where nothing was
            seen.
        """
        height, width = self._shape
        raw, light = self._raw, self._light
        near = np.zeros((0, 0), np.float32) if nearness is None else nearness
        each_share(height, lambda a, b: gather(sums, counts, near, raw, a, b))
        place, known = self._place.ctypes.data, self._known.ctypes.data
        told = (raw.ctypes.data, place, light.ctypes.data, known, width)
        how = (_APART_PX, 0.0 if sharp else 1.0, _ANYWHERE if nearness is None else reach)
        each_share(height, lambda a, b: estimate(self._planes, *told, *how, a, b))
        other = raw[:4]  # asked no more
        for level in range(levels):
            apart = 1 << level
            # a corner's own few rays are beads beside each other
            beside = 1 / _BESIDE**2 if apart == 1 else math.inf
            telling = 0.0 if sharp or apart > 2 else _TELLING
            at = (light.ctypes.data, place, known, other.ctypes.data, width)
            one = (self._planes, *at, apart, beside, telling)
            each_share(height, lambda a, b, one=one: spread_out(*one, a, b))  # type: ignore[misc]
            light, other = other, light
        made = np.empty((height, width, 4), np.float32)

        def end(first: int, last: int) -> None:
            rows = slice(first + EDGE, last + EDGE)
            made[first:last] = light[:, rows, EDGE : EDGE + width].transpose(1, 2, 0)

        each_share(height, end)
        return made
