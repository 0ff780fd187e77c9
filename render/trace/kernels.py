"""The loops over pixels: plain picture, the surface behind edges, the exact lens.

`w`, `s`, `L`: tuples of addresses (world/surfaces/tables.py).  `rooms` (address) and `numbers`
(H, n) f64 are scratch space, one row a task.
eye (16,) f64: place, right, down, forward, px per unit slope, centre x, y, slope of a pixel.
sums (H, W, 16, with lamps 21) f32: what the samples of a pixel add up to: 0-2 direct light;
3-5 what soft light is multiplied with; 6-8 soft light, 9 rays in it, 10 its luminance squared;
11-13 mirrored light times its share, 14 the share, 15 the share times its luminance squared;
16-18 the lamps' light, 19 samples in it, 20 its luminance squared.
surface (H, W, 4) f32: face normal in the camera frame and depth of the first sample.
"""

import math

import numpy as np
from numba import njit, prange

from render.trace.light import haze, land, shade, sky, soft_light
from render.trace.spread import pixel_code
from render.trace.walk import ROOM, closest_hit
from render.world.surfaces.tables import f32

__all__ = ["LEVEL", "behind_pass", "depth_pass", "exact_pass", "laid_together", "picture_pass"]

#: Where the lamps' numbers start in a row of scratch space.
LEVEL = 96


@njit(cache=True, error_model="numpy")
def _row(task, height):  # type: ignore[no-untyped-def]
    """Row of a task: far apart in turn, so that threads share busy parts of the picture."""
    return (task * 97) % height if height % 97 else task


@njit(cache=True, error_model="numpy")
def _luminance(rgb, at):  # type: ignore[no-untyped-def]
    return 0.25 * rgb[at] + 0.6 * rgb[at + 1] + 0.15 * rgb[at + 2]


@njit(cache=True, error_model="numpy")
def _seen(  # type: ignore[no-untyped-def]
    w,
    s,
    L,
    room,
    h,
    other,
    scratch,
    light,
    out,
    level,
    dx,
    dy,
    dz,
    t,
    code,
    n,
    bits,
    salt,
    apart,
    sums,
    i,
    j,
):
    """Add what a landed sample sends, but soft light that the pixel shares with neighbours.

    A sample `apart` is on another surface than the pixel's first: it shares nothing.
    """
    shade(
        *(w, s, L, room, h, dx, dy, dz, t, code, n, bits, salt, 0.3),
        *(other, scratch, light, level, out),
    )
    arrives = haze(L, t * math.sqrt(dx * dx + dy * dy + dz * dz), dx, dy, scratch)
    for c in range(3):
        sums[i, j, c] += arrives * out[3 + c] + scratch[c]
    if apart:
        soft_light(w, s, L, room, h, t, code, n, bits, salt, other, scratch, light)
        for c in range(3):
            if L.lamps > 0:
                light[c] += out[10 + c]
            sums[i, j, c] += arrives * (out[c] * light[c] + out[9] * out[6 + c])
        return
    share = arrives * out[9]
    for c in range(3):
        sums[i, j, 3 + c] += arrives * out[c]
        sums[i, j, 11 + c] += share * out[6 + c]
    sums[i, j, 14] += share
    sums[i, j, 15] += share * _luminance(out, 6) ** 2
    if L.lamps > 0:
        for c in range(3):
            sums[i, j, 16 + c] += out[10 + c]
        sums[i, j, 19] += 1
        sums[i, j, 20] += _luminance(out, 10) ** 2


@njit(cache=True, error_model="numpy")
def _softly(w, s, L, room, h, other, scratch, light, t, code, first, last, bits, salt, sums, i, j):  # type: ignore[no-untyped-def]
    """Add soft rays first..last-1 of the pixel's 2^bits."""
    for k in range(first, last):
        soft_light(w, s, L, room, h, t, code, k, bits, salt, other, scratch, light)
        for c in range(3):
            sums[i, j, 6 + c] += light[c]
        sums[i, j, 9] += 1
        sums[i, j, 10] += _luminance(light, 0) ** 2


