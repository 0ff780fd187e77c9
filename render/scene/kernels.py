"""The loops over pixels: plain picture, the surface behind edges, the exact lens.

`w`, `s`, `L`: tuples of addresses (`render.scene.tables`).  `rooms` (address) and `numbers`
(H, 128) f64 are scratch space, one row a task.
"""

import math

import numpy as np
from numba import njit, prange

from render.scene.light import haze, land, shade, sky, soft_light
from render.scene.tables import f32
from render.scene.walk import ROOM, closest_hit

__all__ = ["behind_pass", "depth_pass", "exact_pass", "picture_pass", "smooth_soft"]


@njit(cache=True, error_model="numpy")
def _unit(k, salt):  # type: ignore[no-untyped-def]
    """A number in [0, 1) for an integer."""
    h = np.uint32(k) * np.uint32(0x9E3779B1) + np.uint32(salt) * np.uint32(0x85EBCA77)
    h = np.uint32(h ^ (h >> np.uint32(16))) * np.uint32(0x7FEB352D)
    h = np.uint32(h ^ (h >> np.uint32(15))) * np.uint32(0x846CA68B)
    return np.float64(np.uint32(h ^ (h >> np.uint32(16)))) * (1.0 / 4294967296.0)


@njit(cache=True, error_model="numpy")
def _row(task, height):  # type: ignore[no-untyped-def]
    """Row of a task: far apart in turn, so that threads share busy parts of the picture."""
    return (task * 97) % height if height % 97 else task


@njit(cache=True, error_model="numpy")
def _fraction(x):  # type: ignore[no-untyped-def]
    return x - math.floor(x)


@njit(cache=True, error_model="numpy")
def _spread(i, j, n):  # type: ignore[no-untyped-def]
    """Two numbers for the n-th light sample of pixel (row i, column j).

    The golden-ratio lattice in two dimensions (Roberts 2018, "The unreasonable effectiveness of
    quasirandom sequences", from memory), started elsewhere in every pixel so that neighbours
    complete each other.
    """
    k = 131 * i + 71 * j
    a = 0.7548776662 * j + 0.5698402909 * i + 0.13 * _unit(k, 1)
    b = 0.5698402909 * j + 0.8191725134 * i + 0.13 * _unit(k, 2)
    return _fraction(a + 0.7548776662 * n + 0.5), _fraction(b + 0.5698402909 * n + 0.5)


@njit(cache=True, parallel=True, error_model="numpy")
def picture_pass(  # type: ignore[no-untyped-def]
    w, s, L, rooms, numbers, eye, offsets, first, last, todo, matt, direct, soft, surface, key
):
    """Trace samples first..last-1 of every pixel that is to do, and add them up.

    eye (16,) f64: place, right, down, forward, px per unit slope, centre x, y, slope of a pixel.
    offsets (n, 2): positions in the pixel, the first at its centre.
    matt, direct (H, W, 3), soft (H, W, 4: light and count), surface (H, W, 4: normal, depth) f32.
    key (H, W) i64: which surface the pixel shows; -1 where its samples disagree.
    """
    height, width = todo.shape
    for task in prange(height):
        i = _row(np.int64(task), height)
        room, own = rooms + ROOM * i, numbers[i]
        h, other, scratch, light, out = own[:24], own[24:48], own[48:64], own[64:68], own[72:84]
        for j in range(width):
            if not todo[i, j]:
                continue
            for n in range(first, last):
                x = (j + offsets[n, 0] - eye[13]) / eye[12]
                y = (i + offsets[n, 1] - eye[14]) / eye[12]
                dx = eye[3] * x + eye[6] * y + eye[9]
                dy = eye[4] * x + eye[7] * y + eye[10]
                dz = eye[5] * x + eye[8] * y + eye[11]
                t, p, k, u, v = closest_hit(w, room, eye[0], eye[1], eye[2], dx, dy, dz, 1e-3, 1e6)
                length = math.sqrt(dx * dx + dy * dy + dz * dz)
                a, b = _spread(i, j, n)
                mark = np.int64(0)
                if p < 0:
                    sky(L, dx / length, dy / length, dz / length, 0.0, scratch)
                    for c in range(3):
                        direct[i, j, c] += scratch[c]
                    if n == 0:
                        surface[i, j, 3] = np.inf
                        surface[i, j, 0] = surface[i, j, 1] = surface[i, j, 2] = 0.0
                else:
                    land(
                        w,
                        s,
                        p,
                        k,
                        u,
                        v,
                        eye[0],
                        eye[1],
                        eye[2],
                        dx,
                        dy,
                        dz,
                        t,
                        1 / eye[12],
                        h,
                        scratch,
                    )
                    shade(w, s, L, room, h, dx, dy, dz, t, a, b, other, scratch, light, out)
                    mark = 1 + np.int64(h[18]) + 4096 * (np.int64(p) + 1)
                    mark += np.int64(1 << 40) * np.int64(4 + 3 * round(h[6]) + round(h[8]))
                    arrives = haze(L, t * length, dx, dy, scratch)
                    for c in range(3):
                        matt[i, j, c] += arrives * out[c]
                        direct[i, j, c] += arrives * out[3 + c] + scratch[c]
                    if n < 2 or (n >= 4 and soft[i, j, 3] < 4):
                        soft_light(w, s, L, room, h, t, a, b, other, scratch, light)
                        for c in range(3):
                            soft[i, j, c] += light[c]
                        soft[i, j, 3] += 1
                    if n == 0:
                        surface[i, j, 3] = t
                        for c in range(3):
                            surface[i, j, c] = h[6 + c]
                if n == 0:
                    key[i, j] = mark
                    low = high = _sum(direct, matt, i, j)
                    before = low
                else:
                    now = _sum(direct, matt, i, j)
                    low, high = min(low, now - before), max(high, now - before)
                    before = now
                    if mark != key[i, j]:
                        key[i, j] = -1
            if first == 0 and high - low > 0.30 * (high + low) + 0.03:
                key[i, j] = -1


