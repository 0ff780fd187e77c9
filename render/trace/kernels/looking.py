"""What looking through the pinhole takes: the ray of a place, and what its landing adds up to."""

import math

from render.compiled import step
from render.trace.columns import (
    DEPTH,
    DIRECT,
    DULL,
    DULL_SHARE,
    FACE,
    FACE_THERE,
    LAMP_SAMPLES,
    LAMP_SQUARES,
    LAMPLIGHT,
    LENT_SHARE,
    LENT_TIMES,
    MATT,
    MIRRORED,
    MIRRORED_SHARE,
    MIRRORED_SQUARES,
    MIRRORS,
    OF_LAMPS,
    PLACE,
    SENT,
    SOFT,
    SOFT_NEARNESS,
    SOFT_RAYS,
    SOFT_SQUARES,
    SUN,
    SUN_RAY,
    SUN_RAYS,
    SUN_SEEN,
    SUNLIGHT,
    SUNLIT,
    THROUGH,
    TIMES,
)
from render.trace.light import dot, shade, soft_light
from render.trace.sky import haze, sky

__all__ = [
    *("add_landed", "add_sky", "add_soft", "bits_of", "brightness", "face", "glance"),
    *("stand", "through"),
]


@step(forceinline=True)
def through(eye, x, y):
    """Direction of the ray through a place of the picture, z 1 in the camera frame."""
    x, y = (x - eye.centre_x) / eye.focal, (y - eye.centre_y) / eye.focal
    return (
        eye.right_x * x + eye.down_x * y + eye.ahead_x,
        eye.right_y * x + eye.down_y * y + eye.ahead_y,
        eye.right_z * x + eye.down_z * y + eye.ahead_z,
    )


@step(forceinline=True)
def bits_of(count):
    """The least power of 2 that holds a count."""
    bits = 0
    while (1 << bits) < count:
        bits += 1
    return bits


@step(forceinline=True)
def _luminance(rgb, at):
    return 0.25 * rgb[at] + 0.6 * rgb[at + 1] + 0.15 * rgb[at + 2]


@step(forceinline=True)
def brightness(light):
    """Light as an eye sees its steps, 0 to 1, near enough to coded values to find edges."""
    return math.sqrt(min(max(light, 0.0), 1.0))


@step(forceinline=True)
def face(surface, eye, h, t, mirrors):
    """Keep the first sample's depth and its face normal in the camera frame."""
    surface[MIRRORS] = mirrors
    surface[DEPTH] = t
    surface[0] = dot(h, FACE, eye.right_x, eye.right_y, eye.right_z)
    surface[1] = dot(h, FACE, eye.down_x, eye.down_y, eye.down_z)
    surface[2] = dot(h, FACE, eye.ahead_x, eye.ahead_y, eye.ahead_z)


@step(forceinline=True)
def stand(surface, eye, i, j, h):
    """Put place and face normal of a pixel's first surface into `h`, as if a ray had landed."""
    z = surface[i, j, DEPTH]
    dx, dy, dz = through(eye, j + 0.5, i + 0.5)
    h[PLACE], h[PLACE + 1], h[PLACE + 2] = eye.x + z * dx, eye.y + z * dy, eye.z + z * dz
    a, b = surface[i, j, FACE_THERE], surface[i, j, FACE_THERE + 1]
    c = surface[i, j, FACE_THERE + 2]
    h[FACE] = a * eye.right_x + b * eye.down_x + c * eye.ahead_x
    h[FACE + 1] = a * eye.right_y + b * eye.down_y + c * eye.ahead_y
    h[FACE + 2] = a * eye.right_z + b * eye.down_z + c * eye.ahead_z


@step(forceinline=True)
def add_sky(L, dx, dy, dz, scratch, sums):
    """Add what a ray sees that meets nothing; returns its luminance."""
    r = 1 / math.sqrt(dx * dx + dy * dy + dz * dz)
    sky(L, dx * r, dy * r, dz * r, 0.0, scratch)
    for c in range(3):
        sums[DIRECT + c] += scratch[c]
    return _luminance(scratch, 0)


