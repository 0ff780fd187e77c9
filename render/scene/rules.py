"""Textures made by rule, evaluated where a ray lands: brick, paving, water, leaves, windows.

Each rule is told its footprint (metres of surface under one sample) and lets detail finer than
that fade into its mean, so nothing glitters and no lattice appears.
"""

import math

import numpy as np
from numba import njit

from render.scene.tables import f64

__all__ = ["COLUMNS", "RULES", "evaluate"]

#: Rules in the order of their numbers.
RULES = (
    *("plain", "brick", "paving", "tiles", "planks", "stripes", "checks", "grass", "foliage"),
    *("water", "windows", "asphalt", "corrugated", "plaster", "gravel", "iris", "strands", "cloth"),
    *("skin", "knit"),
)

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


@njit(cache=True, error_model="numpy")
def _hash(i, j, seed):  # type: ignore[no-untyped-def]
    """A number in [0, 1) for a cell."""
    h = np.uint32(np.int64(i) & 0xFFFFFFFF) * np.uint32(0x9E3779B1)
    h ^= np.uint32(np.int64(j) & 0xFFFFFFFF) * np.uint32(0x85EBCA77)
    h ^= np.uint32(np.int64(seed) & 0xFFFFFFFF) * np.uint32(0xC2B2AE3D)
    h = np.uint32(h ^ (h >> np.uint32(15))) * np.uint32(0x2C1B3C6D)
    h = np.uint32(h ^ (h >> np.uint32(12))) * np.uint32(0x297A2D39)
    h = np.uint32(h ^ (h >> np.uint32(15)))
    return np.float64(h) * (1.0 / 4294967296.0)


@njit(cache=True, error_model="numpy")
def _noise(u, v, seed):  # type: ignore[no-untyped-def]
    """Smooth value noise, -1..1, period of detail about 1."""
    i, j = math.floor(u), math.floor(v)
    a, b = u - i, v - j
    a = a * a * a * (a * (6 * a - 15) + 10)
    b = b * b * b * (b * (6 * b - 15) + 10)
    low = _hash(i, j, seed) * (1 - a) + _hash(i + 1, j, seed) * a
    high = _hash(i, j + 1, seed) * (1 - a) + _hash(i + 1, j + 1, seed) * a
    return 2 * (low * (1 - b) + high * b) - 1


@njit(cache=True, error_model="numpy")
def _fade(foot, period):  # type: ignore[no-untyped-def]
    """1 where a detail of this period is resolved, 0 where it is not."""
    t = min(max((0.9 - foot / period) * (1 / 0.65), 0.0), 1.0)
    return t * t * (3 - 2 * t)


@njit(cache=True, error_model="numpy")
def _clouded(u, v, period, foot, seed):  # type: ignore[no-untyped-def]
    """Four octaves of noise from `period` down, each turned, each faded by the footprint."""
    total, weight = 0.0, 0.55
    x, y = u / period, v / period
    size = period
    for octave in range(4):
        k = _fade(foot, size)
        if k == 0.0:
            break
        total += weight * k * _noise(x, y, seed + octave)
        x, y = 1.57 * x - 1.21 * y + 3.7, 1.21 * x + 1.57 * y + 1.3
        size *= 0.505
        weight *= 0.55
    return total


@njit(cache=True, error_model="numpy")
def _line(distance, width, foot):  # type: ignore[no-untyped-def]
    """Share of the footprint that a line of `width` at `distance` covers."""
    low = max(distance - 0.5 * foot, -0.5 * width)
    high = min(distance + 0.5 * foot, 0.5 * width)
    return max(high - low, 0.0) / max(foot, 1e-6)


