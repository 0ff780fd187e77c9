"""Penumbrae: how far what shades a place is away, and its sun shared as far as that lets it.

A pixel's few rays to the sun's disc leave a stipple.  Seen from the sun, the share of its disc that
is free changes as slowly as its image through what shades is wide: twice the tangent of its radius
times the distance.  So the rays of places nearer to each other than a part of that tell of one
another (Mehta, Wang and Ramamoorthi 2012, "Axis-aligned filtering for interactive sampled soft
shadows", after Egan et al. 2011; from memory: they part filters along the picture, here distance
in the world, across the light, does).
"""

import math

import numpy as np

from render.compiled import loop, step
from render.trace.columns import DEPTH, HIT
from render.trace.kernels.looking import stand
from render.trace.light import start
from render.trace.spread import cone, pixel_code, spread
from render.trace.walk import closest_hit
from render.world.surfaces.tables import f64, numbers

__all__ = ["NEAREST", "RAYS", "SEEN", "TOLD", "look_for_shade", "nearest_shade", "sun_shared"]

#: What is known of the sun at a pixel, f32: distance to the nearest thing that shades it, m, inf
#: where none is known; rays to the sun, and how many of them met nothing.
NEAREST, RAYS, SEEN, TOLD = 0, 1, 2, 3

#: Rays that look for what shades, after a first one has found it far enough away to matter.
_MORE = 3
#: What the rays are for, beside those of `kernels.pixels`; how alike depths around a pixel are.
_USE, _LIKE = 64, 0.05


@loop()
def look_for_shade(w, s, L, room, own, eye, surface, wide, todo, told, row0, row1):
    """Send rays to the sun from the first surface of the pixels that are to do; add them to `told`.

    wide: how far rays are shared, m for each m to what shades.  They count where that is more
    than a pixel: nearer shadows have edges of their own inside pixels.
    """
    h = numbers(own, HIT)
    lx, ly, lz = f64(L.sun_to, 0), f64(L.sun_to, 1), f64(L.sun_to, 2)
    for i in range(row0, row1):
        for j in range(todo.shape[1]):
            if not todo[i, j]:
                continue
            z = np.float64(surface[i, j, DEPTH])
            stand(surface, eye, i, j, h)
            code, count, n, seen, nearest = pixel_code(i, j), 1, 0, 0, np.inf
            while n < count:
                a, b = spread(code, n, 2, _USE)
                x, y, up = cone(lx, ly, lz, L.sun_tan, a, b)
                ox, oy, oz = start(h, x, y, up, z)
                far, p, _k, _u, _v = closest_hit(w, room, ox, oy, oz, x, y, up, 1e-4, 1e7)
                n += 1
                if p < 0:
                    seen += 1
                else:
                    nearest = min(nearest, np.float64(far))
                if n == 1 and wide * nearest > z * eye.slope:
                    count += _MORE
            told[i, j, NEAREST] = nearest
            if wide * nearest > z * eye.slope:
                told[i, j, RAYS] += count
                told[i, j, SEEN] += seen


@loop()
def nearest_shade(surface, todo, told, out, row0, row1):
    """Distance to the nearest thing that shades a pixel or those around it at its depth, (H, W)."""
    height, width = todo.shape
    for i in range(row0, row1):
        for j in range(width):
            out[i, j] = np.inf
            if not todo[i, j]:
                continue
            z = surface[i, j, DEPTH]
            for y in range(max(i - 1, 0), min(i + 2, height)):
                for x in range(max(j - 1, 0), min(j + 2, width)):
                    if abs(surface[y, x, DEPTH] - z) < np.float32(_LIKE) * z:
                        out[i, j] = min(out[i, j], told[y, x, NEAREST])


@step(forceinline=True)
def _place(surface, eye, i, j):
    """Where a pixel's first surface lies in the camera frame."""
    z = np.float64(surface[i, j, DEPTH])
    right, down = (j + 0.5 - eye.centre_x) * eye.slope, (i + 0.5 - eye.centre_y) * eye.slope
    return right * z, down * z, z


@loop()
def sun_shared(L, eye, surface, wide, along_most, most_px, todo, told, nearest, out, row0, row1):
    """Share of the sun that each pixel sees, (H, W) f32; -1 where its own rays are all it has.

    wide, along_most: how far rays are shared across the light and along it, m for each m to what
    shades; most_px: at most so many pixels away.
    """
    height, width = todo.shape
    x, y, z = f64(L.sun_to, 0), f64(L.sun_to, 1), f64(L.sun_to, 2)
    lx = x * eye.right_x + y * eye.right_y + z * eye.right_z
    ly = x * eye.down_x + y * eye.down_y + z * eye.down_z
    lz = x * eye.ahead_x + y * eye.ahead_y + z * eye.ahead_z
    for i in range(row0, row1):
        for j in range(width):
            out[i, j] = -1
            if not (todo[i, j] and nearest[i, j] < np.inf):
                continue
            px, py, pz = _place(surface, eye, i, j)
            reach = wide * nearest[i, j] / (pz * eye.slope)
            if not reach > 0.5:
                continue
            away = min(np.int64(math.ceil(2 * reach)), most_px)
            rays, seen = np.float64(told[i, j, RAYS]), np.float64(told[i, j, SEEN])
            for r in range(max(i - away, 0), min(i + away + 1, height)):
                for c in range(max(j - away, 0), min(j + away + 1, width)):
                    if (r == i and c == j) or not told[r, c, RAYS] > 0:
                        continue
                    qx, qy, qz = _place(surface, eye, r, c)
                    qx, qy, qz = qx - px, qy - py, qz - pz
                    along = qx * lx + qy * ly + qz * lz
                    near = min(nearest[i, j], nearest[r, c])
                    if abs(along) > along_most * near:
                        continue
                    across = qx * qx + qy * qy + qz * qz - along * along
                    k = 1 - across / (wide * near * wide * near)
                    if k > 0:
                        rays += k * told[r, c, RAYS]
                        seen += k * told[r, c, SEEN]
            out[i, j] = seen / rays
