"""The plain picture, and the next surface behind the first: sample by sample.

`w`, `s`, `L`: tuples of addresses (world/surfaces/tables.py). `room` (address) and `own`
(numbers, f64) are one task's scratch space.
"""

import numpy as np

from render.compiled import loop, step
from render.trace.columns import (
    BRIGHT,
    DEPTH,
    DIRECT,
    DULL_SHARE,
    FACE,
    GUESS,
    HIT,
    LEAST,
    LENT_TIMES,
    LEVEL,
    LIGHT,
    MATERIAL,
    MIRRORS,
    MOST,
    NORMAL,
    OTHER,
    OUT,
    PLACEMENT,
    QUARTER,
    QUARTER_DEPTH,
    QUARTER_LIGHT,
    QUARTER_SAMPLES,
    SCRATCH,
    SLOTS,
    SOFT,
    SOFT_RAYS,
    THING,
    TIMES,
    TWO_SIDED,
    WAS,
)
from render.trace.kernels.beam import BEAM, in_beam, look, put_in_beam
from render.trace.kernels.lending import column_of, lender, row_of, slot_for
from render.trace.kernels.looking import (
    add_landed,
    add_sky,
    add_soft,
    bits_of,
    brightness,
    face,
    glance,
    stand,
    through,
)
from render.trace.light import land
from render.trace.spread import pixel_code
from render.trace.walk import closest_hit
from render.world.surfaces.tables import f32, i32, numbers

__all__ = ["depth_pass", "glance_pass", "pixel_pass", "soft_pass"]

#: How far a place may lie out of the plane of its pixel's first, in pixels there.
_OUT_OF_PLANE = 0.3


@step(forceinline=True)
def _look_along(w, room, eye, i, j, count, right, down):
    """Send rays through one place (0 to 1) of `count` pixels of a row, from (i, j) on."""
    for n in range(count):
        put_in_beam(room, n, n - 0.5 * count + right, down - 0.5)
    look(w, room, eye, j + 0.5 * count, i + 0.5, count, 1e-3, 1e6)


@loop()
def depth_pass(w, s, L, room, own, eye, out, row0, row1):
    """Depth z at every pixel's centre, (H, W) f32; inf where there is nothing."""
    width = out.shape[1]
    for i in range(row0, row1):
        for j in range(width):
            if j % BEAM == 0:
                _look_along(w, room, eye, i, j, min(BEAM, width - j), 0.5, 0.5)
            t, p, _k, _u, _v = in_beam(room, j % BEAM)
            out[i, j] = t if p >= 0 else np.inf


@step(forceinline=True)
def _front(w, p, tri, dx, dy, dz):
    """Whether the outward side of a triangle faces the ray."""
    m = w.inverse + 48 * p
    x = f32(m, 0) * dx + f32(m, 1) * dy + f32(m, 2) * dz
    y = f32(m, 4) * dx + f32(m, 5) * dy + f32(m, 6) * dz
    z = f32(m, 8) * dx + f32(m, 9) * dy + f32(m, 10) * dz
    gx = f32(tri, 4) * f32(tri, 8) - f32(tri, 5) * f32(tri, 7)
    gy = f32(tri, 5) * f32(tri, 6) - f32(tri, 3) * f32(tri, 8)
    gz = f32(tri, 3) * f32(tri, 7) - f32(tri, 4) * f32(tri, 6)
    return gx * x + gy * y + gz * z < 0


@step()
def _behind(w, s, room, eye, dx, dy, dz, h, scratch):
    """Distance to the next surface behind the first along a ray, 0 if there is none.

    The next surface is one that faces the camera (or has two sides), belongs to another thing or
    lies clearly farther away: the far side of a wall, or the next leaf, hides nothing from a lens.
    """
    ox, oy, oz = eye.x, eye.y, eye.z
    ahead, first_z, first_thing, first_place = 0.0, 0.0, -1.0, -1.0
    for turn in range(64):
        near, p, k, u, v = closest_hit(w, room, ox, oy, oz, dx, dy, dz, ahead, 1e6)
        if p < 0:
            return 0.0
        t = np.float64(near)
        land(w, s, p, k, u, v, ox, oy, oz, dx, dy, dz, t, 1 / eye.focal, h, scratch)
        ahead = near + 2e-4 + 2e-5 * near
        if turn == 0:
            first_z, first_thing, first_place = t, h[THING], h[PLACEMENT]
            continue
        if not _front(w, p, w.tri + 36 * k, dx, dy, dz) and h[TWO_SIDED] == 0:
            continue
        if t < first_z + 0.02 + 0.004 * first_z:
            continue
        if h[THING] == first_thing and h[PLACEMENT] == first_place and t < 1.08 * first_z:
            continue
        break
    return t


