"""How a surface is lit: sun, lamps, sky, light from other surfaces, mirrored light.

Everything here is in units in which a white surface squarely in the sun sends about 1.
"""

import math
from collections import namedtuple

import numpy as np
from numba import types

from render.compiled import step
from render.trace.columns import (
    ALBEDO,
    DULL,
    DULL_SHARE,
    FACE,
    GLOSS,
    GLOW,
    LAMP_AT,
    LAMP_COLOUR,
    LAMP_CONE,
    LAMP_DIPPED,
    LAMP_LUMINANCE,
    LAMP_NUMBERS,
    LAMP_RADIUS,
    LAMP_REACH,
    LAMP_SOFT,
    LAMP_TOWARD,
    MATERIAL,
    MATT,
    NORMAL,
    OF_LAMPS,
    PLACE,
    PLACEMENT,
    ROUGH,
    SENT,
    SLOPES,
    SUN,
    SUN_RAY,
    SUN_SEEN,
    THING,
    THROUGH,
    TWO_SIDED,
)
from render.trace.sky import haze, sky
from render.trace.spread import cone, spread, turned
from render.trace.walk import any_hit, closest_hit
from render.trace.water import facet, fresnel, glitter, glossy
from render.world.surfaces.rules import COLUMNS, RULES, texture
from render.world.surfaces.tables import address_of, addressed, caller, f32, f64, i32

__all__ = [
    *("Light", "Shown", "Surfaces", "dot", "land", "shade", "shown", "soft_light"),
    "start",
]

#: Numbers of all triangles and materials.
#: uv (t, 6), normal (t, 9) f32; slot, thing (t,) i32; first (p,) i32: where the placement's
#: materials start in `pick`; copy (p,) i32; pick (k,) i32; row (m, 30) f64.
Surfaces = namedtuple("Surfaces", "uv normal slot thing first copy pick row")

#: `Surfaces` of addresses, and where `evaluate` begins.
Shown = namedtuple("Shown", "uv normal slot thing first copy pick row texture")

#: sun_to (3,), sun (3,), sun_tan; level: of the sky; glow (3,): of the sky round the sun;
#: zenith, horizon, ground,
#: ambient (3,); cloud; haze_per_m, haze (3,); lamp (n, LAMP_NUMBERS); lamps: how many.
Light = namedtuple(
    "Light",
    "sun_to sun sun_tan level glow zenith horizon ground ambient cloud haze_per_m haze lamp lamps",
)

#: Sines of how far down dipped lamps are brightest, and above the level shine at last: usual (from
#: memory); steeper down they give so much less that the road is lit evenly, more or less (ours).
_HOT, _CUT_OFF = 0.0436, 0.02
_WATER, _SEA = RULES.index("water"), RULES.index("sea")

_TEXTURE = caller(types.int64, *[types.float64] * 3, types.int64, types.int64)
ROW_ROUGH, ROW_THROUGH, ROW_TWO_SIDED = (COLUMNS[n] for n in ("rough", "through", "two_sided"))


def shown(surfaces: Surfaces) -> Shown:
    """Surfaces as compiled loops read them: addresses of their tables and of their textures."""
    return Shown(*addressed(surfaces), texture.address)


@step(forceinline=True)
def dot(h, at, x, y, z):
    """Of three numbers of a landed ray from `at` on with a vector."""
    return h[at] * x + h[at + 1] * y + h[at + 2] * z


