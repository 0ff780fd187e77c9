"""Textures made by rule, evaluated where a ray lands: brick, paving, water, leaves, windows.

Each rule is told its footprint (metres of surface under one sample) and lets detail finer than
that fade into its mean, so nothing glitters and no lattice appears.
"""

import math

from render.compiled import entry, step
from render.world.surfaces.earth import grass, mire, trodden
from render.world.surfaces.metal import ribbed, weathered
from render.world.surfaces.noise import cell, clouded, covered, fade, mix, noise, resolved, scale
from render.world.surfaces.roads import asphalt, relaid
from render.world.surfaces.shores import groomed, sea, tide
from render.world.surfaces.skin import knit, skin, strands, woven
from render.world.surfaces.tables import f64
from render.world.surfaces.water import water
from render.world.surfaces.wear import (
    bare,
    coachwork,
    crack,
    drips,
    gravel,
    marking,
    mended,
    painted,
    runs,
    scuffed,
    sooty,
    spots,
)

__all__ = ["COLUMNS", "PANE_STEP_M", "RULES", "SHOP_PANES", "evaluate", "texture", "under_ledge"]

#: Rules in the order of their numbers.
RULES = (
    *("plain", "brick", "paving", "tiles", "planks", "stripes", "checks", "grass", "foliage"),
    *("water", "windows", "asphalt", "corrugated", "plaster", "gravel", "iris", "strands", "cloth"),
    *("skin", "knit", "panes", "trodden", "marking", "painted", "coachwork"),
    *("sea", "tidal", "groomed", "mire", "weathered"),
)

#: Panes lie so far apart along u, whatever their place: the number of each is in it.
PANE_STEP_M = 16.0

#: Panes from this number on are a shop's: how much brighter they are than a room.
SHOP_PANES, _SHOP_SHINE = 1024, 3.2

#: Walls whose u starts beyond the first lie under a ledge, a sill or the eaves: another for each
#: decimetre of its height, the second apart, with a metre to spare at either end.
_LEDGE_FROM_M, _LEDGE_STEP_M, _MOST_LEDGES = 32768.0, 64.0, 480

#: Columns of a material row, float64.
COLUMNS = {
    name: i
    for i, name in enumerate(
        (
            *("rule", "r", "g", "b", "r2", "g2", "b2", "r3", "g3", "b3", "size_u", "size_v"),
            *("gloss", "rough", "glow_r", "glow_g", "glow_b", "through", "mottle", "mottle_m"),
            *("seed", "vary", "relief", "mean_r", "mean_g", "mean_b", "lit", "two_sided"),
            *("joint", "bond"),
        )
    )
}


def under_ledge(height_m: float, wide_m: float) -> float:
    """What to add to u (0 to `wide_m`) of a part of a wall under a ledge at a height; 0 for none.

    A wall then wears under its ledge.  v is height in metres.
    """
    number = round(10 * height_m)
    if not (0 <= number < _MOST_LEDGES and wide_m <= _LEDGE_STEP_M - 2):
        return 0.0
    return _LEDGE_FROM_M + _LEDGE_STEP_M * number + 1.0


@step()
def _stains(u, v, unit, foot, seed):
    """Dirt, spills and grit on units of stone or brick, about 0."""
    big = 0.6 * resolved(u / 1.7, v / 1.3, seed + 70, foot, 1.3)
    grit = resolved(u / (0.16 * unit), v / (0.16 * unit), seed + 71, foot, 0.26 * unit)
    fine = resolved(u / 0.030, v / 0.030, seed + 75, foot, 0.030) if unit > 0.2 else 0.0
    if unit > 0.2:  # sand in concrete, stained and worn smooth by turns
        fine += 0.9 * resolved(u / 0.011, v / 0.011, seed + 76, foot, 0.011)
    spill = spots(u, v, 0.9, 0.30, foot, seed + 72) + spots(u, v, 0.23, 0.22, foot, seed + 73)
    return 0.55 * big + 0.6 * grit + 0.55 * fine - 1.1 * spill + 0.05


