"""What weather, feet and repairs leave on a surface: drips, bare patches, cracks, moss, stains.

Amounts were chosen by eye and against the local contrast of photographs of fronts; no table of
such stains was found. Every mark fades with the footprint, and few are wide, so that the mean of
a surface stays what its words say.
"""

import math

from render.compiled import step
from render.world.surfaces.noise import cell, clouded, covered, fade, mix, noise, resolved, scale
from render.world.surfaces.tables import f64

__all__ = [
    "DRIP_M",
    "bare",
    "coachwork",
    "crack",
    "drips",
    "driven",
    "gravel",
    "marking",
    "mended",
    "painted",
    "runs",
    "scuffed",
    "seam",
    "sooty",
    "spots",
]

#: Width of one drip's strip, and height in which one begins, metres.
_STRIP_M, _FALL_M = 0.26, 2.9

#: Width of the strips in which rain runs from a ledge; whoever parts a wall does it at their edges.
DRIP_M = 0.13


@step()
def runs(u, below, ledge, foot, seed):
    """Dirt that rain carries down from a sill or the eaves, `below` metres under it, 0 to 1.

    ledge: a number of its own.  Strips begin and end clean at multiples of `DRIP_M`.
    """
    if below > 3.0 or below < 0.0:
        return 0.0
    column = math.floor(u / DRIP_M)
    veil = 0.30 * math.exp(-below / 0.16) * fade(foot, 0.5)
    k = fade(foot, 2.2 * DRIP_M)
    here = 0.46 + 0.34 * noise(u / 1.7, 0.37 * ledge, seed + 2)
    pick = cell(column, int(ledge), seed)
    if k == 0.0 or pick > here:
        return veil
    long = 0.18 + 2.1 * cell(int(ledge), column, seed + 1) ** 2
    wide = 0.45 + 0.55 * cell(column, int(ledge), seed + 3)
    lean = (1 - wide) * noise(below / 0.3, 0.7 * column, seed + 4)
    across = max(0.0, 1 - abs(2 * (u / DRIP_M - column) - 1 + lean) / wide)
    fresh = 0.6 + 0.4 * cell(column, int(ledge), seed + 5)
    return min(veil + k * fresh * min(across * 1.6, 1.0) * math.exp(-below / long), 1.0)


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
    if v > 0.8:
        return 0.0
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


@step()
def seam(u, v, size, foot, seed):
    """Bitumen poured into long joints and along trenches, one to `size` at most, 0 to 1."""
    k = fade(foot, 0.16)
    if k == 0.0:
        return 0.0
    total = 0.0
    for side in range(2):
        along, across = (u, v) if side == 0 else (v, u)
        x = across / size + 0.03 * noise(along / 1.9, across / (9 * size), seed + side)
        row = math.floor(x)
        piece = math.floor(along / (2.3 * size) + cell(row, 7, seed))
        if cell(row, piece, seed + 2 + side) < 0.35:
            wide = 0.03 + 0.02 * noise(along / 0.25, row, seed + 4)
            total = max(total, covered(abs(x - row - 0.5) * size, wide, foot))
    return k * total


@step()
def driven(u, v, lanes, wide, foot, seed):
    """What wheels do to a road: tracks worn pale, oil and grit between them; a tone.

    u along it, v across from its middle; `lanes` lanes of `wide` metres.
    """
    lane = math.floor(v / wide + 0.5 * (lanes % 2))
    if abs(v) > 0.5 * lanes * wide:
        return 1.0
    aside = v - (lane + 0.5 - 0.5 * (lanes % 2)) * wide
    aside += 0.10 * noise(u / 9.0, lane, seed)
    track = math.exp(-(((abs(aside) - 0.76) / 0.24) ** 2))
    middle = math.exp(-((aside / 0.27) ** 2))
    patchy = max(0.45 + 0.75 * noise(u / 1.7, lane + 0.5, seed + 2), 0.0)
    drops = spots(u, aside, 0.42, 0.5, foot, seed + 3) * middle
    return 1 + 0.18 * track - (0.27 * patchy * middle + 0.30 * drops)


@step()
def marking(m, u, v, foot, out):
    """Paint on a road: wheels have greyed and chipped it down to the second colour, most in spots.

    m: a material's row; vary is how far it is gone.
    """
    seed, worn = f64(m, 20), f64(m, 21)
    cloud = 1.25 * clouded(u, v, 2.6, foot, seed)
    chips = resolved(u / 0.045, v / 0.045, seed + 5, foot, 0.06)
    fine = resolved(u / 0.016, v / 0.016, seed + 6, foot, 0.02)
    gone = 0.9 * cloud + 0.45 * chips + 0.35 * fine + 1.5 * worn - 0.62
    sharp = 0.16 + 0.5 * (1 - fade(foot, 0.06))
    gone = min(max(0.5 + gone / sharp, 0.0), 1.0)
    grey = 0.25 + 0.22 * resolved(u / 0.5, v / 0.3, seed + 7, foot, 0.6)
    line = crack(u, v, 2.6, foot, seed + 8)
    mix(m, max(0.8 * gone, 0.7 * worn * grey + 0.8 * line), out)
    scale(1 + 0.05 * fine + 0.06 * chips, out)