@step()
def land(w, s, p, k, u, v, ox, oy, oz, dx, dy, dz, t, slope, h, scratch):
    """Fill `h` with the place, the normals and the material where a ray landed."""
    h[PLACE], h[PLACE + 1], h[PLACE + 2] = ox + t * dx, oy + t * dy, oz + t * dz
    m = w.inverse + 48 * p
    tri = w.tri + 36 * k
    e1x, e1y, e1z = np.float64(f32(tri, 3)), np.float64(f32(tri, 4)), np.float64(f32(tri, 5))
    e2x, e2y, e2z = np.float64(f32(tri, 6)), np.float64(f32(tri, 7)), np.float64(f32(tri, 8))
    gx, gy, gz = e1y * e2z - e1z * e2y, e1z * e2x - e1x * e2z, e1x * e2y - e1y * e2x
    a = 1.0 - u - v
    q = s.normal + 36 * k
    nx, ny, nz = (
        a * f32(q, 0) + u * f32(q, 3) + v * f32(q, 6),
        a * f32(q, 1) + u * f32(q, 4) + v * f32(q, 7),
        a * f32(q, 2) + u * f32(q, 5) + v * f32(q, 8),
    )
    for i in range(2):  # a normal goes to the world by the transposed inverse
        x, y, z = (nx, ny, nz) if i == 0 else (gx, gy, gz)
        wx = f32(m, 0) * x + f32(m, 4) * y + f32(m, 8) * z
        wy = f32(m, 1) * x + f32(m, 5) * y + f32(m, 9) * z
        wz = f32(m, 2) * x + f32(m, 6) * y + f32(m, 10) * z
        r = 1.0 / math.sqrt(wx * wx + wy * wy + wz * wz + 1e-30)
        turned = NORMAL + (FACE - NORMAL) * i
        h[turned], h[turned + 1], h[turned + 2] = wx * r, wy * r, wz * r
    material = i32(s.pick, i32(s.first, p) + i32(s.slot, k))
    row = s.row + 240 * np.int64(material)
    h[THROUGH], h[ROUGH] = f64(row, ROW_THROUGH), f64(row, ROW_ROUGH)
    h[MATERIAL], h[TWO_SIDED] = material, f64(row, ROW_TWO_SIDED)
    h[PLACEMENT], h[THING] = p, i32(s.thing, k)
    length = math.sqrt(dx * dx + dy * dy + dz * dz)
    facing = dot(h, FACE, dx, dy, dz) / length
    if facing > 0:
        for i in range(FACE, FACE + 3):
            h[i] = -h[i]
        if h[TWO_SIDED] == 0:
            for i in range(NORMAL, NORMAL + 3):
                h[i] = -h[i]
    facing = abs(facing)
    foot = 0.55 * t * slope * length / math.sqrt(max(facing, 0.04))
    if f64(row, 0) == _WATER or f64(row, 0) == _SEA:  # waves lie across the view, on a long side
        foot /= math.sqrt(max(facing, 0.02))
    c = s.uv + 24 * k
    pu, pv = (
        a * f32(c, 0) + u * f32(c, 2) + v * f32(c, 4),
        a * f32(c, 1) + u * f32(c, 3) + v * f32(c, 5),
    )
    _TEXTURE(s.texture, (row, pu, pv, foot, i32(s.copy, p), address_of(scratch)))
    for i in range(7):  # albedo, gloss and glow, as textures give them
        h[ALBEDO + i] = scratch[i]
    h[SLOPES] = scratch[9]
    if scratch[7] != 0.0 or scratch[8] != 0.0:
        _bend(m, c, e1x, e1y, e1z, e2x, e2y, e2z, scratch[7], scratch[8], h)


@step(forceinline=True)
def _bend(m, c, e1x, e1y, e1z, e2x, e2y, e2z, du, dv, h):
    """Lean the shading normal against relief slopes along the surface's own u and v."""
    a, b = np.float64(f32(c, 2) - f32(c, 0)), np.float64(f32(c, 3) - f32(c, 1))
    d, e = np.float64(f32(c, 4) - f32(c, 0)), np.float64(f32(c, 5) - f32(c, 1))
    det = a * e - b * d
    if abs(det) < 1e-14:
        return
    ux, uy, uz = (e * e1x - b * e2x) / det, (e * e1y - b * e2y) / det, (e * e1z - b * e2z) / det
    vx, vy, vz = (a * e2x - d * e1x) / det, (a * e2y - d * e1y) / det, (a * e2z - d * e1z) / det
    # directions go to the world by the inverse of `inverse`: its transpose does for pure turns
    for i in range(2):
        x, y, z, k = (ux, uy, uz, du) if i == 0 else (vx, vy, vz, dv)
        wx = f32(m, 0) * x + f32(m, 4) * y + f32(m, 8) * z
        wy = f32(m, 1) * x + f32(m, 5) * y + f32(m, 9) * z
        wz = f32(m, 2) * x + f32(m, 6) * y + f32(m, 10) * z
        r = k / math.sqrt(wx * wx + wy * wy + wz * wz + 1e-30)
        h[NORMAL] -= r * wx
        h[NORMAL + 1] -= r * wy
        h[NORMAL + 2] -= r * wz
    x, y, z = h[NORMAL], h[NORMAL + 1], h[NORMAL + 2]
    r = 1.0 / math.sqrt(x * x + y * y + z * z + 1e-30)
    for i in range(NORMAL, NORMAL + 3):
        h[i] *= r


