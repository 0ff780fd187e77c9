"""The exact lens: every sample through its own point of the aperture."""

import math

import numpy as np

from render.compiled import loop, step
from render.trace.columns import (
    DULL,
    DULL_SHARE,
    GATHERED,
    HIT,
    LEVEL,
    LIGHT,
    MATT,
    OF_LAMPS,
    OTHER,
    OUT,
    SCRATCH,
    SENT,
)
from render.trace.light import land, shade, soft_light
from render.trace.sky import haze, sky
from render.trace.spread import pixel_code
from render.trace.walk import closest_hit
from render.world.surfaces.tables import numbers

__all__ = ["exact_pass"]


@step()
def _even(n):
    """Whether a number has an even count of bits: one of each pair, evenly over Sobol points.

    Even numbers alone would all lie in the same half of the pixel.
    """
    n ^= n >> 16
    n ^= n >> 8
    n ^= n >> 4
    n ^= n >> 2
    return (n ^ (n >> 1)) & 1 == 0


@step()
def _refracted(lens, eye, x, y, ax, ay):
    """The ray that leaves the lens at (ax, ay) of its unit disc for a place of the picture.

    It passes the sharp point on the chief ray D, ``1/lambda = n.D/f - 1/v``: from aperture point
    A towards P = D / inverse, as D - A * inverse, for any sign. Returns start and direction in
    the world, and whether it passes the rim.
    """
    x, y = (x - eye.centre_x) / eye.focal, (y - eye.centre_y) / eye.focal
    inverse = (lens.axis_x * x + lens.axis_y * y + lens.axis_z) / lens.focal - 1 / lens.extension
    px = lens.radius * (ax * lens.right_x + ay * lens.down_x)
    py = lens.radius * (ax * lens.right_y + ay * lens.down_y)
    pz = lens.radius * (ax * lens.right_z + ay * lens.down_z)
    qx, qy, qz = x - px * inverse, y - py * inverse, 1.0 - pz * inverse
    passes = True
    if lens.rim_radius > 0:
        along = lens.rim_before / (qx * lens.axis_x + qy * lens.axis_y + qz * lens.axis_z)
        rx = px + along * qx - lens.rim_before * lens.axis_x
        ry = py + along * qy - lens.rim_before * lens.axis_y
        rz = pz + along * qz - lens.rim_before * lens.axis_z
        passes = rx * rx + ry * ry + rz * rz <= lens.rim_radius * lens.rim_radius
    return (
        eye.x + eye.right_x * px + eye.down_x * py + eye.ahead_x * pz,
        eye.y + eye.right_y * px + eye.down_y * py + eye.ahead_y * pz,
        eye.z + eye.right_z * px + eye.down_z * py + eye.ahead_z * pz,
        eye.right_x * qx + eye.down_x * qy + eye.ahead_x * qz,
        eye.right_y * qx + eye.down_y * qy + eye.ahead_y * qz,
        eye.right_z * qx + eye.down_z * qy + eye.ahead_z * qz,
        passes,
    )


@loop()
def exact_pass(w, s, L, room, own, eye, lens, points, bits, out, row0, row1):
    """Every sample through its own point of the aperture of the tilted thin lens.

    A pixel is the mean of the rays that pass the rim.
    points (sets, n, 4): position in the pixel and point of the iris (unit circle); neighbouring
    pixels take different sets.  bits: n is at most 2^bits.
    """
    sets, count = points.shape[:2]
    softly = 0
    for n in range(count):
        softly += 1 if _even(n) else 0
    weight, fewer = count / softly, max(bits - 1, 0)
    h, other, scratch = numbers(own, HIT), numbers(own, OTHER), numbers(own, SCRATCH)
    light, res, soft = numbers(own, LIGHT), numbers(own, OUT), numbers(own, GATHERED)
    level = numbers(own, LEVEL)
    for i in range(row0, row1):
        for j in range(out.shape[1]):
            red, green, blue = 0.0, 0.0, 0.0
            passed = 0
            code = pixel_code(i, j)
            mine = np.int64(code) % sets
            for n in range(count):
                x, y = j + points[mine, n, 0], i + points[mine, n, 1]
                ox, oy, oz, dx, dy, dz, passes = _refracted(
                    lens, eye, x, y, points[mine, n, 2], points[mine, n, 3]
                )
                if not passes:
                    continue
                passed += 1
                length = math.sqrt(dx * dx + dy * dy + dz * dz)
                near, p, k, u, v = closest_hit(w, room, ox, oy, oz, dx, dy, dz, 1e-4, 1e6)
                if p < 0:
                    sky(L, dx / length, dy / length, dz / length, 0.0, scratch)
                    red += scratch[0]
                    green += scratch[1]
                    blue += scratch[2]
                    continue
                t = np.float64(near)
                land(w, s, p, k, u, v, ox, oy, oz, dx, dy, dz, t, 1 / eye.focal, h, scratch)
                shade(
                    *(w, s, L, room, h, dx, dy, dz, t, code, n, bits, 48, 1.0, False),
                    *(other, scratch, light, level, res),
                )
                for c in range(3):
                    soft[c] = res[OF_LAMPS + c] if L.lamps > 0 else 0.0
                if _even(n):  # with many samples half of them will do, twice as strong
                    soft_light(w, s, L, room, h, t, code, n >> 1, fewer, 56, other, scratch, light)
                    for c in range(3):
                        soft[c] += weight * light[c]
                arrives = haze(L, t * length, dx, dy, scratch)
                for c in range(3):
                    own_light = res[SENT + c] + res[MATT + c] * soft[c]
                    soft[c] = arrives * (own_light + res[DULL_SHARE] * res[DULL + c]) + scratch[c]
                red += soft[0]
                green += soft[1]
                blue += soft[2]
            passed = max(passed, 1)
            out[i, j, 0], out[i, j, 1], out[i, j, 2] = red / passed, green / passed, blue / passed
