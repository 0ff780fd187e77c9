"""What water mirrors: Fresnel's share, off facets whose slopes spread as its waves' do.

And what all else does.

The sun and lamps, which a ray would find by chance alone, are mirrored by as many facets as stand
right for it (C. Cox and W. Munk, "Measurement of the roughness of the sea surface from photographs
of the sun's glitter", J. Opt. Soc. Am. 44, 1954).
"""

import math

from render.compiled import step
from render.trace.columns import NORMAL, SLOPES
from render.trace.spread import turned

__all__ = ["facet", "fresnel", "glitter", "glossy"]

#: Index of refraction of water in green light.
_INDEX = 1.333
#: Variance of slopes within what is one facet here: the sun has a width, and a pixel.
_BENT = 4e-4


@step()
def fresnel(cosine):
    """Share of unpolarised light that water mirrors, by the cosine of the angle of incidence."""
    inside = math.sqrt(1 - (1 - cosine * cosine) / (_INDEX * _INDEX))
    across = (cosine - _INDEX * inside) / (cosine + _INDEX * inside)
    along = (_INDEX * cosine - inside) / (_INDEX * cosine + inside)
    return 0.5 * (across * across + along * along)


@step()
def glossy(gloss, rough, cosine):
    """Share of light that a surface mirrors which mirrors `gloss` when it is seen squarely.

    A clear mirror's is Schlick's (1994).  The rougher, the less is left at grazing angles, where
    facets stand in each other's way: Karis's fit to facets after Trowbridge and Reitz (2014,
    "Physically based shading on mobile", from memory).
    """
    if rough < 0.1:
        return gloss + (1 - gloss) * (1 - cosine) ** 5
    clear = 1 - rough
    rise = min(clear * clear, 2.0 ** (-9.28 * cosine)) * clear + 0.0425 - 0.0275 * rough
    return (1.04 - 0.572 * rough - 1.04 * rise) * gloss + 1.04 * rise - 0.04 + 0.022 * rough


@step()
def facet(h, dx, dy, dz, a, b, c):
    """Normal of the facet that a ray along a unit direction meets; a, b, c: three numbers in 0..1.

    Of a slope and its opposite, which are as frequent, the one is taken as often as is the share
    of both that the ray sees of it.
    """
    x, y, z = h[NORMAL], h[NORMAL + 1], h[NORMAL + 2]
    facing = -(dx * x + dy * y + dz * z)
    if h[SLOPES] <= 0.0:
        return x, y, z
    ux, uy, uz = dx + facing * x, dy + facing * y, dz + facing * z  # along the ray, on the water
    level = math.sqrt(ux * ux + uy * uy + uz * uz)
    if level > 1e-6:
        ux, uy, uz = ux / level, uy / level, uz / level
    else:
        r = 1.0 / math.sqrt(y * y + z * z + 1e-30)
        ux, uy, uz = 0.0, z * r, -y * r
    vx, vy, vz = y * uz - z * uy, z * ux - x * uz, x * uy - y * ux
    away = math.sqrt(-h[SLOPES] * math.log(1 - a))
    along, aside = turned(b)
    along, aside = away * along, away * aside
    toward, back = max(facing + along * level, 0.0), max(facing - along * level, 0.0)
    if c * (toward + back) > toward:
        along, aside = -along, -aside
    x, y, z = x - along * ux - aside * vx, y - along * uy - aside * vy, z - along * uz - aside * vz
    r = 1.0 / math.sqrt(x * x + y * y + z * z)
    return x * r, y * r, z * r


@step()
def glitter(h, dx, dy, dz, lx, ly, lz):
    """Light that facets mirror towards a ray's start, where a white surface squarely lit sends 1.

    dx, dy, dz: the ray's unit direction; lx, ly, lz: the one towards the small light.
    """
    x, y, z = lx - dx, ly - dy, lz - dz
    r = 1.0 / math.sqrt(x * x + y * y + z * z + 1e-30)
    x, y, z = x * r, y * r, z * r
    upright = h[NORMAL] * x + h[NORMAL + 1] * y + h[NORMAL + 2] * z
    if upright <= 0.05:
        return 0.0
    square = upright * upright
    spread = h[SLOPES] + _BENT
    power = (1 - square) / (square * spread)
    if power > 20.0:
        return 0.0
    facing = -(h[NORMAL] * dx + h[NORMAL + 1] * dy + h[NORMAL + 2] * dz)
    facing = max(facing, 0.5 * math.sqrt(spread), 0.02)  # waves hide each other
    often = math.exp(-power) / spread  # the density of slopes times pi, as white sends light / pi
    return fresnel(lx * x + ly * y + lz * z) * often / (4 * facing * square * square)