@njit(cache=True, error_model="numpy")
def _bond(u, v, m, foot, joint, shift, out):  # type: ignore[no-untyped-def]
    """Units in rows: joints of `joint` metres in the second colour; out: cell and height."""
    length, height = f64(m, 10), f64(m, 11)
    row = math.floor(v / height)
    x = u + shift * length * (row % 2)
    column = math.floor(x / length)
    du = x - (column + 0.5) * length
    dv = v - (row + 0.5) * height
    edge_u, edge_v = 0.5 * length - abs(du), 0.5 * height - abs(dv)
    gap = max(_line(edge_u, joint, foot), _line(edge_v, joint, foot))
    k = _fade(foot, min(length, height) * 1.6)
    gap = gap * k + (1 - k) * min(joint / length + joint / height, 1.0)
    tone = 1 + f64(m, 21) * (2 * _hash(column, row, f64(m, 20)) - 1) * _fade(foot, height * 2.5)
    warm = f64(m, 21) * 0.35 * (2 * _hash(column, row, f64(m, 20) + 7) - 1) * k
    out[0] = (f64(m, 1) * tone * (1 + warm)) * (1 - gap) + f64(m, 4) * gap
    out[1] = (f64(m, 2) * tone) * (1 - gap) + f64(m, 5) * gap
    out[2] = (f64(m, 3) * tone * (1 - warm)) * (1 - gap) + f64(m, 6) * gap
    relief = f64(m, 22) * k
    if relief > 0:  # rounded edges catch the light
        rim = max(3 * joint, 0.12 * height)
        if edge_u < rim:
            out[7] = -math.copysign(relief * (1 - edge_u / rim), du)
        if edge_v < rim:
            out[8] = -math.copysign(relief * (1 - edge_v / rim), dv)


@njit(cache=True, error_model="numpy")
def _mix(m, t, out):  # type: ignore[no-untyped-def]
    t = min(max(t, 0.0), 1.0)
    out[0] = f64(m, 1) + (f64(m, 4) - f64(m, 1)) * t
    out[1] = f64(m, 2) + (f64(m, 5) - f64(m, 2)) * t
    out[2] = f64(m, 3) + (f64(m, 6) - f64(m, 3)) * t


@njit(cache=True, error_model="numpy")
def _scale(k, out):  # type: ignore[no-untyped-def]
    out[0] *= k
    out[1] *= k
    out[2] *= k


@njit(cache=True, error_model="numpy")
def _tiles(m, u, v, foot, out):  # type: ignore[no-untyped-def]
    """Overlapping rows of roof tiles: a shade under each edge, a soft roll across."""
    width, height = f64(m, 10), f64(m, 11)
    row = math.floor(v / height)
    x = u / width + 0.5 * (row % 2)
    column = math.floor(x)
    k = _fade(foot, height * 1.3)
    t = v / height - row
    tone = 1 + f64(m, 21) * (2 * _hash(column, row, f64(m, 20)) - 1) * _fade(foot, height * 3)
    tone *= 1 - 0.10 * _noise(0.25 * column, 0.25 * row, f64(m, 20) + 3) * _fade(foot, 2.0)
    shade = 1 - k * 0.45 * max(0.0, 1 - t / 0.16) + 0.06 * k * t
    pick = _hash(column, row, f64(m, 20) + 11)
    _mix(m, 0.55 * max(0.0, pick - 0.6) * _fade(foot, height * 3), out)
    _scale(tone * shade, out)
    out[7] = f64(m, 22) * math.sin(2 * math.pi * x) * _fade(foot, width * 1.5)


@njit(cache=True, error_model="numpy")
def _grass(m, u, v, foot, out):  # type: ignore[no-untyped-def]
    big = _clouded(u, v, 9.0, foot, f64(m, 20) + 1)
    small = _clouded(u, v, 0.45, foot, f64(m, 20) + 5)
    _mix(m, 0.42 + 0.55 * big + 0.38 * small, out)
    blades = _noise(u / 0.05, v / 0.16, f64(m, 20)) * _fade(foot, 0.12)
    _scale(1 + 0.16 * small + 0.22 * blades, out)
    if f64(m, 10) > 0:  # mown in strips
        strip = math.floor(u / f64(m, 10)) % 2
        _scale(1 + f64(m, 21) * (strip - 0.5) * _fade(foot, 2 * f64(m, 10)), out)
    out[7] = 0.35 * blades
    out[8] = 0.2 * small


@njit(cache=True, error_model="numpy")
def _water(m, u, v, foot, out):  # type: ignore[no-untyped-def]
    """Waves of many lengths running nearly one way; the shortest fade with distance."""
    out[0], out[1], out[2] = f64(m, 1), f64(m, 2), f64(m, 3)
    murk = _clouded(u, v, 14.0, foot, f64(m, 20))
    _scale(1 + 0.12 * murk, out)
    length, height = f64(m, 10), f64(m, 22)
    su, sv = 0.0, 0.0
    x, y = u, v
    for octave in range(5):
        k = height * _fade(foot, 1.6 * length)
        if k > 0:
            e = 0.08 * length
            px = x / length + 0.35 * _noise(y / (2.2 * length), x / (3.1 * length), 3)
            py = y / (1.9 * length)
            d = e / length
            n0 = _noise(px, py, f64(m, 20) + octave)
            su += k * (_noise(px + d, py, f64(m, 20) + octave) - n0) / d * 0.35
            sv += k * (_noise(px, py + d / 1.9, f64(m, 20) + octave) - n0) / d * 0.35
        x, y = 0.86 * x - 0.5 * y + 11.3, 0.5 * x + 0.86 * y - 4.1
        length *= 0.52
        height *= 0.8
    out[7], out[8] = su, sv