@step()
def _bond(u, v, m, foot, joint, shift, below, ledge, out):
    """Units in rows: joints of `joint` metres in the second colour; out: cell and height."""
    length, height = f64(m, 10), f64(m, 11)
    row = math.floor(v / height)
    x = u + shift * length * (row % 2)
    column = math.floor(x / length)
    du = x - (column + 0.5) * length
    dv = v - (row + 0.5) * height
    edge_u, edge_v = 0.5 * length - abs(du), 0.5 * height - abs(dv)
    gap = max(covered(edge_u, joint, foot), covered(edge_v, joint, foot))
    k = fade(foot, min(length, height) * 1.6)
    gap = gap * k + (1 - k) * min(joint / length + joint / height, 1.0)
    pick = cell(column, row, f64(m, 20))
    tone = 1 + f64(m, 21) * (2 * pick - 1) * fade(foot, height * 2.5)
    if pick < 0.10 and int(f64(m, 0)) == 1:  # bricks burnt dark
        tone *= 1 - 1.3 * f64(m, 21) * k
    tone *= 1 + f64(m, 21) * _stains(u, v, min(length, height), foot, f64(m, 20))
    if pick > 0.95:  # units laid anew
        tone *= 1 + 1.5 * f64(m, 21) * (40 * (pick - 0.95) - 1) * k
    grime = covered(min(edge_u, edge_v), 2 * joint + 0.05 * height, foot + 0.02)
    tone *= 1 - f64(m, 21) * k * grime * (0.5 + 0.5 * cell(row, column, f64(m, 20) + 9))
    tone *= 1 - 0.8 * f64(m, 21) * runs(u, below, ledge, foot, f64(m, 20) + 80)
    warm = f64(m, 21) * 0.35 * (2 * cell(column, row, f64(m, 20) + 7) - 1) * k
    out[0] = (f64(m, 1) * tone * (1 + warm)) * (1 - gap) + f64(m, 4) * gap
    out[1] = (f64(m, 2) * tone) * (1 - gap) + f64(m, 5) * gap
    out[2] = (f64(m, 3) * tone * (1 - warm)) * (1 - gap) + f64(m, 6) * gap
    if gap > 0.02 and k > 0.0:
        moss = gap * min(
            max(1.3 * resolved(u / 1.4, v / 1.1, f64(m, 20) + 90, foot, 1.4) - 0.3, 0.0), 1.0
        )
        moss *= min(5.0 * f64(m, 21), 1.0) * k
        out[0] += (0.075 - out[0]) * 0.55 * moss
        out[1] += (0.085 - out[1]) * 0.55 * moss
        out[2] += (0.040 - out[2]) * 0.55 * moss
    closed = 0.0
    if length < 0.3 and height > 0.1:  # setts: taken up for pipes, laid again or closed with tar
        closed = relaid(u, v, foot, f64(m, 20), out)
    relief = f64(m, 22) * k * (1 - closed)
    if relief > 0:  # rounded edges catch the light
        rim = max(3 * joint, 0.12 * height)
        if edge_u < rim:
            out[7] = -math.copysign(relief * (1 - edge_u / rim), du)
        if edge_v < rim:
            out[8] = -math.copysign(relief * (1 - edge_v / rim), dv)


