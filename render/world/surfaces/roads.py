"""Asphalt: chippings in bitumen, patched, cracked and crazed where wheels and frost have been."""

import math

from render.compiled import step
from render.world.surfaces.noise import (
    between,
    cell,
    clouded,
    covered,
    fade,
    mix,
    noise,
    resolved,
    scale,
)
from render.world.surfaces.tables import f64
from render.world.surfaces.wear import bare, crack, driven, mended, seam, spots

__all__ = ["asphalt", "crazed"]


@step()
def crazed(u, v, size, share, foot, seed):
    """Fine cracks round pieces of that size, as many of them as `share` lets break, 0 to 1."""
    k = share * fade(foot, 0.3 * size)
    if k <= 0.0:
        return 0.0
    x = u / size + 0.3 * noise(0.9 * u / size, 0.9 * v / size, seed)
    y = v / size
    off = 0.5 * between(x, y, seed + 2) * size
    return k * covered(off, 0.016, max(foot, 0.008))


@step()
def asphalt(m, u, v, foot, out):
    """Stones in bitumen, worn, patched, cracked; `driven` where it has lanes."""
    seed = f64(m, 20)
    wear = clouded(u, v, 6.0, foot, seed + 1)
    stain = max(0.6 * resolved(u / 2.2, v / 5.5, seed + 9, foot, 2.0) + 0.25 * wear - 0.25, 0.0)
    mix(m, 0.4 + 0.6 * wear, out)
    grain = resolved(u / 0.018, v / 0.018, seed, foot, 0.02)
    chips = resolved(u / 0.055, v / 0.055, seed + 2, foot, 0.055)
    driven_on = f64(m, 11) > 0.0
    lane = 0.0 if driven_on else resolved(0.1 * u, v / 1.7, seed + 3, foot, 2.4)
    stone, near = 0.0, fade(foot, 0.019)
    if near > 0.0:  # chippings, pale and dark, each of one tone
        i, j = math.floor((u + 0.3 * v) / 0.012), math.floor((v - 0.3 * u) / 0.011)
        stone = near * (2 * cell(i, j, seed + 6) ** 2 - 0.667)
    patch = mended(u, v, 2.9, 0.24, foot, seed + 4)
    coarse = 1 + max(-wear, 0.0) if patch == 0.0 else 0.75  # stones stand out where it is worn
    tone = 1 - 0.5 * stain + 0.16 * lane + 0.5 * stone
    tone += coarse * (0.30 * grain + 0.26 * chips)
    if patch == 0.0:
        tone *= 1 - 0.50 * crack(u, v, 3.2, foot, seed + 5)
        tone *= 1 - 0.30 * bare(-wear, u, v, 0.8, 0.3, foot)
        if wear < -0.24:
            tone *= 1 - 0.55 * crazed(u, v, 0.34, min(-6.0 * (wear + 0.24), 1.0), foot, seed + 17)
    tone *= 1 - 0.34 * spots(u, v, 0.55, 0.16, foot, seed + 14)
    tone *= 1 - 0.52 * seam(u, v, 5.5, foot, seed + 16)
    tone *= 1 + 0.34 * patch
    if driven_on:
        tone *= driven(u, v, f64(m, 10), f64(m, 11), foot, seed + 20)
    scale(tone, out)
    out[7], out[8] = 0.14 * grain + 0.12 * stone, 0.16 * chips