@njit(cache=True, error_model="numpy")
def _windows(m, u, v, foot, out):  # type: ignore[no-untyped-def]
    """A facade seen from afar: panes in the second colour, frames in the third."""
    wide, tall = f64(m, 10), f64(m, 11)
    column, row = math.floor(u / wide), math.floor(v / tall)
    du = abs(u / wide - column - 0.5)
    dv = abs(v / tall - row - 0.5)
    inside_u = _line(du * wide, 0.46 * wide, foot)
    inside_v = _line(dv * tall, 0.56 * tall, foot)
    frame_u = _line(du * wide, 0.46 * wide + 0.24, foot)
    frame_v = _line(dv * tall, 0.56 * tall + 0.24, foot)
    pane, frame = inside_u * inside_v, frame_u * frame_v
    if v < 0.35 * tall:
        pane = frame = 0.0
    bar = _line(du * wide, 0.07, foot) * pane
    pane -= bar
    frame = max(frame - pane, 0.0)
    wall = 1 - pane - frame
    pick = _hash(column, row, f64(m, 20))
    dark = 0.55 + 0.9 * pick * _fade(foot, wide * 2)
    out[0] = f64(m, 1) * wall + f64(m, 7) * frame + f64(m, 4) * pane * dark
    out[1] = f64(m, 2) * wall + f64(m, 8) * frame + f64(m, 5) * pane * dark
    out[2] = f64(m, 3) * wall + f64(m, 9) * frame + f64(m, 6) * pane * dark
    out[3] = f64(m, 12) * pane
    shine = pane if _hash(column, row, f64(m, 20) + 2) < f64(m, 26) else 0.0
    shine *= 0.5 + pick
    out[4], out[5], out[6] = f64(m, 14) * shine, f64(m, 15) * shine, f64(m, 16) * shine


@njit(cache=True, error_model="numpy")
def _asphalt(m, u, v, foot, out):  # type: ignore[no-untyped-def]
    grain = _noise(u / 0.018, v / 0.018, f64(m, 20)) * _fade(foot, 0.04)
    wear = _clouded(u, v, 6.0, foot, f64(m, 20) + 1)
    stain = max(_clouded(u, 0.4 * v, 2.2, foot, f64(m, 20) + 9) - 0.25, 0.0)
    _mix(m, 0.4 + 0.6 * wear, out)
    _scale(1 + 0.22 * grain - 0.5 * stain, out)


@njit(cache=True, error_model="numpy")
def _planks(m, u, v, foot, out):  # type: ignore[no-untyped-def]
    length, width = f64(m, 10), f64(m, 11)
    row = math.floor(v / width)
    x = u + length * _hash(row, 0, f64(m, 20))
    column = math.floor(x / length)
    gap = max(
        _line(0.5 * width - abs(v - (row + 0.5) * width), 0.008, foot),
        _line(0.5 * length - abs(x - (column + 0.5) * length), 0.006, foot),
    ) * _fade(foot, width * 1.5)
    tone = 1 + f64(m, 21) * (2 * _hash(column, row, f64(m, 20) + 1) - 1) * _fade(foot, 2 * width)
    seed = f64(m, 20) + 13 * column + 7 * row
    bend = 0.25 * _noise(x / 0.5, v / 0.09, seed)
    grain = _noise(x / 0.35, (v / 0.012) + 2 * bend, seed) * _fade(foot, 0.02)
    grain += _noise(x / 0.9, v / 0.045 + bend, seed + 1) * _fade(foot, 0.06)
    _mix(m, 0.3 + 0.28 * grain, out)
    _scale(tone * (1 - 0.75 * gap), out)


