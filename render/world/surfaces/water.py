"""Water's surface: waves that a picture resolves, and the variance of the slopes that it does not.

``relief`` is the root mean square slope of all waves together.  C. Cox and W. Munk, "Measurement
of the roughness of the sea surface from photographs of the sun's glitter", J. Opt. Soc. Am. 44,
1954: 0.003 + 0.00512 W for clean water under W m/s of wind, so 0.09 in the lightest air, 0.12 at
2 m/s, 0.23 at 10 m/s.  No table was found for basins that land shelters: ours, after looking.
Every octave of wave length has an equal part of the variance, as the slopes of wind waves nearly
have (spectra that fall with the fourth power of the wave number, from memory).
"""

import math

from render.compiled import step
from render.world.surfaces.noise import cell, clouded, fade, scale
from render.world.surfaces.tables import f64

__all__ = ["water"]

#: Octaves of waves that are drawn, and those that are too short for it.
_DRAWN, _SHORTER = 6, 2
#: Crests are so many times as long as waves; what the mean square slope of such noise is to be
#: divided by (`noise` has 0.745 along either axis).
_CRESTS = 2.2
_MEAN_SQUARE = 0.745 * (1 + 1 / _CRESTS**2)
#: Size of the patches that wind ruffles or leaves, in lengths of the longest wave.
_GUSTS = 7.0
#: Cosine and sine of what each octave runs aside of the one before, to either side in turn.
_ASIDE_COS, _ASIDE_SIN = 0.921, 0.3894


@step()
def _slopes(x, y, seed):
    """Slopes along x and y of value noise, whose own sizes are about 1."""
    i, j = math.floor(x), math.floor(y)
    a, b = x - i, y - j
    p, q = cell(i, j, seed), cell(i + 1, j, seed)
    r, s = cell(i, j + 1, seed), cell(i + 1, j + 1, seed)
    fa, fb = a * a * a * (a * (6 * a - 15) + 10), b * b * b * (b * (6 * b - 15) + 10)
    da, db = 60 * a * a * (a - 1) * (a - 1), 60 * b * b * (b - 1) * (b - 1)
    along = da * ((q - p) * (1 - fb) + (s - r) * fb)
    return along, db * ((r - p) * (1 - fa) + (s - q) * fa)


@step()
def water(m, u, v, foot, out):
    """Body colour, slopes of the waves that are resolved, and the variance of all others' slopes.

    m: a material's row; size_m is the longest wave's length, relief the root mean square slope.
    """
    out[0], out[1], out[2] = f64(m, 1), f64(m, 2), f64(m, 3)
    length, seed = f64(m, 10), f64(m, 20)
    gust = clouded(u, v, _GUSTS * length, foot, seed + 17)
    scale(1 + 0.15 * gust, out)
    each = f64(m, 22) * f64(m, 22) * max(1 + gust, 0.1) / (_DRAWN + _SHORTER)
    left, su, sv = _SHORTER * each, 0.0, 0.0
    c, s, side = 1.0, 0.0, 1.0
    for octave in range(_DRAWN):
        k = fade(foot, 1.6 * length)
        left += (1 - k * k) * each
        if k > 0.0 and each > 0.0:
            k *= math.sqrt(each / _MEAN_SQUARE)
            turned = side * s
            x, y = (c * u + turned * v) / length, (c * v - turned * u) / (_CRESTS * length)
            along, aside = _slopes(x + 3.7 * octave, y - 1.9 * octave, seed + octave)
            along, aside = k * along, k * aside / _CRESTS
            su += c * along - turned * aside
            sv += turned * along + c * aside
        c, s = c * _ASIDE_COS - s * _ASIDE_SIN, s * _ASIDE_COS + c * _ASIDE_SIN
        side = -side
        length *= 0.5
    out[7], out[8], out[9] = su, sv, max(left, 0.0)