@njit(cache=True, error_model="numpy")
def _sum(direct, matt, i, j):  # type: ignore[no-untyped-def]
    total = 0.0
    for c in range(3):
        total += direct[i, j, c] + 0.3 * matt[i, j, c]
    return total


@njit(cache=True, parallel=True, error_model="numpy")
def smooth_soft(soft, surface, reach, slope, out):  # type: ignore[no-untyped-def]
    """Mean of the soft light over neighbours on the same smooth surface.

    Interleaved sampling (Keller and Heidrich 2001, from memory): neighbours took other
    directions, so a few pixels together have seen the whole sky.
    """
    height, width = soft.shape[:2]
    for task in prange(height):
        i = np.int64(task)
        for j in range(width):
            z = surface[i, j, 3]
            if soft[i, j, 3] == 0:
                for c in range(3):
                    out[i, j, c] = 0.0
                continue
            total, r, g, b = 0.0, 0.0, 0.0, 0.0
            for y in range(max(i - reach, 0), min(i + reach + 1, height)):
                for x in range(max(j - reach, 0), min(j + reach + 1, width)):
                    if soft[y, x, 3] == 0:
                        continue
                    near = 1.0 if (y == i and x == j) else 0.0
                    if near == 0.0 and z < 1e9:
                        same = 0.0
                        for c in range(3):
                            same += surface[i, j, c] * surface[y, x, c]
                        step = abs(surface[y, x, 3] - z)
                        apart = step / (z * slope * 8.0 + 1e-6)
                        near = max(same, 0.0) ** 12 * math.exp(-apart)
                    if near > 0.02:
                        k = near / (1.0 + 0.12 * ((y - i) ** 2 + (x - j) ** 2))
                        total += k * soft[y, x, 3]
                        r += k * soft[y, x, 0]
                        g += k * soft[y, x, 1]
                        b += k * soft[y, x, 2]
            out[i, j, 0], out[i, j, 1], out[i, j, 2] = r / total, g / total, b / total


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