@step(forceinline=True)
def start(h, dx, dy, dz, t):
    """A place just off the surface, on the side towards which the new ray leaves."""
    eps = 2e-4 + 1.2e-5 * t
    if dot(h, FACE, dx, dy, dz) < 0:
        eps = -eps
    x, y, z = h[FACE], h[FACE + 1], h[FACE + 2]
    return h[PLACE] + eps * x, h[PLACE + 1] + eps * y, h[PLACE + 2] + eps * z


@step(forceinline=True)
def _sunlight(w, L, room, h, t, code, n, bits, use):
    """Share of full sun on the surface, < 0 through a leaf, and whether nothing stands before it.

    The share is 0 where no ray had to be sent to tell.
    """
    lx, ly, lz = f64(L.sun_to, 0), f64(L.sun_to, 1), f64(L.sun_to, 2)
    if f64(L.sun, 0) == 0.0:  # it has set
        return 0.0, False
    if h[SLOPES] < 0:
        facing = dot(h, NORMAL, lx, ly, lz)
    else:  # what lights water's body has gone through its waves
        facing = max(dot(h, FACE, lx, ly, lz), 0.0)
        facing *= 1 - fresnel(facing)
    if h[THROUGH] == 0 and (facing <= 0 or dot(h, FACE, lx, ly, lz) <= 0):
        return 0.0, False
    a, b = spread(code, n, bits, use)
    x, y, z = cone(lx, ly, lz, L.sun_tan, a, b)
    ox, oy, oz = start(h, x, y, z, t)
    return facing, not any_hit(w, room, ox, oy, oz, x, y, z, 1e-4, 1e7)


@step()
def _lamp(q, h):
    """How strongly a lamp would light the surface if nothing stood between: share of its colour."""
    x, y = f64(q, LAMP_AT) - h[PLACE], f64(q, LAMP_AT + 1) - h[PLACE + 1]
    z = f64(q, LAMP_AT + 2) - h[PLACE + 2]
    square = x * x + y * y + z * z
    if square > f64(q, LAMP_REACH):
        return 0.0
    facing = dot(h, NORMAL, x, y, z)
    if h[THROUGH] > 0:
        facing = max(facing, -h[THROUGH] * facing)
    if facing <= 0:
        return 0.0
    cone, inside = f64(q, LAMP_CONE), 0.0
    if cone > -1:
        inside = -(f64(q, LAMP_TOWARD) * x + f64(q, LAMP_TOWARD + 1) * y)
        inside -= f64(q, LAMP_TOWARD + 2) * z
        if cone >= 0 and (inside <= 0 or inside * inside <= cone * cone * square):
            return 0.0
    r = 1.0 / math.sqrt(square + 1e-12)
    k = facing * r / (square + f64(q, LAMP_RADIUS) * f64(q, LAMP_RADIUS))
    if cone > -1:
        k *= min(max((inside * r - cone) / (f64(q, LAMP_SOFT) * (1 - cone) + 1e-6), 0.0), 1.0)
    if f64(q, LAMP_DIPPED) > 0:
        down = z * r
        k *= min(max(1 + down / _CUT_OFF, 0.0), 1.0) * (_HOT / max(down, _HOT)) ** 1.5
        k *= max(1 - square / f64(q, LAMP_REACH), 0.0)
    return k