@njit(cache=True, error_model="numpy")
def _bits(count):  # type: ignore[no-untyped-def]
    """The least power of 2 that holds a count."""
    bits = 0
    while (1 << bits) < count:
        bits += 1
    return bits


@njit(cache=True, error_model="numpy")
def _even(n):  # type: ignore[no-untyped-def]
    """Whether a number has an even count of bits: one of each pair, evenly over Sobol points.

    Even numbers alone would all lie in the same half of the pixel.
    """
    n ^= n >> 16
    n ^= n >> 8
    n ^= n >> 4
    n ^= n >> 2
    return (n ^ (n >> 1)) & 1 == 0


@njit(cache=True, error_model="numpy")
def _until(n, rays, samples):  # type: ignore[no-untyped-def]
    """How many of the pixel's soft rays start before sample n."""
    return (n * rays + samples - 1) // samples


@njit(cache=True, error_model="numpy")
def _facing(surface, i, j, eye, h, t):  # type: ignore[no-untyped-def]
    """Keep the first sample's depth and its face normal in the camera frame."""
    surface[i, j, 3] = t
    for c in range(3):
        a = 3 + 3 * c
        surface[i, j, c] = eye[a] * h[6] + eye[a + 1] * h[7] + eye[a + 2] * h[8]


@njit(cache=True, parallel=True, error_model="numpy")
def picture_pass(  # type: ignore[no-untyped-def]
    w,
    s,
    L,
    rooms,
    numbers,
    eye,
    offsets,
    first,
    last,
    soft_rays,
    soft_bits,
    todo,
    sums,
    surface,
    key,
    mixed,
):
    """Trace samples first..last-1 of every pixel that is to do, and add them up.

    offsets (n, 2): positions in the pixel, the first at its centre.
    soft_rays: soft rays of all samples together, soft_bits: the least power of 2 that holds them.
    key (H, W) i64: which surface the pixel's first sample shows; mixed: whether samples disagree.
    """
    height, width = todo.shape
    bits, salt = (_bits(last), 0) if first == 0 else (_bits(len(offsets)), 16)
    for task in prange(height):
        i = _row(np.int64(task), height)
        room, own = rooms + ROOM * i, numbers[i]
        h, other, scratch, light = own[:24], own[24:48], own[48:64], own[64:68]
        out, level = own[72:88], own[LEVEL:]
        for j in range(width):
            if not todo[i, j]:
                continue
            code = pixel_code(i, j)
            low, high, before = 1e30, -1e30, _sum(sums, i, j)
            for n in range(first, last):
                x = (j + offsets[n, 0] - eye[13]) / eye[12]
                y = (i + offsets[n, 1] - eye[14]) / eye[12]
                dx = eye[3] * x + eye[6] * y + eye[9]
                dy = eye[4] * x + eye[7] * y + eye[10]
                dz = eye[5] * x + eye[8] * y + eye[11]
                t, p, k, u, v = closest_hit(w, room, eye[0], eye[1], eye[2], dx, dy, dz, 1e-3, 1e6)
                if p < 0:
                    r = 1 / math.sqrt(dx * dx + dy * dy + dz * dz)
                    sky(L, dx * r, dy * r, dz * r, 0.0, scratch)
                    for c in range(3):
                        sums[i, j, c] += scratch[c]
                    mark = np.int64(0)
                    if n == 0:
                        surface[i, j, 3] = np.inf
                else:
                    o, q, e = eye[0], eye[1], eye[2]
                    f = 1 / eye[12]
                    land(w, s, p, k, u, v, o, q, e, dx, dy, dz, t, f, h, scratch)
                    mark = 1 + np.int64(h[18]) + 4096 * (np.int64(p) + 1)
                    mark += np.int64(1 << 40) * np.int64(4 + 3 * round(h[6]) + round(h[8]))
                    apart = n > 0 and mark != key[i, j]
                    _seen(
                        *(w, s, L, room, h, other, scratch, light, out, level, dx, dy, dz, t),
                        *(code, n, bits, salt, apart, sums, i, j),
                    )
                    if not apart:
                        begin, end = _until(n, soft_rays, last), _until(n + 1, soft_rays, last)
                        _softly(
                            *(w, s, L, room, h, other, scratch, light, t, code),
                            *(begin, end, soft_bits, salt + 8, sums, i, j),
                        )
                    if n == 0:
                        _facing(surface, i, j, eye, h, t)
                now = _sum(sums, i, j)
                low, high = min(low, now - before), max(high, now - before)
                before = now
                if n == 0:
                    key[i, j] = mark
                elif mark != key[i, j]:
                    mixed[i, j] = True
            if first == 0 and high - low > 0.07 * (high + low) + 0.007:
                mixed[i, j] = True


