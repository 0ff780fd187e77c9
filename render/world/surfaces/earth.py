"""What grows and what is trodden: turf of tufts, clover and bare soil; sand, snow, earth, mud."""

import math

from render.compiled import step
from render.world.surfaces.noise import (
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

__all__ = ["grass", "mire", "trodden"]

#: Rows of cells are turned off the axes by so much, cosine and sine, or they show as a lattice.
_TURN_C, _TURN_S = 0.83, 0.56
#: Distance between tufts of grass and between hollows that feet leave, m.
_TUFT_M, _HOLLOW_M = 0.062, 0.29
#: Share of a mire that is wet, and that turf still holds (measured on the rule as it is).
_WET, _TURF = 0.33, 0.22


@step()
def _clump(u, v, size, long, seed):
    """The nearest of clumps, one to a cell of `size`, each `long` times as long as it is wide.

    Its distance, where the place lies in it along u and v (cells), and its number.
    """
    x, y = (_TURN_C * u + _TURN_S * v) / size, (_TURN_C * v - _TURN_S * u) / size
    i, j = math.floor(x - 0.5), math.floor(y - 0.5)
    least, across, along, pick = 9.0, 0.0, 0.0, 0.0
    for k in range(4):
        p, q = i + k % 2, j + k // 2
        du = x - p - 0.12 - 0.76 * cell(p, q, seed)
        dv = y - q - 0.12 - 0.76 * cell(q, p, seed + 1)
        this = cell(p, q, seed + 2)
        off = (2 * ((61.0 * this) % 1.0) - 1) * du + (2 * ((397.0 * this) % 1.0) - 1) * dv
        away = (du * du + dv * dv + 2 * (long - 1) * off * off) * (1.4 - this)
        if away < least:
            least, across, along, pick = away, du, dv, this
    return (
        math.sqrt(least),
        _TURN_C * across - _TURN_S * along,
        _TURN_S * across + _TURN_C * along,
        (7.0 * pick) % 1.0,
    )


@step()
def _daisies(u, v, foot, seed):
    """Share of a place that small white flowers cover; they come in drifts."""
    k = fade(foot, 0.09)
    if k == 0.0:
        return 0.0
    drift = noise(0.8 * u - 0.3 * v, 0.7 * v + 0.4 * u, seed) - 0.15
    i, j = math.floor(u / 0.13), math.floor(v / 0.13)
    if cell(i, j, seed + 1) > 0.9 * drift:
        return 0.0
    du = u - 0.13 * (i + 0.2 + 0.6 * cell(i, j, seed + 2))
    dv = v - 0.13 * (j + 0.2 + 0.6 * cell(j, i, seed + 3))
    return k * min(max((0.014 - math.hypot(du, dv)) / max(foot, 0.004) + 0.5, 0.0), 1.0)


@step()
def grass(m, u, v, foot, out):
    """Turf: tufts that lean each its own way, clover, dry stalks, daisies, soil where it is worn.

    m: a material's row; size_m is how wide its strips are mown, 0 where nobody mows.
    """
    seed, vary = f64(m, 20), f64(m, 21)
    mown = f64(m, 10) > 0.0
    big = clouded(u, v, 9.0, foot, seed + 1)
    x, y = _TURN_C * u + _TURN_S * v, _TURN_C * v - _TURN_S * u
    p, q = 0.34 * u + 0.94 * v, 0.34 * v - 0.94 * u
    rough = resolved(p / 0.22, q / 0.20, seed + 7, foot, 0.34)
    small = 0.6 * resolved(x / 0.55, y / 0.51, seed + 5, foot, 0.6) + 0.35 * rough
    near, gap, tuft, lean_u, lean_v = fade(foot, 1.5 * _TUFT_M), 0.0, 0.0, 0.0, 0.0
    if near > 0.0:
        away, du, dv, pick = _clump(u, v, _TUFT_M, 2.6, seed + 12)
        gap = near * min(max((away - 0.30) / 0.55, 0.0), 1.0)
        tuft = near * (2 * pick - 1)
        lean_u, lean_v = near * (pick - 0.5 - du), near * (0.7 * (0.5 - pick) - dv)
    mix(m, 0.42 + 0.5 * big + 0.30 * small + 0.30 * tuft, out)
    tone = 1 + 0.26 * small + 0.10 * rough + 0.30 * tuft - 0.30 * gap + 0.08 * near
    leaf = resolved(x / 0.7 + 0.9 * small, y / 0.8 - 0.6 * small, seed + 17, foot, 0.9)
    clover = min(max((leaf + 0.25 * tuft - 0.30) / 0.25, 0.0), 1.0) * (0.3 if mown else 1.0)
    if clover > 0.0:  # low, dense, bluish
        tone *= 1 - clover * (0.08 + 0.4 * (tone - 0.95))
        out[0] *= 1 - 0.16 * clover
        out[2] *= 1 + 0.04 * clover
    scale(tone, out)
    worn = (-big - 0.42 + 0.12 * tuft + 0.10 * small) / 0.16
    worn = min(max(worn, 0.0), 1.0) * fade(foot, 1.0) * min(6.0 * vary, 1.0)
    if worn > 0.0:  # trodden down to the soil, thinning out towards it
        soil = 0.62 * worn * (1 + 0.4 * small - 0.2 * tuft - 0.15 * gap)
        out[0] += (0.190 - out[0]) * soil
        out[1] += (0.140 - out[1]) * soil
        out[2] += (0.085 - out[2]) * soil
    elif not mown:
        white = _daisies(u, v, foot, seed + 23)
        for c in range(3):
            out[c] += (0.78 - 0.03 * c - out[c]) * white
    if mown:
        strip = math.floor(u / f64(m, 10)) % 2
        scale(1 + vary * (strip - 0.5) * fade(foot, 2 * f64(m, 10)), out)
    out[7] = 0.55 * lean_u + 0.25 * rough
    out[8] = 0.55 * lean_v - 0.25 * small


@step()
def trodden(m, u, v, foot, out):
    """Sand, snow or earth: hollows that feet left, more on paths than between; what wind smoothed.

    m: a material's row; size_m is the finest grain and, where it is more than thrice that, the
    distance between the wind's ripples; relief how rough it lies.
    """
    seed, vary, deep = f64(m, 20), f64(m, 21), f64(m, 22)
    size, ripple = max(f64(m, 10), 0.005), f64(m, 11)
    x, y = _TURN_C * u + _TURN_S * v, _TURN_C * v - _TURN_S * u
    busy = min(max(0.60 + 0.85 * noise(x / 6.3, y / 4.7, seed + 1), 0.06), 1.0)
    busy = 1 - fade(foot, 4.0) * (1 - busy)
    grain = resolved(u / size, v / size, seed + 2, foot, 1.8 * size)
    crumb = busy * resolved(y / 0.10, u / 0.11, seed + 3, foot, 0.17)
    heap = resolved(x / 1.3, y / 1.2, seed + 5, foot, 1.8)
    lean_u, lean_v = 0.5 * crumb + 0.4 * heap + 0.4 * grain, 0.4 * grain - 0.4 * crumb - 0.4 * heap
    hollow = 0.0
    near = busy * fade(foot, 0.75 * _HOLLOW_M)
    if near > 0.0:
        away, du, dv, pick = _clump(u, v, _HOLLOW_M, 1.9, seed + 4)
        depth = near * (0.35 + 1.1 * pick)
        bowl = math.exp(0.5 - 2.8 * away * away)  # steepest half-way up, its rim worn round
        lean_u += 3.1 * depth * du * bowl
        lean_v += 3.1 * depth * dv * bowl
        hollow = depth * (min(away, 0.8) - 0.42)
    if ripple > 3.0 * size and busy < 0.8:  # ripples lie across the wind, fork and run out
        k = fade(foot, 0.9 * ripple)
        if k > 0.0:
            bend = 0.30 * noise(u / 1.9, v / 1.3, seed + 7) + 0.09 * noise(
                x / 0.45, v / 0.3, seed + 8
            )
            blown = min(max(0.5 + 1.6 * noise(u / 2.6, v / 3.1, seed + 9), 0.0), 1.0)
            lean_v += 0.8 * k * (0.8 - busy) * blown * math.sin(math.tau * (v + bend) / ripple)
    cloud = 0.6 * resolved(y / 7.0, x / 6.4, seed, foot, 7.0) + 0.4 * heap
    mix(m, 0.42 + 0.45 * cloud - 0.5 * hollow + 0.22 * grain + 0.15 * crumb, out)
    tone = 1 + vary * (0.6 * grain + 0.5 * crumb + 0.4 * heap + 0.9 * hollow)
    k = fade(foot, 0.07)
    if k > 0.0:  # chips, straws, shells
        i, j = math.floor(x / 0.085), math.floor(y / 0.085)
        pick = cell(i, j, seed + 10)
        if pick < 0.22:
            du = x - 0.085 * (i + 0.25 + 0.5 * cell(j, i, seed + 11))
            dv = y - 0.085 * (j + 0.25 + 0.5 * cell(i, j, seed + 12))
            chip = 0.008 + 0.012 * (pick / 0.22)
            there = min(max((chip - math.hypot(du, dv)) / max(foot, 0.004) + 0.5, 0.0), 1.0)
            tone *= 1 + k * vary * there * (3.0 if cell(i, j, seed + 13) < 0.4 else -4.0)
    scale(max(tone, 0.1), out)
    out[7], out[8] = deep * lean_u, deep * lean_v


@step()
def _straw(u, v, size, share, foot, seed):
    """Share of a place that stalks strewn one to a cell of `size` cover, pale ones more than 1."""
    k = fade(foot, 0.12)
    if k == 0.0:
        return 0.06 * share
    i, j = math.floor(u / size), math.floor(v / size)
    if cell(i, j, seed) > share:
        return 0.06 * share * (1 - k)
    way = 3.1416 * cell(i, j, seed + 1)
    du = u - size * (i + 0.22 + 0.56 * cell(j, i, seed + 2))
    dv = v - size * (j + 0.22 + 0.56 * cell(j, i, seed + 3))
    along = du * math.cos(way) + dv * math.sin(way)
    across = dv * math.cos(way) - du * math.sin(way)
    if abs(along) > (0.25 + 0.2 * cell(j, i, seed + 4)) * size:
        return 0.06 * share * (1 - k)
    pale = 0.7 + 0.6 * cell(i, j, seed + 5)
    return k * pale * min(covered(abs(across), 0.013, max(foot, 0.006)), 1.0)


@step()
def mire(m, u, v, foot, out):
    """Ground under a crowd: turf left in tufts, earth, mud where it stays wet, straw put on that.

    m: a material's row: earth, wet earth and straw; gloss is that of the wet.
    """
    seed = f64(m, 20)
    trodden(m, u, v, foot, out)
    x, y = _TURN_C * u - _TURN_S * v, _TURN_C * v + _TURN_S * u
    fine = resolved(x / 0.21, y / 0.19, seed + 44, foot, 0.3)
    low = 0.55 * resolved(x / 6.5, y / 6.1, seed + 40, foot, 6.5)
    low += 0.34 * resolved(y / 2.9, x / 3.3, seed + 41, foot, 3.2)
    wet = min(max((low + 0.10 * fine - 0.06) / 0.16, 0.0), 1.0)
    seen = fade(foot, 6.5)  # from afar a mean of all
    wet = _WET + seen * (wet - _WET)
    for c in range(3):
        out[c] += (0.62 * f64(m, 4 + c) - out[c]) * 0.8 * wet
    out[3] *= wet
    out[7], out[8] = out[7] * (1 - 0.4 * wet), out[8] * (1 - 0.4 * wet)
    kept, blade, turf = (1 - seen) * _TURF, 1.0, -low + 0.16 * fine - 0.17
    if turf > 0.0:
        away, _, _, pick = _clump(u, v, 0.11, 2.2, seed + 46)
        near = fade(foot, 0.16)
        kept += seen * min(max((turf + near * 0.34 * (pick - 0.6)) / 0.10, 0.0), 1.0)
        blade += near * (0.9 * (pick - 0.5) - 0.5 * min(away, 0.8) + 0.2)
    if kept > 0.0:
        out[0] += (0.082 * blade - out[0]) * 0.85 * kept
        out[1] += (0.100 * blade - out[1]) * 0.85 * kept
        out[2] += (0.034 * blade - out[2]) * 0.85 * kept
    bed = 0.9 * resolved(x / 2.7, y / 2.1, seed + 50, foot, 2.4) + 0.4 * wet - 0.05
    bed = min(max(bed, 0.05), 0.6)
    stalks = 0.0
    for layer in range(2):
        turn_c, turn_s = math.cos(0.9 * layer), math.sin(0.9 * layer)
        p, q = turn_c * u - turn_s * v, turn_s * u + turn_c * v
        stalks += _straw(p, q, 0.12 + 0.03 * layer, bed, foot, seed + 55 + 7 * layer)
    stalks = min(stalks, 1.0)
    for c in range(3):
        out[c] += (f64(m, 7 + c) - out[c]) * 0.9 * stalks