@step()
def _lamps(w, L, room, h, t, code, n, bits, salt, part, level, out):
    """Add the light of the lamps (as reflected by white) to out.

    About 1 / part lamps are asked for their shadow: one that gives less than that part of all
    light only in a share of the samples, then so much stronger (systematic sampling).
    """
    total = 0.0
    for i in range(L.lamps):
        q = L.lamp + 8 * LAMP_NUMBERS * i
        level[i] = _lamp(q, h)
        total += level[i] * f64(q, LAMP_LUMINANCE)
    if total == 0.0:
        return
    step = part * total
    at, _rest = spread(code, n, bits, salt + 2)
    at *= step
    a, b = spread(code, n, bits, salt + 1)
    run = 0.0
    for i in range(L.lamps):
        q = L.lamp + 8 * LAMP_NUMBERS * i
        gives = level[i] * f64(q, LAMP_LUMINANCE)
        run += gives
        if gives == 0.0 or run <= at:
            continue
        at += step * math.ceil((run - at) / step)
        x, y = f64(q, LAMP_AT) - h[PLACE], f64(q, LAMP_AT + 1) - h[PLACE + 1]
        z = f64(q, LAMP_AT + 2) - h[PLACE + 2]
        far = math.sqrt(x * x + y * y + z * z + 1e-12)
        r = 1.0 / far
        tx, ty, tz = cone(x * r, y * r, z * r, f64(q, LAMP_RADIUS) * r, a, b)
        sx, sy, sz = start(h, tx, ty, tz, t)
        if any_hit(w, room, sx, sy, sz, tx, ty, tz, 1e-4, far - 1.05 * f64(q, LAMP_RADIUS)):
            continue
        k = level[i] * max(1.0, step / gives)
        for c in range(3):
            out[c] += k * f64(q, LAMP_COLOUR + c)


@step()
def _second(
    w, s, L, room, ox, oy, oz, dx, dy, dz, lobe, slope, code, n, bits, use, h, scratch, out
):  # fmt: skip
    """Light that comes along one secondary ray: the sky, or a surface lit once.

    lobe: spread of what is mirrored, below 0 of soft light; slope: of a pixel, for textures.
    Returns 1 / the distance to that surface, 0 for the sky.
    """
    near, p, k, u, v = closest_hit(w, room, ox, oy, oz, dx, dy, dz, 1e-4, 1e6)
    if p < 0:
        sky(L, dx, dy, dz, lobe, out)
        return 0.0
    t = np.float64(near)
    land(w, s, p, k, u, v, ox, oy, oz, dx, dy, dz, t, slope, h, scratch)
    facing, seen = _sunlight(w, L, room, h, t, code, n, bits, use)
    direct = max(facing, 0.0) if seen else 0.0
    for c in range(3):
        out[c] = direct * f64(L.sun, c) + f64(L.ambient, c) * (0.65 + 0.35 * h[NORMAL + 2])
    for i in range(L.lamps):
        q = L.lamp + 8 * LAMP_NUMBERS * i
        gives = _lamp(q, h)
        for c in range(3):
            out[c] += gives * f64(q, LAMP_COLOUR + c)
    for c in range(3):
        # a bulb is small and bright: found by chance it would speckle, and a lamp stands for it
        seen = lobe >= 0 or (h[GLOW + c] < 2.0 and h[SLOPES] > -2)
        own = h[GLOW + c] if seen else 0.0
        lit = out[c] if lobe >= 0 else min(out[c], 1.2)  # so does a surface right beside a lamp
        out[c] = lit * h[ALBEDO + c] + own
    if lobe >= 0:
        arrives = haze(L, t, dx, dy, scratch)
        for c in range(3):
            out[c] = out[c] * arrives + scratch[c]
    return 1 / t


@step()
def soft_light(w, s, L, room, h, t, code, n, bits, salt, other, scratch, out):
    """Light of sky or surfaces as reflected by white; returns 1 / the distance to what sent it."""
    a, b = spread(code, n, bits, salt + 3)
    r = math.sqrt(a)
    aside, along = turned(b)
    x, y, z = h[NORMAL], h[NORMAL + 1], h[NORMAL + 2]
    if h[TWO_SIDED] > 0 and dot(h, FACE, x, y, z) < 0:
        x, y, z = -x, -y, -z
    sign = 1.0 if z >= 0 else -1.0  # frame after Duff et al. 2017, from memory
    k = -1.0 / (sign + z)
    m = x * y * k
    c, d, e = r * aside, r * along, math.sqrt(max(1 - a, 0.0))
    dx = c * (1 + sign * x * x * k) + d * m + e * x
    dy = c * sign * m + d * (sign + y * y * k) + e * y
    dz = -c * sign * x - d * y + e * z
    ox, oy, oz = start(h, dx, dy, dz, t)
    return _second(  # only the mean of a texture is seen
        *(w, s, L, room, ox, oy, oz, dx, dy, dz, -1.0, 0.2, code, n, bits, salt + 4),
        *(other, scratch, out),
    )