@step(forceinline=True)
def _look_through(w, room, eye, offsets, i, j, first, count, pixels):
    """Send `count` samples, from the `first` on, of as many pixels of a row."""
    for q in range(pixels):
        for n in range(count):
            across = q + offsets[first + n, 0] - 0.5 * pixels
            put_in_beam(room, q * count + n, across, offsets[first + n, 1] - 0.5)
    look(w, room, eye, j + 0.5 * pixels, i + 0.5, pixels * count, 1e-3, 1e6)


@step(forceinline=True)
def _landed(w, s, room, lane, eye, dx, dy, dz, h, scratch):
    """Distance to what a ray of the beam met, with its landing in `h`; 0 if it met nothing."""
    near, p, k, u, v = in_beam(room, lane)
    if p < 0:
        return 0.0
    t = np.float64(near)
    land(w, s, p, k, u, v, eye.x, eye.y, eye.z, dx, dy, dz, t, 1 / eye.focal, h, scratch)
    return t


#: So many soft rays go out from a sample that borrows no soft light, where borrowing is the rule.
_OWN_RAYS = 2
#: Up to here a surface's mark holds its material and its placement.
_FACES_FROM = np.int64(1 << 40)


@step(forceinline=True)
def _mark(h):
    """Which surface was met, i64: material, placement and the way it faces."""
    mark = 1 + np.int64(h[MATERIAL]) + 4096 * (np.int64(h[PLACEMENT]) + 1)
    return mark + _FACES_FROM * np.int64(4 + 3 * round(h[FACE]) + round(h[FACE + 2]))


@step(forceinline=True)
def _is_first(s, surface, key, eye, i, j, right, down, t, p, k):
    """Whether a place (0 to 1) of pixel (i, j) shows its first surface, in one plane with it."""
    if p < 0 or key[i, j] == 0:
        return p < 0 and key[i, j] == 0
    material = i32(s.pick, i32(s.first, p) + i32(s.slot, k))
    if key[i, j] % _FACES_FROM != 1 + np.int64(material) + 4096 * (p + 1):
        return False
    z = surface[i, j, DEPTH]
    a, b = j + 0.5 - eye.centre_x, i + 0.5 - eye.centre_y
    across = ((j + right - eye.centre_x) * t - a * z) * eye.slope
    below = ((i + down - eye.centre_y) * t - b * z) * eye.slope
    off = surface[i, j, 0] * across + surface[i, j, 1] * below + surface[i, j, 2] * (t - z)
    return abs(off) <= _OUT_OF_PLANE * z * eye.slope


@step(forceinline=True)
def _quarter(offsets, n):
    """Which quarter of its pixel a sample goes through: rows first."""
    return (2 if offsets[n, 1] > 0.5 else 0) + (1 if offsets[n, 0] > 0.5 else 0)


@step(forceinline=True)
def _add_quarter(part, lit, was, depth):
    """Add what the last sample brought to its quarter; the first one there gives its depth."""
    for c in range(QUARTER_LIGHT):
        part[c] += lit[DIRECT + c] - was[c]
    part[QUARTER_SAMPLES] += 1
    if part[QUARTER_DEPTH] == 0:
        part[QUARTER_DEPTH] = depth


@loop()
def soft_pass(w, s, L, room, own, eye, soft_rays, surface, normal, sums, row0, row1):
    """Send soft rays (H, W) u8 from where the pixels' first samples landed, and add them to `sums`.

    surface, normal, sums: as `pixel_pass` left them.
    """
    h, other, scratch = numbers(own, HIT), numbers(own, OTHER), numbers(own, SCRATCH)
    light = numbers(own, LIGHT)
    for i in range(row0, row1):
        for j in range(soft_rays.shape[1]):
            rays, t = np.int64(soft_rays[i, j]), np.float64(surface[i, j, DEPTH])
            if rays == 0 or not t < np.inf:
                continue
            stand(surface, eye, i, j, h)
            for c in range(3):
                h[NORMAL + c] = normal[i, j, c]
            h[TWO_SIDED] = normal[i, j, 3]
            lit = numbers(sums, (i * soft_rays.shape[1] + j) * sums.shape[2])
            add_soft(
                *(w, s, L, room, h, other, scratch, light, t, pixel_code(i, j)),
                *(rays, bits_of(rays), 8, lit),
            )


