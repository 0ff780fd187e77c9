"""Roads: asphalt, patched, cracked and crazed where wheels and frost have been; mended setts."""

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

__all__ = ["asphalt", "crazed", "relaid", "trench"]


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
def trench(u, v, foot, seed):
    """Where a pipe was laid along and the road closed again: 0 outside, -1 its seams, 1 inside."""
    k = fade(foot, 0.4)
    row = math.floor(v / 6.3)
    piece = math.floor(u / 13.0 + cell(row, 3, seed))
    if k == 0.0 or cell(row, piece, seed + 1) > 0.45:
        return 0.0
    off = abs(v - 6.3 * (row + 0.2 + 0.6 * cell(row, 5, seed + 2))) - 0.33
    if off > 0.03:
        return 0.0
    return -k if off > -0.03 else k


@step()
def relaid(u, v, foot, seed, out):
    """What was done to setts: laid again a shade off, or closed with asphalt, whose share it is."""
    again = mended(u, v, 3.6, 0.34, foot, seed + 95)
    oily = spots(u, v, 1.1, 0.22, foot, seed + 97)
    scale(1 + 0.30 * again - 0.30 * oily, out)
    closed = trench(u, v, foot, seed + 96)
    if closed < 0.0:
        scale(1 + 0.4 * closed, out)
    if closed <= 0.0:
        return 0.0
    grain = resolved(u / 0.05, v / 0.05, seed + 98, foot, 0.05)
    grey = 0.2 * (out[0] + out[1] + out[2]) * (1 + 0.3 * grain)
    for c in range(3):
        out[c] += (grey - out[c]) * closed
    return closed


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
        if wear < -0.14:
            tone *= 1 - 0.60 * crazed(u, v, 0.34, min(-6.0 * (wear + 0.14), 1.0), foot, seed + 17)
    tone *= 1 - 0.34 * spots(u, v, 0.55, 0.16, foot, seed + 14)
    tone *= 1 - 0.36 * spots(u, v, 0.31, 0.30, foot, seed + 22)  # gum, drops of oil
    tone *= 1 - 0.52 * seam(u, v, 4.2, foot, seed + 16)
    tone *= 1 + 0.34 * patch
    closed = trench(u, v, foot, seed + 24)
    if closed != 0.0:
        tone *= 0.80 if closed > 0.0 else 0.62
    if driven_on:
        tone *= driven(u, v, f64(m, 10), f64(m, 11), foot, seed + 20)
        tone *= 1 + 0.09 * resolved(u / 2.3, v / 0.09, seed + 21, foot, 0.1)  # drawn out by wheels
    scale(tone, out)
    out[7], out[8] = 0.14 * grain + 0.12 * stone, 0.16 * chips