@step()
def scuffed(u, v, foot, seed, out):
    """What feet do to varnish: it dulls in patches, scratches and dust lie on it; tone by it."""
    trod = clouded(u, v, 2.4, foot, seed)
    dull = min(max(0.45 + 1.1 * trod, 0.0), 1.0)
    out[3] *= 1 - 0.55 * dull
    tone = 1 + 0.07 * dull - 0.10 * max(resolved(u / 0.4, v / 0.3, seed + 1, foot, 0.5), 0.0)
    k = fade(foot, 0.02)
    if k > 0.0:
        i, j = math.floor(u / 0.33), math.floor(v / 0.33)
        if cell(i, j, seed + 2) < 0.4 + 0.4 * dull:
            way = 3.1416 * cell(i, j, seed + 3)
            du = u - (i + 0.5) * 0.33
            dv = v - (j + 0.5) * 0.33
            along = du * math.cos(way) + dv * math.sin(way)
            across = dv * math.cos(way) - du * math.sin(way)
            half = 0.03 + 0.10 * cell(j, i, seed + 4)
            across -= 1.2 * (cell(j, i, seed + 5) - 0.5) * along * along
            if abs(along) < half:
                line = k * covered(abs(across), 0.0022, foot) * (1 - (along / half) ** 2)
                tone *= 1 + (0.55 if cell(i, j, seed + 6) < 0.6 else -0.5) * line
    return tone


@step()
def gravel(m, u, v, foot, out):
    """Stones of two fifths of `size_m`, each of one tone, round, with shade between them."""
    seed, vary = f64(m, 20), f64(m, 21)
    big = clouded(u, v, 3.0, foot, seed)
    mid = resolved(u / 0.21, v / 0.19, seed + 3, foot, 0.3)
    size = max(f64(m, 10), 0.01)
    a = resolved(u / size, v / size, seed + 1, foot, size * 1.8)
    stone = 0.4 * size
    near = fade(foot, 1.5 * stone)
    tone, pale = 1 + vary * (0.6 * a + 0.5 * mid), 0.0
    if near > 0.0:
        # turned off the axes, or the cells show as a lattice
        x, y = (0.83 * u + 0.56 * v) / stone, (0.83 * v - 0.56 * u) / stone
        i, j = math.floor(x - 0.5), math.floor(y - 0.5)
        least, across, along, pick = 9.0, 0.0, 0.0, 0.0
        for k in range(4):  # the stones of the four cells about the place
            p, q = i + k % 2, j + k // 2
            du = x - p - 0.15 - 0.7 * cell(p, q, seed + 5)
            dv = y - q - 0.15 - 0.7 * cell(q, p, seed + 6)
            this = cell(p, q, seed + 7)
            away = (du * du + dv * dv) * (1.5 - this)  # some are larger
            if away < least:
                least, across, along, pick = away, du, dv, this
        gap = min(max((math.sqrt(least) - 0.38) / 0.22, 0.0), 1.0)
        pick = 2 * ((7.0 * pick) % 1.0) - 1
        pale = near * pick
        tone *= 1 + near * (1.6 * vary * pick - 0.38 * gap * gap + 0.06)
        lean = -2.2 * f64(m, 22) * near * (1 - gap)  # round: they fall outwards
        out[7] = lean * (0.83 * across - 0.56 * along)
        out[8] = lean * (0.56 * across + 0.83 * along)
    mix(m, 0.45 + 0.5 * big + 0.35 * mid + 0.25 * a + 0.4 * pale, out)
    scale(tone, out)


@step()
def painted(m, u, v, foot, out):
    """A wall indoors, v metres above the floor: laid on with a roller, scuffed low down.

    m: a material's row; the second colour is what hands and chairs leave.
    """
    seed, worn = f64(m, 20), f64(m, 21)
    cloud = resolved(u / 2.3, v / 1.7, seed, foot, 2.0)
    lap = resolved(u / 0.24, v / 1.9, seed + 1, foot, 0.3)
    roll = resolved(u / 0.02, v / 0.02, seed + 2, foot, 0.025)
    marks = 0.0
    if 0.0 < v < 1.3:
        low = 1 - v / 1.3
        # backs of chairs and bags drag, so scuffs are strokes
        marks = low * spots(0.5 * u + 0.4 * v, 4.5 * v, 0.16, 0.34, 2.2 * foot, seed + 3)
        marks += 0.6 * low * low * spots(u, v, 0.5, 0.2, foot, seed + 7)
        marks += 0.35 * low * low * max(cloud + 0.4, 0.0)
        marks += 0.5 * math.exp(-v / 0.10) * (0.7 + 0.3 * lap)  # mops, above the skirting
    mix(m, worn * (2.2 * marks + 0.2 * max(cloud, 0.0)), out)
    patch = mended(u, v, 0.9, 0.10, foot, seed + 20)  # filled and touched up, a shade off
    tone = 1 + worn * (0.10 * cloud + 0.16 * lap + 0.16 * roll + 0.30 * patch)
    if cloud > 0.1:
        tone *= 1 - 1.1 * worn * crack(u, v, 1.9, foot, seed + 30)
    scale(tone, out)
    out[7] = out[8] = 0.2 * worn * roll


@step()
def coachwork(m, u, v, copy, foot, out):
    """Lacquer of a car, v metres above the road, u along it: dust, most near the sills, dulls it.

    m: a material's row; the second colour is the dust, vary how much of it; copies differ.
    """
    seed = f64(m, 20) + 17 * copy
    worn = f64(m, 21) * (0.25 + 1.5 * cell(int(copy), 11, f64(m, 20)))
    cloud = clouded(u, v, 0.9, foot, seed)
    thrown = 0.5 + 0.5 * resolved(u / 0.5, v / 0.16, seed + 5, foot, 0.3)
    low = math.exp(-max(v - 0.16, 0.0) / 0.20) * thrown
    film = min(max(worn * (0.20 + 0.35 * cloud + 1.5 * low), 0.0), 0.85)
    mix(m, film, out)
    out[3] *= 1 - 0.8 * film