@loop()
def glance_pass(
    w, s, L, room, own, eye, offsets, last, count, todo, surface, key, bright, row0, row1
):  # fmt: skip
    """See what places count..last-1 of every pixel that is to do would show beside its samples.

    Looking is cheap, and only what is not the pixel's first surface is lit, once for each beam, to
    widen the range of `bright`: so what is thinner than a pixel is found by as many places as may
    be sampled there, and whether they are does not hang on which of them a few samples met.
    count (H, W) f32: samples taken so far.  surface, key, bright: as of `pixel_pass`.
    """
    h, other, scratch = numbers(own, HIT), numbers(own, OTHER), numbers(own, SCRATCH)
    light, out, level = numbers(own, LIGHT), numbers(own, OUT), numbers(own, LEVEL)
    bits = bits_of(last)
    for i in range(row0, row1):
        for j in range(todo.shape[1]):
            if not todo[i, j]:
                continue
            range_ = numbers(bright, BRIGHT * (i * todo.shape[1] + j))
            for first in range(np.int64(count[i, j]), last, BEAM):
                beam = min(BEAM, last - first)
                _look_through(w, room, eye, offsets, i, j, first, beam, 1)
                for lane in range(beam):
                    right, down = offsets[first + lane, 0], offsets[first + lane, 1]
                    t, p, k, _u, _v = in_beam(room, lane)
                    if _is_first(s, surface, key, eye, i, j, right, down, np.float64(t), p, k):
                        continue
                    dx, dy, dz = through(eye, j + right, i + down)
                    far = _landed(w, s, room, lane, eye, dx, dy, dz, h, scratch)
                    if far == 0.0:
                        sent, matt = add_sky(L, dx, dy, dz, scratch, light), 0.0
                    else:
                        sent, matt = glance(
                            *(w, s, L, room, h, other, scratch, light, out, level, dx, dy, dz),
                            *(far, pixel_code(i, j), first + lane, bits, 0),
                        )
                    seen_as = brightness(sent + matt * range_[GUESS])
                    range_[LEAST] = min(range_[LEAST], seen_as)
                    range_[MOST] = max(range_[MOST], seen_as)
                    break