@step()
def _tiles(m, u, v, foot, out):
    """Overlapping rows of roof tiles: a shade under each edge, a soft roll across."""
    width, height = f64(m, 10), f64(m, 11)
    row = math.floor(v / height)
    x = u / width + 0.5 * (row % 2)
    column = math.floor(x)
    k = fade(foot, height * 1.3)
    t = v / height - row
    tone = 1 + f64(m, 21) * (2 * cell(column, row, f64(m, 20)) - 1) * fade(foot, height * 3)
    tone *= 1 - 0.10 * resolved(0.25 * column, 0.25 * row, f64(m, 20) + 3, foot, 2.0)
    shade = 1 - k * 0.45 * max(0.0, 1 - t / 0.16) + 0.06 * k * t
    pick = cell(column, row, f64(m, 20) + 11)
    near = fade(foot, height * 3)
    mix(m, 0.55 * max(0.0, pick - 0.6) * near, out)
    if pick < 0.03:  # replaced by a new one
        tone *= 1 + 1.6 * f64(m, 21) * near
    tone *= 1 + 1.4 * f64(m, 21) * mended(u, v, 2.6, 0.26, foot, f64(m, 20) + 17)
    grit = resolved(u / 0.06, v / 0.06, f64(m, 20) + 14, foot, 0.09)
    tone *= 1 + f64(m, 21) * (0.5 * grit - 0.9 * drips(u, v, foot, f64(m, 20) + 15))
    scale(tone * shade, out)
    moss = clouded(u, v, 1.7, foot, f64(m, 20) + 13) + 0.25 * (pick - 0.5) * near
    moss = min(max((moss - 0.36) / 0.10, 0.0), 1.0) * min(4.0 * f64(m, 21), 1.0)
    moss *= 0.6 * fade(foot, 1.2) * (1 + 0.3 * grit)
    out[0] += (0.110 - out[0]) * moss
    out[1] += (0.125 - out[1]) * moss
    out[2] += (0.055 - out[2]) * moss
    out[7] = f64(m, 22) * math.sin(2 * math.pi * x) * fade(foot, width * 1.5)


@step()
def _windows(m, u, v, foot, out):
    """A facade seen from afar: panes in the second colour, frames in the third."""
    wide, tall = f64(m, 10), f64(m, 11)
    column, row = math.floor(u / wide), math.floor(v / tall)
    du = abs(u / wide - column - 0.5)
    dv = abs(v / tall - row - 0.5)
    inside_u = covered(du * wide, 0.46 * wide, foot)
    inside_v = covered(dv * tall, 0.56 * tall, foot)
    frame_u = covered(du * wide, 0.46 * wide + 0.24, foot)
    frame_v = covered(dv * tall, 0.56 * tall + 0.24, foot)
    pane, frame = inside_u * inside_v, frame_u * frame_v
    if v < 0.35 * tall:
        pane = frame = 0.0
    bar = covered(du * wide, 0.07, foot) * pane
    pane -= bar
    frame = max(frame - pane, 0.0)
    wall = 1 - pane - frame
    pick = cell(column, row, f64(m, 20))
    dark = 0.55 + 0.9 * pick * fade(foot, wide * 2)
    out[0] = f64(m, 1) * wall + f64(m, 7) * frame + f64(m, 4) * pane * dark
    out[1] = f64(m, 2) * wall + f64(m, 8) * frame + f64(m, 5) * pane * dark
    out[2] = f64(m, 3) * wall + f64(m, 9) * frame + f64(m, 6) * pane * dark
    out[3] = f64(m, 12) * pane
    shine = pane if cell(column, row, f64(m, 20) + 2) < f64(m, 26) else 0.0
    shine *= 0.5 + pick
    out[4], out[5], out[6] = f64(m, 14) * shine, f64(m, 15) * shine, f64(m, 16) * shine