@njit(cache=True, error_model="numpy")
def _sum(sums, i, j):  # type: ignore[no-untyped-def]
    """Light of a pixel without noise of soft and mirrored rays, to see where samples differ."""
    total = 0.0
    for c in range(3):
        total += sums[i, j, c] + 0.3 * sums[i, j, 3 + c]
    return total


@njit(cache=True, parallel=True, error_model="numpy")
def laid_together(sums, counts, soft, mirrored, out):  # type: ignore[no-untyped-def]
    """Picture (H, W, 3) f32 of sums, samples per pixel, and shared soft and mirrored light."""
    height, width = counts.shape
    for task in prange(height):
        i = np.int64(task)
        for j in range(width):
            share = sums[i, j, 14]
            for c in range(3):
                light = (
                    sums[i, j, c] + sums[i, j, 3 + c] * soft[i, j, c] + share * mirrored[i, j, c]
                )
                out[i, j, c] = light / counts[i, j]


@njit(cache=True, parallel=True, error_model="numpy")
def depth_pass(w, s, L, rooms, numbers, eye, out):  # type: ignore[no-untyped-def]
    """Depth z at every pixel's centre, (H, W) f32; inf where there is nothing."""
    height, width = out.shape
    for task in prange(height):
        i = np.int64(task)
        room = rooms + ROOM * i
        for j in range(width):
            x, y = (j + 0.5 - eye[13]) / eye[12], (i + 0.5 - eye[14]) / eye[12]
            dx = eye[3] * x + eye[6] * y + eye[9]
            dy = eye[4] * x + eye[7] * y + eye[10]
            dz = eye[5] * x + eye[8] * y + eye[11]
            t, p, _k, _u, _v = closest_hit(w, room, eye[0], eye[1], eye[2], dx, dy, dz, 1e-3, 1e6)
            out[i, j] = t if p >= 0 else np.inf


@njit(cache=True, error_model="numpy")
def _behind(w, s, room, eye, dx, dy, dz, h, scratch):  # type: ignore[no-untyped-def]
    """Distance to the next surface behind the first along a ray, 0 if there is none.

    The next surface is one that faces the camera (or has two sides), belongs to another thing or
    lies clearly farther away: the far side of a wall, or the next leaf, hides nothing from a lens.
    """
    o, q, e = eye[0], eye[1], eye[2]
    ahead, first_z, first_thing, first_place = 0.0, 0.0, -1.0, -1.0
    for turn in range(64):
        t, p, k, u, v = closest_hit(w, room, o, q, e, dx, dy, dz, ahead, 1e6)
        if p < 0:
            return 0.0
        land(w, s, p, k, u, v, o, q, e, dx, dy, dz, t, 1 / eye[12], h, scratch)
        ahead = t + 2e-4 + 2e-5 * t
        if turn == 0:
            first_z, first_thing, first_place = t, h[21], h[20]
            continue
        if not _front(w, p, w.tri + 36 * k, dx, dy, dz) and h[19] == 0:
            continue
        if t < first_z + 0.02 + 0.004 * first_z:
            continue
        if h[21] == first_thing and h[20] == first_place and t < 1.08 * first_z:
            continue
        break
    return np.float64(t)