@step()
def shade(
    w, s, L, room, h, dx, dy, dz, t, code, n, bits, salt, part, lent,
    other, scratch, light, level, out,
):  # fmt: skip
    """Light sent towards the ray's start, soft light left out.

    lent: what a dull mirror shows is borrowed from a neighbour.
    out: columns as in `render.trace.columns`.
    """
    facing, seen = _sunlight(w, L, room, h, t, code, n, bits, salt)
    out[SUN_RAY], out[SUN_SEEN] = (1.0 if facing != 0.0 else 0.0), (1.0 if seen else 0.0)
    if L.lamps > 0:
        light[0] = light[1] = light[2] = 0.0
        _lamps(w, L, room, h, t, code, n, bits, salt, part, level, light)
        for c in range(3):
            out[OF_LAMPS + c] = light[c]
    if facing >= 0:
        for c in range(3):
            light[c] = h[ALBEDO + c] * facing * f64(L.sun, c)
    else:  # through the leaf: yellower
        k = -facing * h[THROUGH]
        light[0] = 1.05 * k * h[ALBEDO] * f64(L.sun, 0)
        light[1] = 1.15 * k * h[ALBEDO + 1] * f64(L.sun, 1)
        light[2] = 0.55 * k * h[ALBEDO + 2] * f64(L.sun, 2)
    share = 0.0
    if h[SLOPES] >= 0:
        sunlit = seen and facing > 0
        share = _on_water(
            *(w, s, L, room, h, dx, dy, dz, t, code, n, bits, salt, sunlit),
            *(other, scratch, out),
        )
        for c in range(3):
            out[SUN + c] = (1.0 - share) * light[c]
            out[SENT + c] = h[GLOW + c] + out[SUN_SEEN] * out[SUN + c] + out[DULL + c]
            out[MATT + c] = (1.0 - share) * h[ALBEDO + c]
            out[DULL + c] = 0.0
        out[DULL_SHARE] = 0.0
        return
    if h[GLOSS] > 0:
        if lent and h[ROUGH] >= 0.1:
            share = _mirror_share(h, dx, dy, dz)
        else:
            share = _mirrored(
                w, s, L, room, h, dx, dy, dz, t, code, n, bits, salt, other, scratch, out
            )
    for c in range(3):
        out[MATT + c] = (1.0 - share) * h[ALBEDO + c]
        out[SUN + c] = (1.0 - share) * light[c]
        out[SENT + c] = h[GLOW + c] + out[SUN_SEEN] * out[SUN + c]
        if share == 0.0:
            out[DULL + c] = 0.0
        elif h[ROUGH] < 0.1:  # a clear mirror shows edges, such as the light in an eye: not shared
            out[SENT + c] += share * out[DULL + c]
            out[DULL + c] = 0.0
    out[DULL_SHARE] = share if h[ROUGH] >= 0.1 else 0.0


@step()
def _mirror_share(h, dx, dy, dz):
    """Share of light that a surface mirrors towards where a ray comes from."""
    r = 1.0 / math.sqrt(dx * dx + dy * dy + dz * dz)
    return glossy(h[GLOSS], h[ROUGH], max(-dot(h, NORMAL, dx, dy, dz) * r, 0.02))