@step()
def _pane(m, u, v, copy, out):
    """Glass before a room, lit or dark as a whole; u counts panes by `PANE_STEP_M`."""
    pane, seed = math.floor(u / PANE_STEP_M), f64(m, 20)
    shine = 0.0
    if pane >= SHOP_PANES:  # goods before a lit wall, under lamps; one stands for all its light
        x = u - PANE_STEP_M * pane
        goods = noise(x / 0.32 + 7 * pane, v / 0.41, seed) + 0.5 * noise(x / 0.13, v / 0.2, seed)
        shine = _SHOP_SHINE * (0.6 + 0.4 * v) * (1 + 0.6 * goods) if f64(m, 26) > 0 else 0.0
        out[9] = -2.0
    elif cell(pane, 7 * int(copy) + 1, seed) < f64(m, 26):
        # a lamp hangs in the upper part of a room, and rooms differ
        shine = 0.45 + 0.9 * cell(pane, 7 * int(copy) + 2, seed) + 0.25 * min(max(v, 0.0), 1.6)
    for c in range(4, 7):
        out[c] *= shine


@step()
def _planks(m, u, v, foot, out):
    """Boards with grain, knots and nails; trodden dull where feet go; joint_m 0 is one piece."""
    length, width, joint, vary = f64(m, 10), f64(m, 11), f64(m, 28), f64(m, 21)
    floor_seed = f64(m, 20)
    if joint == 0.0:  # no seam where a piece's own middle lies
        v += 0.37 * width
    row = math.floor(v / width)
    x = u + length * cell(row, 0, floor_seed)
    column = math.floor(x / length)
    seed = floor_seed + 13 * column + 7 * row
    tone = 1 + vary * (2 * cell(column, row, floor_seed + 1) - 1) * fade(foot, 2 * width)
    bend = 0.25 * noise(x / 0.5, v / 0.09, seed)
    knot = 0.0
    near = fade(foot, 0.05)
    if near > 0.0:
        i, j = math.floor(x / 0.7), math.floor(v / 0.11)
        if cell(i, j, seed + 2) < 0.13:
            du = (x / 0.7 - i - 0.3 - 0.4 * cell(i, j, seed + 3)) * 0.7
            dv = (v / 0.11 - j - 0.35 - 0.3 * cell(i, j, seed + 4)) * 0.11
            size = 0.006 + 0.010 * cell(j, i, seed + 5)
            off = (0.45 * du / size) ** 2 + (dv / size) ** 2
            knot = near * math.exp(-0.7 * off)
            bend += 1.1 * near * math.copysign(math.exp(-0.16 * off), dv)
    grain = resolved(x / 0.35, (v / 0.012) + 2 * bend, seed, foot, 0.02)
    grain += resolved(x / 0.9, v / 0.045 + bend, seed + 1, foot, 0.06)
    pores = resolved(x / 0.05, v / 0.0028, seed + 6, foot, 0.005)
    mix(m, 0.3 + 0.28 * grain + 0.20 * max(pores, 0.0) + 0.7 * knot, out)
    tone *= 1 - 0.3 * knot
    if joint > 0.0:
        edge_u = 0.5 * length - abs(x - (column + 0.5) * length)
        edge_v = 0.5 * width - abs(v - (row + 0.5) * width)
        gap = max(covered(edge_v, joint, foot), covered(edge_u, 0.75 * joint, foot))
        if near > 0.0 and edge_u < 0.05:  # two nails at each end
            tone *= 1 - 0.6 * near * math.exp(
                -((edge_u - 0.03) ** 2 + (edge_v - 0.2 * width) ** 2) / 1.6e-5
            )
        tone *= 1 - 0.75 * gap * fade(foot, width * 1.5)
        if out[3] > 0.0:
            tone *= scuffed(u, v, foot, floor_seed + 60, out)
    scale(tone, out)