@njit(cache=True, parallel=True, error_model="numpy")
def behind_pass(  # type: ignore[no-untyped-def]
    w, s, L, rooms, numbers, eye, offsets, soft_rays, soft_bits, todo, sums, surface
):
    """Like `picture_pass` for the next surface behind the first; depth stays where untraced."""
    height, width = todo.shape
    samples, bits = len(offsets), _bits(len(offsets))
    for task in prange(height):
        i = _row(np.int64(task), height)
        room, own = rooms + ROOM * i, numbers[i]
        h, other, scratch, light = own[:24], own[24:48], own[48:64], own[64:68]
        out, level = own[72:88], own[LEVEL:]
        for j in range(width):
            if not todo[i, j]:
                continue
            code = pixel_code(i, j)
            for n in range(samples):
                x = (j + offsets[n, 0] - eye[13]) / eye[12]
                y = (i + offsets[n, 1] - eye[14]) / eye[12]
                dx = eye[3] * x + eye[6] * y + eye[9]
                dy = eye[4] * x + eye[7] * y + eye[10]
                dz = eye[5] * x + eye[8] * y + eye[11]
                t = _behind(w, s, room, eye, dx, dy, dz, h, scratch)
                if t == 0.0:
                    r = 1 / math.sqrt(dx * dx + dy * dy + dz * dz)
                    sky(L, dx * r, dy * r, dz * r, 0.0, scratch)
                    for c in range(3):
                        sums[i, j, c] += scratch[c]
                    if n == 0:
                        surface[i, j, 3] = np.inf
                    continue
                apart = n > 0 and abs(t - surface[i, j, 3]) > 0.05 * t
                _seen(
                    *(w, s, L, room, h, other, scratch, light, out, level, dx, dy, dz, t),
                    *(code, n, bits, 32, apart, sums, i, j),
                )
                if not apart:
                    begin, end = _until(n, soft_rays, samples), _until(n + 1, soft_rays, samples)
                    _softly(
                        *(w, s, L, room, h, other, scratch, light, t, code),
                        *(begin, end, soft_bits, 40, sums, i, j),
                    )
                if n == 0:
                    _facing(surface, i, j, eye, h, t)


@njit(cache=True, error_model="numpy")
def _front(w, p, tri, dx, dy, dz):  # type: ignore[no-untyped-def]
    """Whether the outward side of a triangle faces the ray."""
    m = w.inverse + 48 * p
    x = f32(m, 0) * dx + f32(m, 1) * dy + f32(m, 2) * dz
    y = f32(m, 4) * dx + f32(m, 5) * dy + f32(m, 6) * dz
    z = f32(m, 8) * dx + f32(m, 9) * dy + f32(m, 10) * dz
    gx = f32(tri, 4) * f32(tri, 8) - f32(tri, 5) * f32(tri, 7)
    gy = f32(tri, 5) * f32(tri, 6) - f32(tri, 3) * f32(tri, 8)
    gz = f32(tri, 3) * f32(tri, 7) - f32(tri, 4) * f32(tri, 6)
    return gx * x + gy * y + gz * z < 0