@step()
def _mirrored(w, s, L, room, h, dx, dy, dz, t, code, n, bits, salt, other, scratch, out):
    """Light that comes along the mirrored ray, to out and its DULL; returns its share."""
    r = 1.0 / math.sqrt(dx * dx + dy * dy + dz * dz)
    x, y, z = dx * r, dy * r, dz * r
    cosine = max(-dot(h, NORMAL, x, y, z), 0.02)
    share = _mirror_share(h, dx, dy, dz)
    x, y = x + 2 * cosine * h[NORMAL], y + 2 * cosine * h[NORMAL + 1]
    z = z + 2 * cosine * h[NORMAL + 2]
    r = 1.0 / math.sqrt(x * x + y * y + z * z + 1e-12)
    x, y, z = x * r, y * r, z * r
    if dot(h, FACE, x, y, z) < 0.01:  # relief must not mirror into the surface
        lift = 0.02 - dot(h, FACE, x, y, z)
        x, y, z = x + lift * h[FACE], y + lift * h[FACE + 1], z + lift * h[FACE + 2]
    rough = h[ROUGH]
    a, b = spread(code, n, bits, salt + 5)
    x, y, z = cone(x, y, z, 0.5 * rough * rough + 1e-4, a, b)
    ox, oy, oz = start(h, x, y, z, t)
    _second(
        *(w, s, L, room, ox, oy, oz, x, y, z, 0.05 + 0.5 * rough, 0.02, code, n, bits, salt + 6),
        *(other, scratch, out),
    )
    for c in range(3):  # a bulb in a rough mirror is a soft spot, not a scatter of sparks
        out[DULL + c] = min(out[c], 3.0) if rough > 0.1 else out[c]
    return share


@step()
def _on_water(
    w, s, L, room, h, dx, dy, dz, t, code, n, bits, salt, sunlit, other, scratch, out
):  # fmt: skip
    """All light that water mirrors, to out and its DULL; returns the share that it mirrors."""
    r = 1.0 / math.sqrt(dx * dx + dy * dy + dz * dz)
    x, y, z = dx * r, dy * r, dz * r
    a, b = spread(code, n, bits, salt + 5)
    c, _rest = spread(code, n, bits, salt + 7)
    p, q, up = facet(h, x, y, z, a, b, c)
    cosine = max(-(x * p + y * q + z * up), 0.01)
    share = fresnel(cosine)
    mx, my, mz = x + 2 * cosine * p, y + 2 * cosine * q, z + 2 * cosine * up
    low = max(0.01 - dot(h, FACE, mx, my, mz), 0.0)  # where waves would mirror into each other
    mx, my, mz = mx + low * h[FACE], my + low * h[FACE + 1], mz + low * h[FACE + 2]
    r = 1.0 / math.sqrt(mx * mx + my * my + mz * mz)
    mx, my, mz = mx * r, my * r, mz * r
    ox, oy, oz = start(h, mx, my, mz, t)
    slope = 0.001 + math.sqrt(h[SLOPES])
    _second(
        *(w, s, L, room, ox, oy, oz, mx, my, mz, 0.0, slope, code, n, bits, salt + 6),
        *(other, scratch, out),
    )
    for c in range(3):  # a lamp stands for its bulb
        out[DULL + c] = share * min(out[c], 2.0)
    if sunlit:
        k = glitter(h, x, y, z, f64(L.sun_to, 0), f64(L.sun_to, 1), f64(L.sun_to, 2))
        for c in range(3):
            out[DULL + c] += k * f64(L.sun, c)
    for i in range(L.lamps):
        q = L.lamp + 8 * LAMP_NUMBERS * i
        k = _lamp(q, h)
        if k == 0.0:
            continue
        lx, ly = f64(q, LAMP_AT) - h[PLACE], f64(q, LAMP_AT + 1) - h[PLACE + 1]
        lz = f64(q, LAMP_AT + 2) - h[PLACE + 2]
        far = math.sqrt(lx * lx + ly * ly + lz * lz + 1e-12)
        lx, ly, lz = lx / far, ly / far, lz / far
        k *= glitter(h, x, y, z, lx, ly, lz) / max(dot(h, NORMAL, lx, ly, lz), 1e-3)
        if k * f64(q, LAMP_LUMINANCE) < 1e-3:
            continue
        clear = far - 1.05 * f64(q, LAMP_RADIUS)
        if not any_hit(w, room, ox, oy, oz, lx, ly, lz, 1e-4, clear):
            for c in range(3):
                out[DULL + c] += k * f64(q, LAMP_COLOUR + c)
    return share