@step()
def _plaster(m, u, v, foot, below, ledge, out):
    """Painted render: cloudy, damp near the ground, streaked by rain."""
    seed, worn = f64(m, 20), f64(m, 21)
    cloud = clouded(u, v, 2.6, foot, seed)
    streak = resolved(u / 0.22, v / 4.0, seed + 4, foot, 0.5)
    damp = 0.0
    if v < 2.5:
        damp = math.exp(-max(v, 0.0) / 0.55) * (0.6 + 0.4 * noise(u / 0.9, 0.3, seed + 6))
    # lacquer over metal does not flake in crumbs as render does
    fallen = 0.0 if f64(m, 12) > 0.0 else bare(cloud, u, v, 1.3, 0.5 * worn, foot)
    dirt = 0.35 * cloud + 0.25 * max(streak, 0.0) + 0.75 * damp + 0.75 * fallen
    mix(m, worn * (dirt + 0.55 * sooty(v, u, foot, seed + 40)), out)
    patch = mended(u, v, 1.1, 0.18, foot, seed + 20)
    grain = resolved(u / 0.014, v / 0.014, seed + 2, foot, 0.016)
    grit = resolved(u / 0.05, v / 0.05, seed + 3, foot, 0.05)
    float_ = resolved((u + 0.6 * v) / 0.19, (v - 0.7 * u) / 0.15, seed + 8, foot, 0.2)
    tone = 1 + 0.05 * cloud + 0.10 * grain + 0.025 * grit * (1 + 3 * fallen) + 0.03 * float_
    thin = resolved(u / 0.065, v / 1.4, seed + 5, foot, 0.08)  # what rain has drawn, everywhere
    tone -= 0.24 * worn * max(thin + 0.5 * streak - 0.1, 0.0)
    wet = runs(u, below, ledge, foot, seed + 80) if ledge >= 0 else drips(u, v, foot, seed + 50)
    tone *= 1 - worn * (0.95 * wet + 0.6 * crack(u, v, 1.6, foot, seed + 60))
    if below < 1.1:  # a cornice keeps the rain off: soot stays in a band under it
        tone *= 1 - 0.22 * worn * math.exp(-max(below, 0.0) / 0.35) * (1 + streak)
    scale(tone * (1 + 0.34 * worn * patch), out)
    coarse = 0.05 + 0.16 * worn  # what a float leaves, and grains thrown on
    out[7] = coarse * (grain + 0.12 * grit)
    out[8] = coarse * (0.35 * float_ - 0.12 * grit)


@step()
def _iris(m, u, v, foot, out):
    """An eye looking along its axis: u the angle, v the distance from the axis (radius 1)."""
    fibre = noise(u * 14, v * 3, f64(m, 20)) * 0.5 + noise(u * 37, v * 5, f64(m, 20) + 1) * 0.5
    if v < 0.20:
        out[0] = out[1] = out[2] = 0.004
    elif v < 0.435:
        mix(m, 0.45 + 0.6 * fibre - 0.9 * (v - 0.20), out)
        scale(1 - 0.62 * min(max((v - 0.36) / 0.06, 0.0), 1.0), out)
    else:
        vein = max(noise(u * 9, v * 4, f64(m, 20) + 2) - 0.35, 0.0)
        red = min(max((v - 0.52) * 0.8, 0.0), 0.75) + 0.5 * vein
        if v > 1.25:  # the wet line of the lid, the corner
            red = 1.5
        out[0], out[1], out[2] = (
            f64(m, 7),
            f64(m, 8) * (1 - 0.35 * red),
            f64(m, 9) * (1 - 0.3 * red),
        )