@njit(cache=True, parallel=True, error_model="numpy")
def behind_pass(w, s, L, rooms, numbers, eye, offsets, todo, depth, matt, direct, soft, surface):  # type: ignore[no-untyped-def]
    """Like `picture_pass` for the next surface behind the first; `depth` NaN where untraced.

    The next surface is one that faces the camera (or has two sides), belongs to another thing or
    lies clearly farther away: the far side of a wall, or the next leaf, hides nothing from a lens.
    """
    height, width = todo.shape
    for task in prange(height):
        i = _row(np.int64(task), height)
        room, own = rooms + ROOM * i, numbers[i]
        h, other, scratch, light, out = own[:24], own[24:48], own[48:64], own[64:68], own[72:84]
        for j in range(width):
            if not todo[i, j]:
                continue
            for n in range(len(offsets)):
                x = (j + offsets[n, 0] - eye[13]) / eye[12]
                y = (i + offsets[n, 1] - eye[14]) / eye[12]
                dx = eye[3] * x + eye[6] * y + eye[9]
                dy = eye[4] * x + eye[7] * y + eye[10]
                dz = eye[5] * x + eye[8] * y + eye[11]
                length = math.sqrt(dx * dx + dy * dy + dz * dz)
                a, b = _spread(i, j, n)
                ahead = 0.0
                first_z, first_thing, first_place = 0.0, -1.0, -1.0
                for turn in range(64):
                    t, p, k, u, v = closest_hit(
                        w, room, eye[0], eye[1], eye[2], dx, dy, dz, ahead, 1e6
                    )
                    if p < 0:
                        break
                    tri = w.tri + 36 * k
                    land(
                        w,
                        s,
                        p,
                        k,
                        u,
                        v,
                        eye[0],
                        eye[1],
                        eye[2],
                        dx,
                        dy,
                        dz,
                        t,
                        1 / eye[12],
                        h,
                        scratch,
                    )
                    ahead = t + 2e-4 + 2e-5 * t
                    if turn == 0:
                        first_z, first_thing, first_place = t, h[21], h[20]
                        continue
                    if not _front(w, p, tri, dx, dy, dz) and h[19] == 0:
                        continue
                    if t < first_z + 0.02 + 0.004 * first_z:
                        continue
                    if h[21] == first_thing and h[20] == first_place and t < 1.08 * first_z:
                        continue
                    break
                if p < 0:
                    sky(L, dx / length, dy / length, dz / length, 0.0, scratch)
                    for c in range(3):
                        direct[i, j, c] += scratch[c]
                    if n == 0:
                        depth[i, j] = np.inf
                        surface[i, j, 3] = np.inf
                    continue
                shade(w, s, L, room, h, dx, dy, dz, t, a, b, other, scratch, light, out)
                arrives = haze(L, t * length, dx, dy, scratch)
                for c in range(3):
                    matt[i, j, c] += arrives * out[c]
                    direct[i, j, c] += arrives * out[3 + c] + scratch[c]
                soft_light(w, s, L, room, h, t, a, b, other, scratch, light)
                for c in range(3):
                    soft[i, j, c] += light[c]
                soft[i, j, 3] += 1
                if n == 0:
                    depth[i, j] = t
                    surface[i, j, 3] = t
                    for c in range(3):
                        surface[i, j, c] = h[6 + c]


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
def exact_pass(w, s, L, rooms, numbers, eye, lens, aperture, offsets, out):  # type: ignore[no-untyped-def]
    """Every sample through its own point of the aperture of the tilted thin lens.

    lens (12,) f64: extension (m), focal length (m), aperture radius (m), axis (3), the lens
    plane's own right (3) and down (3), in the camera frame.
    aperture (n, 2): points of the iris, unit circle; offsets (n, 2): positions in the pixel.
    """
    height, width = out.shape[:2]
    count = len(aperture)
    for task in prange(height):
        i = _row(np.int64(task), height)
        room, own = rooms + ROOM * i, numbers[i]
        h, other, scratch, light, res = own[:24], own[24:48], own[48:64], own[64:68], own[72:84]
        for j in range(width):
            red, green, blue = 0.0, 0.0, 0.0
            turn_a, turn_b = _spread(i, j, 0)
            for n in range(count):
                x = (j + _fraction(offsets[n, 0] + turn_a) - eye[13]) / eye[12]
                y = (i + _fraction(offsets[n, 1] + turn_b) - eye[14]) / eye[12]
                # the sharp point on the chief ray, 1/lambda = n.D/f - 1/v; all rays pass it
                inverse = (lens[3] * x + lens[4] * y + lens[5]) / lens[1] - 1 / lens[0]
                ax, ay = aperture[n, 0], aperture[n, 1]
                px = lens[2] * (ax * lens[6] + ay * lens[9])
                py = lens[2] * (ax * lens[7] + ay * lens[10])
                pz = lens[2] * (ax * lens[8] + ay * lens[11])
                # from aperture point A towards P = D / inverse: D - A * inverse, for any sign
                qx, qy, qz = x - px * inverse, y - py * inverse, 1.0 - pz * inverse
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
                a, b = _spread(i, j, n)
                land(w, s, p, k, u, v, ox, oy, oz, dx, dy, dz, t, 1 / eye[12], h, scratch)
                shade(w, s, L, room, h, dx, dy, dz, t, a, b, other, scratch, light, res)
                soft_light(w, s, L, room, h, t, b, a, other, scratch, light)
                arrives = haze(L, t * length, dx, dy, scratch)
                red += arrives * (res[3] + res[0] * light[0]) + scratch[0]
                green += arrives * (res[4] + res[1] * light[1]) + scratch[1]
                blue += arrives * (res[5] + res[2] * light[2]) + scratch[2]
            out[i, j, 0], out[i, j, 1], out[i, j, 2] = red / count, green / count, blue / count