@njit(cache=True, error_model="numpy")
def _corrugated(m, u, v, foot, out):  # type: ignore[no-untyped-def]
    phase = 2 * math.pi * u / f64(m, 10)
    k = _fade(foot, f64(m, 10))
    rust = max(_clouded(u, v, 1.3, foot, f64(m, 20)) - 0.42 + 0.25 * f64(m, 21), 0.0)
    _mix(m, min(3.0 * f64(m, 21) * rust, 1.0), out)
    _scale(1 + 0.10 * k * math.cos(phase), out)
    out[7] = f64(m, 22) * k * math.sin(phase)


@njit(cache=True, error_model="numpy")
def _plaster(m, u, v, foot, out):  # type: ignore[no-untyped-def]
    """Painted render: cloudy, damp near the ground, streaked by rain."""
    cloud = _clouded(u, v, 2.6, foot, f64(m, 20))
    streak = _noise(u / 0.22, v / 4.0, f64(m, 20) + 4) * _fade(foot, 0.5)
    damp = math.exp(-max(v, 0.0) / 0.55) * (0.6 + 0.4 * _noise(u / 0.9, 0.3, f64(m, 20) + 6))
    _mix(m, f64(m, 21) * (0.35 * cloud + 0.25 * max(streak, 0.0) + 0.75 * damp), out)
    grain = _noise(u / 0.012, v / 0.012, f64(m, 20) + 2) * _fade(foot, 0.025)
    _scale(1 + 0.05 * cloud + 0.05 * grain, out)


@njit(cache=True, error_model="numpy")
def _gravel(m, u, v, foot, out):  # type: ignore[no-untyped-def]
    big = _clouded(u, v, 3.0, foot, f64(m, 20))
    size = max(f64(m, 10), 0.01)
    a = _noise(u / size, v / size, f64(m, 20) + 1) * _fade(foot, size * 1.8)
    b = _noise(u / (0.43 * size), v / (0.43 * size), f64(m, 20) + 2) * _fade(foot, size)
    _mix(m, 0.45 + 0.5 * big + 0.35 * a + 0.25 * b, out)
    _scale(1 + f64(m, 21) * (0.7 * a + 0.5 * b), out)
    out[7], out[8] = f64(m, 22) * a, f64(m, 22) * b


@njit(cache=True, error_model="numpy")
def _iris(m, u, v, foot, out):  # type: ignore[no-untyped-def]
    """An eye looking along its axis: u the angle, v the distance from the axis (radius 1)."""
    fibre = _noise(u * 14, v * 3, f64(m, 20)) * 0.5 + _noise(u * 37, v * 5, f64(m, 20) + 1) * 0.5
    if v < 0.20:
        out[0] = out[1] = out[2] = 0.004
    elif v < 0.46:
        _mix(m, 0.45 + 0.6 * fibre - 0.9 * (v - 0.20), out)
        if v > 0.41:
            _scale(0.35, out)
    else:
        red = min(max((v - 0.55) * 0.9, 0.0), 0.35)
        out[0], out[1], out[2] = (
            f64(m, 7),
            f64(m, 8) * (1 - 0.35 * red),
            f64(m, 9) * (1 - 0.3 * red),
        )


@njit(cache=True, error_model="numpy")
def _step(low, high, x):  # type: ignore[no-untyped-def]
    t = min(max((x - low) / (high - low), 0.0), 1.0)
    return t * t * (3 - 2 * t)


@njit(cache=True, error_model="numpy")
def _hump(u, v, wide, tall):  # type: ignore[no-untyped-def]
    return math.exp(-((u / wide) ** 2) - (v / tall) ** 2)