@step()
def evaluate(m, u, v, foot, copy, out):
    """Colour, gloss, glow and relief of one material at one place.

    m: address of a material row (30 f64); copy: number of the placement (leaves differ from
    tree to tree).
    out (10,) f64: red, green, blue; gloss; glow red, green, blue; slope along u and v; of water the
    variance of the slopes that are not resolved, -1 of all else.
    """
    rule = int(f64(m, 0))
    below, ledge = 99.0, -1.0
    if u > _LEDGE_FROM_M:
        ledge = math.floor((u - _LEDGE_FROM_M) / _LEDGE_STEP_M)
        u -= _LEDGE_FROM_M + _LEDGE_STEP_M * ledge + 1.0
        below = 0.1 * ledge - v
    out[0], out[1], out[2] = f64(m, 1), f64(m, 2), f64(m, 3)
    out[3] = f64(m, 12)
    out[4], out[5], out[6] = f64(m, 14), f64(m, 15), f64(m, 16)
    out[7] = out[8] = 0.0
    out[9] = -1.0
    if rule == 1:
        _bond(u, v, m, foot, 0.011, 0.5, below, ledge, out)
    elif rule == 2:
        _bond(u, v, m, foot, f64(m, 28), f64(m, 29), below, ledge, out)
    elif rule == 3:
        _tiles(m, u, v, foot, out)
    elif rule == 4:
        _planks(m, u, v, foot, out)
    elif rule == 5:
        t = u / f64(m, 10) - math.floor(u / f64(m, 10))
        share = covered(abs(t - 0.5) * f64(m, 10), 0.5 * f64(m, 10), foot)
        k = fade(foot, f64(m, 10) * 1.5)
        mix(m, k * share + 0.5 * (1 - k), out)
    elif rule == 6:
        a = covered(
            abs(u / f64(m, 10) - math.floor(u / f64(m, 10)) - 0.5) * f64(m, 10),
            0.5 * f64(m, 10),
            foot,
        )
        b = covered(
            abs(v / f64(m, 11) - math.floor(v / f64(m, 11)) - 0.5) * f64(m, 11),
            0.5 * f64(m, 11),
            foot,
        )
        mix(m, a + b - 2 * a * b, out)
    elif rule == 7:
        grass(m, u, v, foot, out)
    elif rule == 8:
        pick = cell(int(u * 37.0), int(v * 53.0) + 1009 * int(copy), f64(m, 20))
        mix(m, 0.5 + 0.5 * (2 * pick - 1) * f64(m, 21), out)
        scale(1 + 0.25 * f64(m, 21) * (2 * cell(copy, 3, f64(m, 20)) - 1), out)
    elif rule == 9:
        water(m, u, v, foot, out)
    elif rule == 10:
        _windows(m, u, v, foot, out)
    elif rule == 11:
        asphalt(m, u, v, foot, out)
    elif rule == 12:
        ribbed(m, u, v, copy, foot, out)
    elif rule == 13:
        _plaster(m, u, v, foot, below, ledge, out)
    elif rule == 14:
        gravel(m, u, v, foot, out)
    elif rule == 15:
        _iris(m, u, v, foot, out)
    elif rule == 16:
        strands(m, u, v, foot, out)
    elif rule == 17:
        woven(m, u, v, foot, out)
    elif rule == 18:
        skin(m, u, v, foot, out)
    elif rule == 19:
        knit(m, u, v, foot, out)
    elif rule == 20:
        _pane(m, u, v, copy, out)
    elif rule == 21:
        trodden(m, u, v, foot, out)
    elif rule == 22:
        marking(m, u, v, foot, out)
    elif rule == 23:
        painted(m, u, v, foot, out)
    elif rule == 24:
        coachwork(m, u, v, copy, foot, out)
    elif rule == 25:
        sea(m, u, v, foot, out)
    elif rule == 26:
        _bond(u, v, m, foot, f64(m, 28), f64(m, 29), below, ledge, out)
        tide(m, u, v, foot, out)
    elif rule == 27:
        groomed(m, u, v, foot, out)
    elif rule == 28:
        mire(m, u, v, foot, out)
    elif rule == 29:
        weathered(m, u, v, copy, foot, out)
    if f64(m, 18) > 0:
        scale(1 + f64(m, 18) * clouded(u, v, f64(m, 19), foot, f64(m, 20) + 31), out)
    for c in range(3):
        out[c] = min(max(out[c], 0.0), 0.97)


@entry("void(int64, float64, float64, float64, int64, CPointer(float64))")
def texture(m, u, v, foot, copy, out):
    """`evaluate`, called by its address."""
    evaluate(m, u, v, foot, copy, out)
