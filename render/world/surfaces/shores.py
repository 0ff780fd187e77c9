"""Where water meets land: a sea over its sand, a quay's wall at its tide line, a groomed slope.

How bright shallow water is: R = deep + (bed - deep) exp(-2 K depth), S. Maritorena, A. Morel and
B. Gentili, "Diffuse reflectance of oceanic shallow waters", Limnol. Oceanogr. 39, 1994 (from
memory); K is that of clear coastal water (Jerlov's coastal type 1, from memory, rounded).  0.54 of
it comes out of the water (Morel and Gentili 1993, from memory).
"""

import math

from render.compiled import step
from render.world.surfaces.noise import (
    between,
    cell,
    clouded,
    covered,
    fade,
    noise,
    resolved,
    scale,
)
from render.world.surfaces.tables import f64
from render.world.surfaces.water import water

__all__ = ["FROTH_FROM_M", "FROTH_STEP_M", "groomed", "sea", "tide"]

#: Attenuation of red, green and blue light, per metre.
_RED, _GREEN, _BLUE = 0.42, 0.11, 0.13
_OUT = 0.54
#: Depth over a bar and in the trough before it differs from an even slope by up to so much, m.
_BAR_M = 0.42
#: Surf's sheets: v beyond the first counts metres behind a front, in steps of the second for each
#: quarter of a metre that the front is out from the water's edge.
FROTH_FROM_M, FROTH_STEP_M = 4096.0, 64.0


@step()
def _web(u, v, size, foot, seed):
    """Threads of foam round holes of that size, 1 on a thread, 0 in a hole."""
    k = fade(foot, 0.9 * size)
    if k == 0.0:
        return 0.35
    x = u / size + 0.45 * noise(0.7 * u / size, 0.9 * v / size, seed)
    y = v / size + 0.45 * noise(0.8 * u / size, 0.6 * v / size, seed + 1)
    thread = 1 - between(x, y, seed + 2) / 0.42
    return k * max(thread, 0.0) + 0.35 * (1 - k)


@step()
def _froth(u, behind, out_m, foot, seed):
    """Foam behind a breaking front, 0 to 1: a white roll, then a web that thins out."""
    size = 1.0 + 0.05 * out_m
    where = 0.55 + 0.75 * noise(u / 17.0, out_m / 9.0, seed) + 0.35 * noise(u / 4.1, 0.3, seed + 1)
    where *= min(1.0, 2.2 - out_m / 13.0)  # far out only the highest crests break
    if where <= 0.0:
        return 0.0
    roll = (0.16 + 0.5 * min(where, 1.0)) * size * (1 + 0.5 * resolved(u / 0.6, behind, 5, foot, 1))
    edge = 0.10 + foot
    solid = min(max((roll - behind) / edge, 0.0), 1.0) * min(max(behind / 0.06, 0.0), 1.0)
    reach = (1.2 + 4.2 * min(where, 1.2)) * size
    left = 1 - behind / reach
    if left <= 0.0:
        return min(1.0, where * 2.5) * solid
    lace = _web(u, behind, 0.55 + 0.16 * behind, foot, seed + 5)
    thin = min(max((lace - 1.05 + 0.9 * left) / 0.22, 0.0), 1.0)
    return min(1.0, where * 2.5) * max(solid, 0.85 * thin * min(1.0, 2.2 * left))


@step()
def _swash(u, v, foot, seed):
    """What the last wave left: a thin edge of foam and a lace behind it, about v = 0."""
    lobe = 0.75 * noise(u / 7.0, 0.1, seed + 3) + 0.3 * noise(u / 2.3, 0.7, seed + 4)
    back = v - lobe
    if back < 0.0 or back > 2.6:
        return 0.0
    rim = min(
        max((0.13 + 0.06 * noise(u / 0.5, 0.2, seed) - abs(back - 0.12)) / (0.08 + foot), 0), 1
    )
    lace = _web(u, v, 0.5, foot, seed + 9)
    return max(0.9 * rim, min(max((lace - 0.35 - 0.28 * back) / 0.25, 0.0), 1.0) * 0.8)