@step(forceinline=True)
def add_landed(
    w, s, L, room, h, other, scratch, light, out, level, dx, dy, dz, t, code, n, bits, salt, apart,
    held, slot, worth, mirrors, most, sums,
):  # fmt: skip
    """Add what a landed sample sends, but soft light that the pixel shares with neighbours.

    A sample `apart` is on another surface than the pixel's first: it has lamps' light of its own
    and borrows a share `worth` of the soft light of the neighbour at `slot` of `held`, which has
    seen a dull mirror or not (`mirrors`), or nothing if that is -1: what is missing, soft rays of
    its own bring, one where the sun outshines them and on leaves, among which nobody sees their
    noise, else `most`, a power of 2. Returns the luminance of what it sends without soft light, and
    what that is multiplied with.
    """
    lent = apart and slot >= 0
    mirrors = lent and mirrors
    shade(
        *(w, s, L, room, h, dx, dy, dz, t, code, n, bits, salt, 0.3, mirrors),
        *(other, scratch, light, level, out),
    )
    arrives = haze(L, t * math.sqrt(dx * dx + dy * dy + dz * dz), dx, dy, scratch)
    for c in range(3):
        out[SENT + c] = arrives * out[SENT + c] + scratch[c]
        sums[DIRECT + c] += out[SENT + c]
    sent, matt = _luminance(out, SENT), arrives * _luminance(out, MATT)
    share = arrives * out[DULL_SHARE]
    if L.lamps > 0:
        sent += matt * _luminance(out, OF_LAMPS)
    alone = 1.0
    if lent:
        alone = 1 - worth
        for c in range(3):
            held[slot + LENT_TIMES + c] += worth * arrives * out[MATT + c]
        if mirrors:
            held[slot + LENT_SHARE] += share
    if apart:
        for c in range(3):
            if L.lamps > 0:
                sums[DIRECT + c] += arrives * out[MATT + c] * out[OF_LAMPS + c]
            if not mirrors:
                sums[DIRECT + c] += share * out[DULL + c]
        if alone == 0:
            return sent, matt
        rays = 1 if out[SUN_SEEN] > 0 or h[THROUGH] > 0 else most
        for k in range(rays):
            soft_light(
                *(w, s, L, room, h, t, code, most * n + k, bits + bits_of(most), salt),
                *(other, scratch, light),
            )
            for c in range(3):
                sums[DIRECT + c] += alone * arrives * out[MATT + c] * light[c] / rays
        return sent, matt
    for c in range(3):
        sums[SUNLIGHT + c] += arrives * out[SUN + c]
        sums[TIMES + c] += arrives * out[MATT + c]
        sums[MIRRORED + c] += share * out[DULL + c]
    sums[SUNLIT] += arrives * out[SUN_SEEN] * _luminance(out, SUN)
    sums[SUN_RAYS] += out[SUN_RAY]
    sums[MIRRORED_SHARE] += share
    sums[MIRRORED_SQUARES] += share * _luminance(out, DULL) ** 2
    if L.lamps > 0:
        for c in range(3):
            sums[LAMPLIGHT + c] += out[OF_LAMPS + c]
        sums[LAMP_SAMPLES] += 1
        sums[LAMP_SQUARES] += _luminance(out, OF_LAMPS) ** 2
    return sent, matt


@step(forceinline=True)
def glance(
    w, s, L, room, h, other, scratch, light, out, level, dx, dy, dz, t, code, n, bits, salt
):  # fmt: skip
    """As `add_landed`, but nothing is added up, and no dull mirror is asked."""
    shade(
        *(w, s, L, room, h, dx, dy, dz, t, code, n, bits, salt, 0.3, True),
        *(other, scratch, light, level, out),
    )
    arrives = haze(L, t * math.sqrt(dx * dx + dy * dy + dz * dz), dx, dy, scratch)
    sent = arrives * _luminance(out, SENT) + _luminance(scratch, 0)
    matt = arrives * _luminance(out, MATT)
    if L.lamps > 0:
        sent += matt * _luminance(out, OF_LAMPS)
    return sent, matt


@step(forceinline=True)
def add_soft(w, s, L, room, h, other, scratch, light, t, code, rays, bits, salt, sums):
    """Add all of a pixel's soft rays, which 2^bits hold, from where its first sample landed."""
    for k in range(rays):
        sums[SOFT_NEARNESS] += soft_light(
            w, s, L, room, h, t, code, k, bits, salt, other, scratch, light
        )
        for c in range(3):
            sums[SOFT + c] += light[c]
        sums[SOFT_RAYS] += 1
        sums[SOFT_SQUARES] += _luminance(light, 0) ** 2