@loop()
def pixel_pass(
    w, s, L, room, own, eye, offsets, first, last, of, soft_rays, hidden, todo,
    sums, surface, normal, key, bright, lent, finer, quarters, row0, row1,
):  # fmt: skip
    """Trace samples first..last-1 of every pixel that is to do, and add them up.

    offsets (n, 2): positions in the pixel, the first where its depth is taken.
    of: how many samples an even pixel takes, maybe in some passes; the first of all goes alone,
    since what samples borrow is known after it.
    soft_rays (H, W) u8: soft rays that go out with a pixel's first sample.
    hidden: of the next surface behind the first.
    normal (H, W, 4) f32: the first sample's shading normal, and whether its surface has two sides;
    or (0, 0, 0).
    sums (H, W, SUMS or SUMS_WITH_LAMPS), surface (H, W, SURFACE), bright (H, W, BRIGHT), lent
    (H, W, SLOTS x LENT) f32: columns of render.trace.columns; key (H, W) i64: which surface the
    pixel's first sample shows. The last three stay as they are for what is hidden; nothing is
    borrowed where lent is (0, 0, 0).
    finer (H, W) i32: row of ``quarters`` (n, 4, QUARTER) f32 or -1, where the samples after the
    first are also added up by the quarter of the pixel that they go through; or empty.
    """
    h, other, scratch = numbers(own, HIT), numbers(own, OTHER), numbers(own, SCRATCH)
    light, out, level = numbers(own, LIGHT), numbers(own, OUT), numbers(own, LEVEL)
    was = numbers(own, WAS)
    bits, salt, each = bits_of(of), 0, lent.shape[2] // SLOTS
    most = _OWN_RAYS if each > 0 else 1
    if first >= of:
        bits, salt = bits_of(len(offsets)), 16
    if hidden:
        salt = 32
    quartered = first > 0 and finer.shape[0] > 0
    width = todo.shape[1]
    for i in range(row0, row1):
        beside = -1  # the pixel whose samples went with those of the one before it
        for j in range(width):
            lane = j % BEAM
            if first == 0 and not hidden and lane == 0:
                right, down = offsets[0, 0], offsets[0, 1]
                _look_along(w, room, eye, i, j, min(BEAM, width - j), right, down)
            if not todo[i, j]:
                continue
            code, at = pixel_code(i, j), i * width + j
            lit, seen = numbers(sums, at * sums.shape[2]), numbers(surface, at * surface.shape[2])
            range_, held = numbers(bright, BRIGHT * at), numbers(lent, at * lent.shape[2])
            for n in range(first, last):
                if quartered:
                    for c in range(QUARTER_LIGHT):
                        was[c] = lit[DIRECT + c]
                dx, dy, dz = through(eye, j + offsets[n, 0], i + offsets[n, 1])
                if hidden:
                    t = _behind(w, s, room, eye, dx, dy, dz, h, scratch)
                else:
                    if first > 0 and (n - first) % BEAM == 0:
                        count, lane = min(BEAM, last - n), 0
                        if beside == j:
                            lane = count
                        elif 2 * count <= BEAM and n == first and j + 1 < width and todo[i, j + 1]:
                            beside = j + 1
                            _look_through(w, room, eye, offsets, i, j, n, count, 2)
                        else:
                            _look_through(w, room, eye, offsets, i, j, n, count, 1)
                    t = _landed(w, s, room, lane, eye, dx, dy, dz, h, scratch)
                    lane += 1
                if n == 0 and t > 0:
                    rays = np.int64(soft_rays[i, j])
                    add_soft(
                        *(w, s, L, room, h, other, scratch, light, t, code),
                        *(rays, bits_of(rays), salt + 8, lit),
                    )
                mark, matt, slot, by = np.int64(0), 0.0, np.int64(-1), np.int64(0)
                worth = 1.0
                if t == 0.0:
                    sent = add_sky(L, dx, dy, dz, scratch, lit)
                    if n == 0:
                        seen[DEPTH] = np.inf
                else:
                    mark = _mark(h)
                    mirrors = False
                    if hidden:
                        apart = n > 0 and abs(t - seen[DEPTH]) > 0.05 * t
                    else:
                        apart = n > 0 and mark != key[i, j]
                    if apart and each > 0:
                        by, worth = lender(
                            *(sums, surface, key, eye, i, j, offsets[n, 0], offsets[n, 1]),
                            *(h, t, mark, held, each),
                        )
                        if by > 0:
                            slot = slot_for(held, each, by)
                            if quartered and slot >= 0:  # as if its own soft light were there
                                for c in range(3):
                                    was[TIMES + c] += held[slot + LENT_TIMES + c]
                            there = surface[i + row_of(by), j + column_of(by), MIRRORS] > 0
                            mirrors = there and worth == 1.0
                    sent, matt = add_landed(
                        *(w, s, L, room, h, other, scratch, light, out, level, dx, dy, dz, t),
                        *(code, n, bits, salt, apart, held, slot, worth, mirrors, most, lit),
                    )
                    if n == 0:
                        face(seen, eye, h, t, out[DULL_SHARE])
                        if normal.shape[0] > 0:
                            for c in range(3):
                                normal[i, j, c] = h[NORMAL + c]
                            normal[i, j, 3] = h[TWO_SIDED]
                if hidden:
                    continue
                if quartered and finer[i, j] >= 0:
                    if slot >= 0:  # the lender's own rays tell the quarters apart
                        y, x = i + row_of(by), j + column_of(by)
                        rays = max(sums[y, x, SOFT_RAYS], 1.0)
                        for c in range(3):
                            times = held[slot + LENT_TIMES + c] - was[TIMES + c] + lit[TIMES + c]
                            soft = sums[y, x, SOFT + c] / rays
                            was[TIMES + c] = lit[TIMES + c]
                            was[DIRECT + c] -= times * soft
                    at_quarter = 4 * finer[i, j] + _quarter(offsets, n)
                    part = numbers(quarters, QUARTER * at_quarter)
                    depth = seen[DEPTH] if mark == key[i, j] else t if t > 0 else np.inf
                    _add_quarter(part, lit, was, depth)
                if n == 0:
                    key[i, j] = mark
                    range_[LEAST], range_[MOST] = sent, matt
                else:
                    seen_as = brightness(sent + matt * range_[GUESS])
                    range_[LEAST] = min(range_[LEAST], seen_as)
                    range_[MOST] = max(range_[MOST], seen_as)
