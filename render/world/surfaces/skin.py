"""Textures of people who stand near: skin, lips, hair, and what is woven or knitted."""

import math

from render.compiled import step
from render.world.surfaces.noise import cell, clouded, fade, mix, noise, resolved, scale
from render.world.surfaces.tables import f64

__all__ = ["knit", "skin", "strands", "woven"]


@step()
def _step(low, high, x):
    t = min(max((x - low) / (high - low), 0.0), 1.0)
    return t * t * (3 - 2 * t)


@step()
def _hump(u, v, wide, tall):
    return math.exp(-((u / wide) ** 2) - (v / tall) ** 2)


@step()
def skin(m, u, v, foot, out):
    """Skin of a head: u is the angle round it times 75 mm, v the height above the pupils.

    Blood shows in cheeks, nose and ears; lips, freckles, pores.  Hands lie far off in u.
    """
    a = abs(u)
    blush = 0.55 * _hump(a - 0.036, v + 0.033, 0.017, 0.016) + 0.6 * _hump(
        u, v + 0.031, 0.010, 0.012
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
    blush += 0.13 * clouded(u, v, 0.022, foot, f64(m, 20))
    blush += 0.22 * resolved(u / 0.0055, v / 0.0050, f64(m, 20) + 16, foot, 0.008)  # small vessels
    blush = min(max(blush, -0.3), 1.1)
    pore = resolved((u + v) / 0.0011, (u - v) / 0.0011, f64(m, 20) + 1, foot, 0.0013)
    fine = resolved(u / 0.0022, v / 0.0022, f64(m, 20) + 2, foot, 0.004)
    tan = 0.07 * clouded(u, v, 0.013, foot, f64(m, 20) + 17) + 0.08 * fine
    shade = 1 + 0.08 * pore
    out[0] = f64(m, 1) * shade * (1 - 0.6 * tan) * (1 - 0.05 * blush)
    out[1] = f64(m, 2) * shade * (1 - tan) * (1 - 0.30 * blush)
    out[2] = f64(m, 3) * shade * (1 - 1.5 * tan) * (1 - 0.30 * blush)
    if f64(m, 21) > 0 and a < 0.2:
        _spots(m, u, v, 0.0036, 0.13, f64(m, 21) * (0.05 + 1.0 * max(blush, 0.0)), 5.0, foot, out)
        _spots(m, u, v, 0.0260, 0.028, 0.22, 25.0, foot, out)
    out[7], out[8] = 0.05 * (pore + fine), 0.05 * (pore - fine)
    if out[3] > 0 and a < 0.1:
        out[3] += _oily(a, v)
    if f64(m, 22) > 0 and a < 0.13 and v < 0.03:
        _stubble(m, u, v, foot, out)
    if a < 0.010 and -0.048 < v < -0.037:
        _nostrils(a, v, out)
    if a < 0.05 and abs(v) < 0.014:
        _lids(a, v, foot, out)
    if v > -0.01 and a < 0.095:
        _roots(m, u, v, foot, out)
    if 0.018 < v < 0.060 and a < 0.06:
        _brow_lines(m, u, v, foot, out)
    _lips(m, u, v, foot, out)


@step()
def _nostrils(a, v, out):
    """Little of the light that falls into a nostril comes out again."""
    k = 0.6 * _step(0.0012, 0.0026, a) * (1 - _step(0.0055, 0.0072, a))
    k *= _step(-0.0455, -0.0425, v) * (1 - _step(-0.0410, -0.0385, v))
    scale(1 - k, out)
    out[3] *= 1 - k


@step()
def _brow_lines(m, u, v, foot, out):
    """The fine lines that lifted brows leave across a forehead, each waving and broken."""
    k = fade(foot, 0.0016)
    if k == 0.0:
        return
    seed = f64(m, 20)
    row = (v + 0.0016 * noise(u / 0.019, v / 0.03, seed + 14)) / 0.0088
    line = row - math.floor(row) - 0.5
    there = k * _hump(u, v - 0.039, 0.040, 0.013)
    there *= max(0.35 + noise(u / 0.016, math.floor(row), seed + 15), 0.0)
    deep = there * math.exp(-((line / 0.07) ** 2))
    scale(1 - 0.10 * deep, out)
    out[8] += 1.6 * there * line * math.exp(-((line / 0.11) ** 2))


@step()
def _roots(m, u, v, foot, out):
    """Where hair begins, its roots show in the skin before the first strand stands over it."""
    a = abs(u)
    line = 0.057 + 0.005 * _step(0.020, 0.044, a) - 0.036 * _step(0.050, 0.064, a)
    line -= 0.040 * _step(0.068, 0.086, a)
    line += 0.002 * math.sin(u * 310) + 0.001 * math.sin(u * 790 + 1)
    root = resolved(u / 0.0009, v / 0.0016, f64(m, 20) + 12, foot, 0.0013)
    k = 0.42 * _step(line - 0.007, line + 0.007, v) * (0.7 + 0.3 * root)
    out[0] *= 1 - 0.75 * k
    out[1] *= 1 - 0.78 * k
    out[2] *= 1 - 0.80 * k


@step()
def _lids(a, v, foot, out):
    """The shade that lashes throw and the lid's fold keeps; lids as `faces` draws them."""
    t = (a - 0.0250) / 0.0113
    if abs(t) >= 1.08:
        return
    dome = max(1 - t * t, 0.0)
    base = -0.0006 + 0.0015 * t
    upper = v - base - 0.0043 * dome**0.72
    lower = v - base + 0.0048 * dome**0.85
    soft = foot
    wide = 0.0011 + soft
    k = 0.62 * 0.0011 / wide * math.exp(-(((upper - 0.0006) / wide) ** 2))
    k += 0.34 * 0.0011 / wide * math.exp(-(((lower + 0.0006) / wide) ** 2))
    k += 0.20 * math.exp(-(((upper - 0.0046) / (0.0010 + soft)) ** 2)) * dome
    k += 0.10 * math.exp(-(((upper - 0.002) / 0.003) ** 2))
    k = min(k, 0.7) * (1 - _step(0.84, 1.07, abs(t)))
    out[0] *= 1 - 0.72 * k
    out[1] *= 1 - 0.86 * k
    out[2] *= 1 - 0.90 * k


@step()
def _stubble(m, u, v, foot, out):
    """A shaven beard: roots as dots, the skin between them darker; relief is how much of it."""
    a = abs(u)
    line = -0.052 + 0.075 * _step(0.045, 0.085, a)  # up in front of the ears, low on the cheeks
    where = _step(0.0, 0.016, line - v) * _step(-0.123, -0.100, v)
    where *= (1 - _step(0.095, 0.128, a)) * (1 - 0.9 * _hump(u, v + 0.082, 0.010, 0.005))
    where *= 1 - min(1.3 * _hump(u, v + 0.067, 0.019, 0.008), 1.0)  # none grows on lips
    root = resolved(u / 0.0009, v / 0.0011, f64(m, 20) + 11, foot, 0.0012)
    k = f64(m, 22) * where * (0.55 + 0.45 * root)
    out[0] *= 1 - 0.30 * k
    out[1] *= 1 - 0.24 * k
    out[2] *= 1 - 0.17 * k


@step()
def _oily(a, v):
    """How much more brow, nose, cheekbones and chin shine than the rest."""
    return (
        0.012 * _hump(a, v - 0.038, 0.040, 0.016)
        + 0.020 * _hump(a, v + 0.022, 0.007, 0.024)
        + 0.010 * _hump(a - 0.043, v + 0.017, 0.013, 0.010)
        + 0.008 * _hump(a, v + 0.098, 0.013, 0.010)
    )


@step()
def _spots(m, u, v, size, vary, share, own, foot, out):
    """Brown spots, one in that share of cells: freckles, most where the sun gets, and moles."""
    seed = f64(m, 20) + own
    i, j = math.floor(u / size), math.floor(v / size)
    if cell(i, j, seed) > share:
        return
    x = u - (i + 0.3 + 0.4 * cell(i, j, seed + 1)) * size
    y = v - (j + 0.3 + 0.4 * cell(i, j, seed + 2)) * size
    r = size * (0.5 * vary + vary * cell(i, j, seed + 3))
    edge = 0.3 * r + 0.5 * foot
    k = 0.42 * (1 - _step(r - edge, r + edge, math.hypot(x, y))) * min(r / max(foot, 1e-6), 1.0)
    out[0] *= 1 - 0.5 * k
    out[1] *= 1 - 0.8 * k
    out[2] *= 1 - k


@step()
def _lips(m, u, v, foot, out):
    t = u / 0.0184  # corners 24 mm from the middle
    if abs(t) >= 1 or v > -0.05 or v < -0.09:
        return
    dome = 1 - t * t
    upper = -0.0655 + 0.0002 * t * t + 0.0062 * dome - 0.0014 * math.exp(-((t / 0.16) ** 2))
    lower = -0.0660 - 0.0084 * dome**0.8
    soft = 0.0008 + foot
    k = _step(-soft, soft, upper - v) * _step(-soft, soft, v - lower) * _step(0.0, 0.25, dome)
    lines = resolved(u / 0.0011, v / 0.009, f64(m, 20) + 9, foot, 0.0018)
    shade = 1 + 0.10 * lines
    out[0] *= 1 + k * (0.78 * shade - 1)
    out[1] *= 1 + k * (0.54 * shade - 1)
    out[2] *= 1 + k * (0.58 * shade - 1)
    out[3] += 0.012 * k
    out[7] += 0.06 * k * lines


@step()
def knit(m, u, v, foot, out):
    """Stocking stitch: columns of small V; size_m is one stitch."""
    x, y = u / f64(m, 10), v / f64(m, 11)
    column = math.floor(x)
    du = x - column - 0.5
    y += 0.9 * abs(du)
    # a stitch has two legs side by side; so even a pattern beats with pixels two to a rib
    k = fade(foot, min(0.25 * f64(m, 10), 0.35 * f64(m, 11)))
    row = math.floor(y)
    dv = y - row - 0.5
    body = 1 - min((abs(abs(du) - 0.25) / 0.25) ** 2 + 0.5 * (2 * dv) ** 2, 1.0)
    tone = 1 + f64(m, 21) * 0.6 * (2 * cell(column, row, f64(m, 20)) - 1) * fade(
        foot, 2 * f64(m, 11)
    )
    fuzz = resolved(u / 0.0007, v / 0.0004, f64(m, 20) + 1, foot, 0.0009)
    mix(m, (1 - k) * 0.41 + k * (0.85 - 0.85 * body), out)
    scale(tone * (1 + 0.10 * fuzz + 0.05 * clouded(u, v, 0.05, foot, f64(m, 20) + 3)), out)
    side = 1.0 if du > 0 else -1.0
    out[7] = f64(m, 22) * k * side * (abs(du) - 0.25) * 4
    out[8] = f64(m, 22) * k * dv


@step()
def strands(m, u, v, foot, out):
    """Hair, straw or the strokes of a brush along v; with relief it is hair.

    u before -5 m lies under the strands of a head of hair, where little light comes.
    """
    thin, seed = f64(m, 10), f64(m, 20)
    strand = resolved(u / thin, v / (18 * thin), seed, foot, 1.6 * thin)
    lock = resolved(u / (6 * thin), v / (60 * thin), seed + 1, foot, 9 * thin)
    mix(m, 0.4 + 0.5 * strand + 0.4 * lock, out)
    if f64(m, 22) > 0:
        if u < -5.0:
            scale(0.62, out)
        else:  # one in six has seen more sun than the others
            own = cell(math.floor(u / 0.0023), 3, seed + 2)
            pale = (0.5 if own < 0.17 else 0.0) * fade(foot, 0.0011)
            scale(1 + pale + 0.2 * (own - 0.5) + 0.25 * strand, out)
    out[7] = f64(m, 22) * strand


@step()
def _creased(u, v, size, deep, foot, seed, out):
    """Creases of worn cloth, sharp lines some `size` apart, as slopes; how much it is one.

    Lines of one width: by its value alone, a noise that is flat somewhere draws its level curves.
    """
    k = fade(foot, 0.5 * size)
    if k == 0.0:
        return 0.0
    x, y = u / size + 0.6 * noise(v / (1.7 * size), u / (2.3 * size), seed + 1), 0.7 * v / size
    here = noise(x, y, seed)
    if abs(here) > 0.5:
        return 0.0
    across, along = noise(x + 0.06, y, seed) - here, noise(x, y + 0.06, seed) - here
    steep = min(math.hypot(across, along) / 0.06 + 1e-6, 1.8)
    # each is short: a closed loop is a map's, no cloth's
    worn = k * min(max(2.2 * noise(0.72 * x, 0.72 * y, seed + 2) - 0.15, 0.0), 1.0)
    wide = 0.13 * steep
    line = worn * min(steep / 1.2, 1.0) ** 2 * math.exp(-((here / wide) ** 2))
    lean = -deep * line * 2 * here / (0.06 * wide * wide)
    out[7] += lean * across
    out[8] += 0.7 * lean * along
    return line


@step()
def woven(m, u, v, foot, out):
    """Cloth: its weave from near, clouds of wear, creases as deep as its relief."""
    thread, seed, vary, deep = f64(m, 10), f64(m, 20), f64(m, 21), f64(m, 22)
    weave = (
        math.sin(6.2832 * u / thread)
        * math.sin(6.2832 * v / thread)
        * fade(foot, 0.35 * thread)  # so even a pattern beats with pixels two to a thread
    )
    mix(m, 0.3 + 0.5 * vary * clouded(u, v, 0.3, foot, seed), out)
    tone = 1 + 0.12 * weave
    if deep > 0.0:
        line = _creased(u, v, 0.10, 0.075 * deep, foot, seed + 40, out)
        line += 0.6 * _creased(u, v, 0.034, 0.05 * deep, foot, seed + 50, out)
        tone *= 1 - 0.4 * vary * deep * line
    scale(tone, out)