@njit(cache=True, error_model="numpy")
def _skin(m, u, v, foot, out):  # type: ignore[no-untyped-def]
    """Skin of a head: u is the angle round it times 75 mm, v the height above the pupils.

    Blood shows in cheeks, nose and ears; lips, freckles, pores.  Hands lie far off in u.
    """
    a = abs(u)
    blush = 0.55 * _hump(a - 0.036, v + 0.033, 0.017, 0.016) + 0.6 * _hump(
        u, v + 0.036, 0.010, 0.012
    )
    blush += (
        0.6
        * _step(0.094, 0.108, a)
        * (1 - _step(0.135, 0.150, a))
        * (_step(-0.055, -0.03, v) * (1 - _step(0.02, 0.035, v)))
    )
    blush += 0.35 * _hump(a - 0.0247, v + 0.003, 0.012, 0.009) + 0.25 * _hump(
        u, v + 0.098, 0.014, 0.012
    )
    blush += 0.25 * _clouded(u, v, 0.022, foot, f64(m, 20))
    blush = min(max(blush, -0.3), 1.0)
    pore = _noise((u + v) / 0.0012, (u - v) / 0.0012, f64(m, 20) + 1) * _fade(foot, 0.0014)
    fine = _noise(u / 0.0022, v / 0.0022, f64(m, 20) + 2) * _fade(foot, 0.004)
    tone = 1 + 0.05 * pore + 0.035 * fine
    out[0] = f64(m, 1) * tone * (1 - 0.05 * blush)
    out[1] = f64(m, 2) * tone * (1 - 0.30 * blush)
    out[2] = f64(m, 3) * tone * (1 - 0.30 * blush)
    if f64(m, 21) > 0 and a < 0.2:
        _freckles(m, u, v, foot, blush, out)
    out[7], out[8] = 0.05 * (pore + fine), 0.05 * (pore - fine)
    _lips(m, u, v, foot, out)


@njit(cache=True, error_model="numpy")
def _freckles(m, u, v, foot, blush, out):  # type: ignore[no-untyped-def]
    """Small brown spots, most of them where the sun gets: nose and cheeks."""
    size = 0.0036
    i, j = math.floor(u / size), math.floor(v / size)
    if _hash(i, j, f64(m, 20) + 5) > f64(m, 21) * (0.05 + 1.0 * max(blush, 0.0)):
        return
    x = u - (i + 0.3 + 0.4 * _hash(i, j, f64(m, 20) + 6)) * size
    y = v - (j + 0.3 + 0.4 * _hash(i, j, f64(m, 20) + 7)) * size
    r = size * (0.07 + 0.13 * _hash(i, j, f64(m, 20) + 8))
    edge = 0.3 * r + 0.5 * foot
    k = 0.42 * (1 - _step(r - edge, r + edge, math.hypot(x, y))) * min(r / max(foot, 1e-6), 1.0)
    out[0] *= 1 - 0.5 * k
    out[1] *= 1 - 0.8 * k
    out[2] *= 1 - k


@njit(cache=True, error_model="numpy")
def _lips(m, u, v, foot, out):  # type: ignore[no-untyped-def]
    t = u / 0.0208
    if abs(t) >= 1 or v > -0.05 or v < -0.09:
        return
    dome = 1 - t * t
    upper = -0.0655 + 0.0022 * t * t + 0.0070 * dome - 0.0014 * math.exp(-((t / 0.16) ** 2))
    lower = -0.0660 + 0.0026 * t * t - 0.0102 * dome**0.9
    soft = 0.0007 + foot
    k = _step(-soft, soft, upper - v) * _step(-soft, soft, v - lower)
    lines = _noise(u / 0.0011, v / 0.009, f64(m, 20) + 9) * _fade(foot, 0.0018)
    shade = 1 + 0.10 * lines
    out[0] *= 1 + k * (0.84 * shade - 1)
    out[1] *= 1 + k * (0.62 * shade - 1)
    out[2] *= 1 + k * (0.62 * shade - 1)
    out[3] += 0.006 * k
    out[7] += 0.10 * k * lines


@njit(cache=True, error_model="numpy")
def _knit(m, u, v, foot, out):  # type: ignore[no-untyped-def]
    """Stocking stitch: columns of small V; size_m is one stitch."""
    x, y = u / f64(m, 10), v / f64(m, 11)
    column = math.floor(x)
    du = x - column - 0.5
    y += 0.9 * abs(du)
    k = _fade(foot, 1.3 * f64(m, 11))
    row = math.floor(y)
    dv = y - row - 0.5
    body = 1 - min((abs(abs(du) - 0.25) / 0.25) ** 2 + 0.5 * (2 * dv) ** 2, 1.0)
    tone = 1 + f64(m, 21) * 0.6 * (2 * _hash(column, row, f64(m, 20)) - 1) * _fade(
        foot, 2 * f64(m, 11)
    )
    fuzz = _noise(u / 0.0007, v / 0.0004, f64(m, 20) + 1) * _fade(foot, 0.0009)
    _mix(m, (1 - k) * 0.45 + k * (0.85 - 0.85 * body), out)
    _scale(tone * (1 + 0.10 * fuzz + 0.05 * _clouded(u, v, 0.05, foot, f64(m, 20) + 3)), out)
    side = 1.0 if du > 0 else -1.0
    out[7] = f64(m, 22) * k * side * (abs(du) - 0.25) * 4
    out[8] = f64(m, 22) * k * dv