@step()
def sea(m, u, v, foot, out):
    """Water over sand, v metres out from its edge: bars, weed, foam where it breaks.

    m: a material's row; the second colour is the bed's, the third what grows on it; size_m the
    longest wave and how many metres out it gets a metre deeper.
    """
    seed, fall = f64(m, 20), max(f64(m, 11), 1.0)
    froth, behind = 0.0, 0.0
    if v > FROTH_FROM_M:
        steps = math.floor((v - FROTH_FROM_M) / FROTH_STEP_M)
        behind = v - FROTH_FROM_M - FROTH_STEP_M * steps - 1.0
        v = 0.25 * steps
        froth = _froth(u, behind, v, foot, seed + 11)
        v += behind
    water(m, u, v, foot, out)
    wander = 5.0 * noise(u / 46.0, 0.3, seed + 31) + 1.4 * noise(u / 13.0, v / 17.0, seed + 32)
    off = v + wander
    deep = v / fall
    bars = math.sin(0.20 * off) * math.exp(-(((off - 24.0) / 26.0) ** 2))
    bars += 0.5 * noise(u / 9.0, v / 5.0, seed + 33)
    deep = max(deep - _BAR_M * bars * min(deep / 0.8, 1.0), 0.0)
    weed = 0.0
    if deep > 0.7:
        weed = (clouded(u, v, 14.0, foot, seed + 34) - 0.22) / 0.12
        weed = min(max(weed, 0.0), 1.0) * min((deep - 0.7) / 0.5, 1.0) * 0.85
    ripple = 1 + 0.10 * resolved(u / 0.9, v / 0.35, seed + 35, foot, 0.7) * math.exp(-deep)
    for c in range(3):
        k = _RED if c == 0 else (_GREEN if c == 1 else _BLUE)
        bed = f64(m, 4 + c) + (f64(m, 7 + c) - f64(m, 4 + c)) * weed
        seen = math.exp(-2 * k * deep)
        out[c] += (_OUT * bed * ripple - out[c]) * seen
    if froth == 0.0 and -3.0 < v < 5.0:
        froth = _swash(u, v, foot, seed + 41)
    if froth > 0.0:
        grey = 0.72 + 0.16 * resolved(u / 0.21, v / 0.17, seed + 51, foot, 0.25)
        out[0] += (grey - out[0]) * froth
        out[1] += (1.01 * grey - out[1]) * froth
        out[2] += (1.02 * grey - out[2]) * froth
        if froth > 0.5:  # bubbles mirror nothing
            out[7], out[8], out[9] = 0.0, 0.0, -1.0
            rough = resolved(u / 0.33, v / 0.25, seed + 52, foot, 0.4)
            out[7], out[8] = 0.35 * rough, -0.35 * rough


@step()
def tide(m, u, v, foot, out):
    """A wall that a tide wets, v metres above high water: weed below, salt and rust above.

    m: a material's row; the third colour is the weed's.
    """
    seed = f64(m, 20)
    line = 0.16 * noise(u / 1.9, 0.2, seed + 21) + 0.07 * noise(u / 0.31, v / 0.4, seed + 22)
    under = line - v
    if under > -0.9:  # splashed: dark and damp, thinning upwards
        damp = min(max(1 + under / 0.9, 0.0), 1.0)
        scale(1 - 0.42 * damp * damp, out)
        if under > -0.22 and under < 0.06:  # a pale band of salt and small shells
            shells = 0.5 + 0.5 * resolved(u / 0.05, v / 0.05, seed + 23, foot, 0.08)
            for c in range(3):
                out[c] += (0.42 - 0.05 * c - out[c]) * 0.5 * shells
    if under > 0.0:
        tuft = resolved(u / 0.16, v / 0.42, seed + 24, foot, 0.24)
        fine = resolved(u / 0.05, v / 0.16, seed + 25, foot, 0.09)
        grown = min(max(under / 0.22 + 0.8 * tuft + 0.3, 0.0), 1.0) * (0.9 - 0.1 * fine)
        shade = (1 + 0.45 * tuft + 0.35 * fine) / (1 + 0.8 * under)
        for c in range(3):
            out[c] += (f64(m, 7 + c) * shade - out[c]) * grown
    k = fade(foot, 0.4)
    if k > 0.0:  # rust below rings and cramps
        column = math.floor(u / 2.7)
        pick = cell(column, 3, seed + 26)
        top = 0.3 + 1.2 * cell(column, 4, seed + 26)
        if pick < 0.45 and v < top:
            x = u / 2.7 - column - 0.5 + 0.2 * (pick - 0.2) + 0.012 * noise(v / 0.3, column, seed)
            wide = 0.05 + 0.10 * min((top - v) / 1.2, 1.0)
            stain = k * max(1 - abs(x) * 2.7 / wide, 0.0) * math.exp(-(top - v) / 0.9)
            out[0] += (0.20 - out[0]) * 0.75 * stain
            out[1] += (0.085 - out[1]) * 0.75 * stain
            out[2] += (0.04 - out[2]) * 0.75 * stain