@njit(cache=True, parallel=True, error_model="numpy")
def exact_pass(w, s, L, rooms, numbers, eye, lens, points, bits, out):  # type: ignore[no-untyped-def]
    """Every sample through its own point of the aperture of the tilted thin lens.

    lens (14,) f64: extension (m), focal length (m), aperture radius (m), axis (3), the lens
    plane's own right (3) and down (3), in the camera frame; how far before the iris a rim lies
    and its radius (m; 0: none). A pixel is the mean of the rays that pass the rim.
    points (sets, n, 4): position in the pixel and point of the iris (unit circle); neighbouring
    pixels take different sets.  bits: n is at most 2^bits.
    """
    height, width = out.shape[:2]
    sets, count = points.shape[:2]
    softly = 0
    for n in range(count):
        softly += 1 if _even(n) else 0
    weight = count / softly
    for task in prange(height):
        i = _row(np.int64(task), height)
        room, own = rooms + ROOM * i, numbers[i]
        h, other, scratch, light = own[:24], own[24:48], own[48:64], own[64:68]
        res, level, soft = own[72:88], own[LEVEL:], own[88:91]
        for j in range(width):
            red, green, blue = 0.0, 0.0, 0.0
            passed = 0
            code = pixel_code(i, j)
            mine = np.int64(code) % sets
            for n in range(count):
                x = (j + points[mine, n, 0] - eye[13]) / eye[12]
                y = (i + points[mine, n, 1] - eye[14]) / eye[12]
                # the sharp point on the chief ray, 1/lambda = n.D/f - 1/v; all rays pass it
                inverse = (lens[3] * x + lens[4] * y + lens[5]) / lens[1] - 1 / lens[0]
                ax, ay = points[mine, n, 2], points[mine, n, 3]
                px = lens[2] * (ax * lens[6] + ay * lens[9])
                py = lens[2] * (ax * lens[7] + ay * lens[10])
                pz = lens[2] * (ax * lens[8] + ay * lens[11])
                # from aperture point A towards P = D / inverse: D - A * inverse, for any sign
                qx, qy, qz = x - px * inverse, y - py * inverse, 1.0 - pz * inverse
                if lens[13] > 0:
                    step = lens[12] / (qx * lens[3] + qy * lens[4] + qz * lens[5])
                    rx = px + step * qx - lens[12] * lens[3]
                    ry = py + step * qy - lens[12] * lens[4]
                    rz = pz + step * qz - lens[12] * lens[5]
                    if rx * rx + ry * ry + rz * rz > lens[13] * lens[13]:
                        continue
                passed += 1
                ox = eye[0] + eye[3] * px + eye[6] * py + eye[9] * pz
                oy = eye[1] + eye[4] * px + eye[7] * py + eye[10] * pz
                oz = eye[2] + eye[5] * px + eye[8] * py + eye[11] * pz
                dx = eye[3] * qx + eye[6] * qy + eye[9] * qz
                dy = eye[4] * qx + eye[7] * qy + eye[10] * qz
                dz = eye[5] * qx + eye[8] * qy + eye[11] * qz
                length = math.sqrt(dx * dx + dy * dy + dz * dz)
                t, p, k, u, v = closest_hit(w, room, ox, oy, oz, dx, dy, dz, 1e-4, 1e6)
                if p < 0:
                    sky(L, dx / length, dy / length, dz / length, 0.0, scratch)
                    red += scratch[0]
                    green += scratch[1]
                    blue += scratch[2]
                    continue
                land(w, s, p, k, u, v, ox, oy, oz, dx, dy, dz, t, 1 / eye[12], h, scratch)
                shade(
                    *(w, s, L, room, h, dx, dy, dz, t, code, n, bits, 48, 1.0),
                    *(other, scratch, light, level, res),
                )
                for c in range(3):
                    soft[c] = res[10 + c] if L.lamps > 0 else 0.0
                if _even(n):  # with many samples half of them will do, twice as strong
                    half = max(bits - 1, 0)
                    soft_light(w, s, L, room, h, t, code, n >> 1, half, 56, other, scratch, light)
                    for c in range(3):
                        soft[c] += weight * light[c]
                arrives = haze(L, t * length, dx, dy, scratch)
                red += arrives * (res[3] + res[0] * soft[0] + res[9] * res[6]) + scratch[0]
                green += arrives * (res[4] + res[1] * soft[1] + res[9] * res[7]) + scratch[1]
                blue += arrives * (res[5] + res[2] * soft[2] + res[9] * res[8]) + scratch[2]
            passed = max(passed, 1)
            out[i, j, 0], out[i, j, 1], out[i, j, 2] = red / passed, green / passed, blue / passed