@njit(cache=True, error_model="numpy")
def evaluate(m, u, v, foot, copy, out):  # type: ignore[no-untyped-def]
    """Colour, gloss, glow and relief of one material at one place.

    m: address of a material row (30 f64); copy: number of the placement (leaves differ from
    tree to tree).
    out (9,) f64: red, green, blue; gloss; glow red, green, blue; slope along u and v.
    """
    rule = int(f64(m, 0))
    out[0], out[1], out[2] = f64(m, 1), f64(m, 2), f64(m, 3)
    out[3] = f64(m, 12)
    out[4], out[5], out[6] = f64(m, 14), f64(m, 15), f64(m, 16)
    out[7] = out[8] = 0.0
    if rule == 1:
        _bond(u, v, m, foot, 0.011, 0.5, out)
    elif rule == 2:
        _bond(u, v, m, foot, f64(m, 28), f64(m, 29), out)
    elif rule == 3:
        _tiles(m, u, v, foot, out)
    elif rule == 4:
        _planks(m, u, v, foot, out)
    elif rule == 5:
        t = u / f64(m, 10) - math.floor(u / f64(m, 10))
        share = _line(abs(t - 0.5) * f64(m, 10), 0.5 * f64(m, 10), foot)
        k = _fade(foot, f64(m, 10) * 1.5)
        _mix(m, k * share + 0.5 * (1 - k), out)
    elif rule == 6:
        a = _line(
            abs(u / f64(m, 10) - math.floor(u / f64(m, 10)) - 0.5) * f64(m, 10),
            0.5 * f64(m, 10),
            foot,
        )
        b = _line(
            abs(v / f64(m, 11) - math.floor(v / f64(m, 11)) - 0.5) * f64(m, 11),
            0.5 * f64(m, 11),
            foot,
        )
        _mix(m, a + b - 2 * a * b, out)
    elif rule == 7:
        _grass(m, u, v, foot, out)
    elif rule == 8:
        pick = _hash(int(u * 37.0), int(v * 53.0) + 1009 * int(copy), f64(m, 20))
        _mix(m, 0.5 + 0.5 * (2 * pick - 1) * f64(m, 21), out)
        _scale(1 + 0.25 * f64(m, 21) * (2 * _hash(copy, 3, f64(m, 20)) - 1), out)
    elif rule == 9:
        _water(m, u, v, foot, out)
    elif rule == 10:
        _windows(m, u, v, foot, out)
    elif rule == 11:
        _asphalt(m, u, v, foot, out)
    elif rule == 12:
        _corrugated(m, u, v, foot, out)
    elif rule == 13:
        _plaster(m, u, v, foot, out)
    elif rule == 14:
        _gravel(m, u, v, foot, out)
    elif rule == 15:
        _iris(m, u, v, foot, out)
    elif rule == 16:
        strand = _noise(u / f64(m, 10), v / (18 * f64(m, 10)), f64(m, 20)) * _fade(
            foot, 1.6 * f64(m, 10)
        )
        lock = _noise(u / (6 * f64(m, 10)), v / (60 * f64(m, 10)), f64(m, 20) + 1) * _fade(
            foot, 9 * f64(m, 10)
        )
        _mix(m, 0.4 + 0.5 * strand + 0.4 * lock, out)
        out[7] = f64(m, 22) * strand
    elif rule == 17:
        weave = (
            math.sin(6.2832 * u / f64(m, 10))
            * math.sin(6.2832 * v / f64(m, 10))
            * _fade(foot, f64(m, 10))
        )
        _mix(m, 0.3 + 0.5 * f64(m, 21) * _clouded(u, v, 0.3, foot, f64(m, 20)), out)
        _scale(1 + 0.12 * weave, out)
    elif rule == 18:
        _skin(m, u, v, foot, out)
    elif rule == 19:
        _knit(m, u, v, foot, out)
    if f64(m, 18) > 0:
        _scale(1 + f64(m, 18) * _clouded(u, v, f64(m, 19), foot, f64(m, 20) + 31), out)
    for c in range(3):
        out[c] = min(max(out[c], 0.0), 0.97)