@step()
def groomed(m, u, v, foot, out):
    """Snow that a machine has combed along v and skis have cut since.

    m: a material's row; size_m is how wide a pass is, and how far its combs' marks lie apart.
    """
    seed, vary, deep = f64(m, 20), f64(m, 21), f64(m, 22)
    wide, comb = max(f64(m, 10), 0.5), max(f64(m, 11), 0.01)
    x = u / wide + 0.05 * noise(u / 30.0, v / 22.0, seed)
    column = math.floor(x)
    aside = (x - column - 0.5) * wide
    seam = 0.5 * wide - abs(aside)
    tone = 1 + 0.6 * vary * (2 * cell(column, 0, seed + 1) - 1)
    skied = min(max(0.45 + 1.1 * clouded(u, v, 13.0, foot, seed + 2), 0.0), 1.0)
    slope_u = 0.0
    slope_v = 0.0
    k = fade(foot, 1.6 * comb)
    if k > 0.0:
        slope_u += (1 - 0.75 * skied) * k * math.sin(math.tau * aside / comb)
    streak = resolved(u / 0.34, v / 7.0, seed + 3, foot, 0.5)
    slope_u += 0.45 * (1 - 0.6 * skied) * streak
    k = fade(foot, 0.7)
    if k > 0.0 and seam < 0.5:  # snow that the tiller lets fall at its side
        lump = noise(v / 0.45, column, seed + 4)
        slope_u += 1.5 * k * math.copysign((1 - seam / 0.5) * (0.7 + 0.6 * lump), aside)
        slope_v += 0.5 * k * (1 - seam / 0.5) * lump
    k = fade(foot, 0.14)
    for layer in range(3):  # where skis went: pairs of lines that swing down the slope
        if k == 0.0:
            break
        size = 3.7 + 0.9 * layer
        lane = math.floor(u / size + 0.37 * layer)
        part = math.floor(v / 60.0 + cell(lane, 6 + layer, seed))
        pick = cell(lane, part, seed + 20 + layer)
        if pick > 0.3 + 0.5 * skied:
            continue
        swing = (0.12 + 0.22 * cell(lane, part, seed + 25 + layer)) * size
        turn = 2.2 + 3.0 * cell(part, lane, seed + 30 + layer)
        middle = (lane - 0.37 * layer + 0.5) * size + 0.5 * noise(v / 11.0, lane, seed + 35 + layer)
        off = u - middle - swing * math.sin(v / turn + 7.0 * pick + 0.8 * noise(v / 9.0, pick, 3))
        groove = covered(abs(abs(off) - 0.11), 0.07, foot) * k
        slope_u += 2.2 * groove * math.copysign(1.0, off)
        tone *= 1 - 1.6 * vary * groove
    crumb = skied * resolved(u / 0.22, v / 0.26, seed + 5, foot, 0.36)
    heap = skied * resolved(u / 0.8, v / 1.1, seed + 6, foot, 1.3)
    slope_u += 0.55 * crumb + 0.5 * heap
    slope_v += 0.35 * crumb - 0.45 * heap
    t = min(max(0.3 + 0.5 * skied + 0.2 * crumb, 0.0), 1.0)
    for c in range(3):
        out[c] = f64(m, 1 + c) + (f64(m, 4 + c) - f64(m, 1 + c)) * t
    scale(tone * (1 + vary * (0.4 * crumb + 0.3 * heap)), out)
    out[7], out[8] = deep * slope_u, deep * slope_v
