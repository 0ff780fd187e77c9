"""Light shared between pixels, eight side by side (`render.trace.smoothing` has the rules).

Everything lies in planes, (numbers, rows, columns) f32, with `EDGE` rows and columns of nothing
round the picture, so that no pixel asks whether its neighbours are there.
"""

from collections import namedtuple

import numpy as np
from llvmlite import ir
from numba import types
from numba.extending import intrinsic

from render.compiled import loop
from render.trace.columns import DEPTH
from render.trace.walk import FLAGS, Lanes

__all__ = ["EDGE", "LANES", "Planes", "estimate", "gather", "lay_out", "spread_out"]

#: Rows and columns round a picture: as far as the fifth level reaches.
EDGE = 16
#: Pixels side by side.
LANES = 8
#: Planes of a picture's places: face normal, depth; of what is gathered: sums of red, green and
#: blue, of the weight, of the luminance squared, of the nearness; rays; of light: its colours,
#: variance; of what is known beside it: weight, rays, square of the distance up to which light is
#: shared, m.
_Z, _WEIGHT, _SQUARES, _NEARNESS, _COUNT, _VARIANCE = 3, 3, 4, 5, 6, 3
_OWN_WEIGHT, _OWN_RAYS, _OWN_REACH = 0, 1, 2
_BY_LUMINANCE = (0.25, 0.6, 0.15)
#: Even noise of a few rays in so many times what the least noisy of four sides shows.
_LEAST_OF_FOUR = 4 / 3

#: What the loops are told of a picture: bytes from row to row and from plane to plane, slope of a
#: pixel, its principal point (px).
Planes = namedtuple("Planes", "row plane slope centre_x centre_y")

_F, _I = types.float32, types.int64


class _Eight(Lanes):
    """Eight pixels of a row, at an offset (bytes) in every plane."""

    def __init__(self, builder, plane, at):
        super().__init__(builder, LANES)
        self.plane, self.at = plane, at

    def moved(self, down, across):
        """The eight that lie so many bytes farther."""
        return _Eight(
            self.builder, self.plane, self.builder.add(self.at, self.builder.add(down, across))
        )

    def of(self, table, number):
        """Their numbers of one plane."""
        return self.read(self._place(table, number), align=4)

    def put(self, value, table, number):
        self.write(value, self._place(table, number), align=4)

    def _place(self, table, number):
        behind = self.builder.mul(self.plane, ir.IntType(64)(number))
        return self.builder.add(self.builder.add(table, self.at), behind)

    def same(self, number):
        """A constant in every lane."""
        return ir.Constant(self.kind, [number] * self.count)

    def luminance(self, table):
        shares = [self.mul(self.same(k), self.of(table, n)) for n, k in enumerate(_BY_LUMINANCE)]
        return self.add(self.add(*shares[:2]), shares[2])

    def over(self, a, b):
        return self.builder.fdiv(a, b, flags=FLAGS)

    def square(self, a):
        return self.mul(a, a)

    def where(self, sign, a, b, one, other):
        """One where a comparison holds, else the other."""
        return self.builder.select(self.builder.fcmp_ordered(sign, a, b), one, other)


class _Looked:
    """Eight pixels' places and faces, and how alike those are that lie beside them."""

    def __init__(self, own, place, u, v, slope):
        self.own, self.place = own, place
        self.slope = own.all(slope)
        first = ir.Constant(own.kind, [float(n) for n in range(LANES)])
        self.u, self.v = own.add(own.all(u), first), own.all(v)
        self.face = [own.of(place, n) for n in range(3)]
        self.z = own.of(place, _Z)
        self.x, self.y = own.mul(self.u, self.z), own.mul(self.v, self.z)

    def steep(self, cells):
        """What makes how far a place lies out of a plane, squared, a share of what is allowed."""
        v = self.own
        reach = v.mul(v.mul(v.same(0.7), cells), v.mul(self.z, self.slope))
        return v.over(v.same(1.0), v.square(reach))

    def beside(self, other, right, down, steep):
        """Square of the distance to others so many columns and rows away, m, and how alike."""
        v = self.own
        z = other.of(self.place, _Z)
        way = [
            v.mul(v.sub(v.mul(v.add(self.u, right), z), self.x), self.slope),
            v.mul(v.sub(v.mul(v.add(self.v, down), z), self.y), self.slope),
            v.sub(z, self.z),
        ]
        same = v.dot(self.face, [other.of(self.place, n) for n in range(3)])
        off = v.dot(self.face, way)
        fit = v.sub(v.same(1.0), v.mul(v.square(off), steep))
        fit = v.most(fit, v.same(0.0))
        alike = v.mul(v.square(v.square(v.square(same))), fit)
        alike = v.where(">", same, v.same(0.5), alike, v.same(0.0))
        return v.dot(way, way), alike


def _around(builder, row, apart):
    """Eight neighbours so many pixels away: steps down and across, and as offsets in bytes."""
    down = builder.mul(row, apart)
    across = builder.mul(apart, ir.IntType(64)(4))
    for a in (-1, 0, 1):
        for b in (-1, 0, 1):
            if a or b:
                yield (
                    *(a, b),
                    builder.mul(down, ir.IntType(64)(a)),
                    builder.mul(across, ir.IntType(64)(b)),
                )


@intrinsic
def _estimate_eight(
    _typing, raw, place, light, known, row, plane, at, u, v, slope, apart, cells, around, reach
):
    """Means of eight pixels, the variance of those, and how far light is shared.

    around: 1 if neighbours `apart` pixels (`cells`, f32) away tell of the variance, else 0.
    """

    def code(context, builder, _signature, args):
        raw, place, light, known, row, plane, at = args[:7]
        u, v, slope, apart, cells, around, reach = args[7:]
        own = _Eight(builder, plane, at)
        looked = _Looked(own, place, u, v, slope)
        weight = own.of(raw, _WEIGHT)
        total, first, second = weight, own.luminance(raw), own.of(raw, _SQUARES)
        rays, near = own.of(raw, _COUNT), own.of(raw, _NEARNESS)
        count, cells, around = rays, own.all(cells), own.all(around)
        steep = looked.steep(cells)
        for a, b, down, across in _around(builder, row, apart):
            other = own.moved(down, across)
            right, below = own.mul(own.same(float(b)), cells), own.mul(own.same(float(a)), cells)
            wide = own.mul(steep, own.same(0.25 if a and b else 1.0))
            k = own.mul(around, looked.beside(other, right, below, wide)[1])
            total = own.add(total, own.mul(k, other.of(raw, _WEIGHT)))
            first = own.add(first, own.mul(k, other.luminance(raw)))
            second = own.add(second, own.mul(k, other.of(raw, _SQUARES)))
            rays = own.add(rays, own.mul(k, other.of(raw, _COUNT)))
            near = own.add(near, own.mul(k, other.of(raw, _NEARNESS)))
        nothing = own.same(0.0)
        for n in range(3):
            own.put(
                own.where(">", weight, nothing, own.over(own.of(raw, n), weight), nothing), light, n
            )
        spread = own.sub(own.over(second, total), own.square(own.over(first, total)))
        spread = own.over(own.most(spread, nothing), count)
        own.put(own.where(">", weight, nothing, spread, nothing), light, _VARIANCE)
        far = own.over(own.mul(own.all(reach), rays), own.add(near, own.same(1e-9)))
        own.put(weight, known, _OWN_WEIGHT)
        own.put(count, known, _OWN_RAYS)
        own.put(own.where(">", weight, nothing, own.square(far), nothing), known, _OWN_REACH)
        return context.get_dummy_value()

    kinds = (_I, _I, _I, _I, _I, _I, _I, _F, _F, _F, _I, _F, _F, _F)
    return types.void(*kinds), code


@intrinsic
def _spread_eight(
    _typing, light, place, known, out, row, plane, at, u, v, slope, apart, cells, beside, telling,
    sided,
):  # fmt: skip
    """One level for eight pixels.

    beside: 1 / the square of a distance in the picture, px, within which whatever lies in one
    plane is shared, inf where none is; telling: rays from which on a pixel tells of a step in the
    light; sided: 1 where the least noisy of a pixel's four sides tells what is noise there (an edge
    of light that crosses pixels looks like noise in them, but not on both sides of it), else 0.
    """

    def code(context, builder, _signature, args):
        light, place, known, out, row, plane, at = args[:7]
        u, v, slope, apart, cells, beside, telling, sided = args[7:]
        own = _Eight(builder, plane, at)
        nothing, one = own.same(0.0), own.same(1.0)
        weight = own.of(known, _OWN_WEIGHT)
        here = own.where(">", weight, nothing, one, nothing)
        noise = own.mul(own.same(4.0), own.of(light, _VARIANCE))
        parts = own.mul(own.same(4.0), here)
        sides = dict.fromkeys(((-1, 0), (1, 0), (0, -1), (0, 1)), (nothing, nothing))
        for a, b, down, across in _around(builder, row, ir.IntType(64)(1)):
            other, k = own.moved(down, across), own.same(float((2 - abs(a)) * (2 - abs(b))))
            there = own.where(">", other.of(known, _OWN_WEIGHT), nothing, k, nothing)
            theirs = own.mul(k, other.of(light, _VARIANCE))
            noise, parts = own.add(noise, theirs), own.add(parts, there)
            for way in {(a, 0), (0, b)} & sides.keys():
                sides[way] = own.add(sides[way][0], theirs), own.add(sides[way][1], there)
        noise = least = own.over(noise, parts)
        for theirs, there in sides.values():
            least = own.least(least, own.where(">", there, nothing, own.over(theirs, there), noise))
        even = own.mul(own.same(_LEAST_OF_FOUR), least)
        noise = own.where(">", own.all(sided), nothing, even, noise)
        noise = own.add(own.mul(own.same(36.0), noise), own.same(1e-8))
        enough = own.of(known, _OWN_RAYS), own.all(telling)
        scale = own.where(">=", *enough, own.over(one, noise), nothing)
        looked = _Looked(own, place, u, v, slope)
        cells = own.all(cells)
        steep = looked.steep(cells)
        mine, reach = own.luminance(light), own.of(known, _OWN_REACH)
        beside = own.all(beside)
        total = own.mul(own.same(4.0), weight)
        sums = [own.mul(total, own.of(light, n)) for n in range(3)]
        spread = own.mul(own.square(total), own.of(light, _VARIANCE))
        for a, b, down, across in _around(builder, row, apart):
            other = own.moved(down, across)
            right, below = own.mul(own.same(float(b)), cells), own.mul(own.same(float(a)), cells)
            wide = own.mul(steep, own.same(0.25 if a and b else 1.0))
            apart_m2, alike = looked.beside(other, right, below, wide)
            differ = own.square(own.sub(other.luminance(light), mine))
            fit = own.most(own.sub(one, own.mul(differ, scale)), nothing)
            most = own.most(own.least(reach, other.of(known, _OWN_REACH)), own.same(1e-30))
            close = own.most(own.over(own.sub(most, apart_m2), most), nothing)
            far = own.same(float(a * a + b * b))
            close = own.most(close, own.sub(one, own.mul(far, beside)))
            k = own.mul(own.same(float((2 - abs(a)) * (2 - abs(b)))), own.square(fit))
            k = own.mul(own.mul(k, other.of(known, _OWN_WEIGHT)), own.mul(alike, close))
            total = own.add(total, k)
            sums = [own.add(s, own.mul(k, other.of(light, n))) for n, s in enumerate(sums)]
            spread = own.add(spread, own.mul(own.square(k), other.of(light, _VARIANCE)))
        for n, s in enumerate(sums):
            own.put(own.where(">", weight, nothing, own.over(s, total), nothing), out, n)
        spread = own.over(spread, own.square(total))
        own.put(own.where(">", weight, nothing, spread, nothing), out, _VARIANCE)
        return context.get_dummy_value()

    kinds = (_I, _I, _I, _I, _I, _I, _I, _F, _F, _F, _I, _F, _F, _F, _F)
    return types.void(*kinds), code


@intrinsic
def _seen(_typing, table, plane, at, number):
    """Whether any of eight pixels has more than 0 in a plane."""

    def code(_context, builder, _signature, args):
        table, plane, at, number = args
        own = _Eight(builder, plane, builder.add(at, builder.mul(plane, number)))
        above = builder.fcmp_ordered(">", own.of(table, 0), own.same(0.0))
        return own.mask(above)

    return _I(_I, _I, _I, _I), code


@intrinsic
def _leave(_typing, light, known, plane, at):
    """Say of eight pixels that they have seen nothing."""

    def code(context, builder, _signature, args):
        light, known, plane, at = args
        own = _Eight(builder, plane, at)
        for n in range(4):
            own.put(own.same(0.0), light, n)
        own.put(own.same(0.0), known, _OWN_WEIGHT)
        return context.get_dummy_value()

    return types.void(_I, _I, _I, _I), code


@loop()
def lay_out(surface, place, row0, row1):
    """Lay faces and depths of a picture, (H, W, SURFACE), out in planes."""
    for i in range(row0, row1):
        for j in range(surface.shape[1]):
            z = surface[i, j, DEPTH]
            there = z < np.inf  # false for NaN: nothing is known of it
            for n in range(3):
                place[n, i + EDGE, j + EDGE] = surface[i, j, n] if there else np.float32(0)
            place[_Z, i + EDGE, j + EDGE] = z if there else np.float32(1)


@loop()
def gather(sums, counts, nearness, raw, row0, row1):
    """Lay sums (H, W, 5), rays (H, W) and nearness (H, W), or (0, 0), out in planes."""
    for i in range(row0, row1):
        for j in range(sums.shape[1]):
            for n in range(5):
                raw[n, i + EDGE, j + EDGE] = sums[i, j, n]
            if nearness.shape[0] > 0:
                raw[_NEARNESS, i + EDGE, j + EDGE] = nearness[i, j]
            raw[_COUNT, i + EDGE, j + EDGE] = counts[i, j]


@loop()
def estimate(it, raw, place, light, known, width, apart, around, reach, row0, row1):
    """Each pixel's own mean, the variance of that, and how far its light is shared, in planes.

    Addresses; neighbours `apart` pixels away tell of the variance where `around` is 1.
    """
    cells = np.float32(apart)
    for i in range(row0, row1):
        v = np.float32(i + 0.5 - it.centre_y)
        for j in range(0, width, LANES):
            at = (i + EDGE) * it.row + 4 * (j + EDGE)
            if _seen(raw, it.plane, at, _WEIGHT) == 0:
                _leave(light, known, it.plane, at)
                continue
            u = np.float32(j + 0.5 - it.centre_x)
            _estimate_eight(
                *(raw, place, light, known, it.row, it.plane, at),
                *(u, v, np.float32(it.slope), apart, cells, np.float32(around), np.float32(reach)),
            )


@loop()
def spread_out(it, light, place, known, out, width, apart, beside, telling, sided, row0, row1):
    """One level: each pixel with its eight neighbours `apart` pixels away, as far as alike."""
    cells = np.float32(apart)
    for i in range(row0, row1):
        v = np.float32(i + 0.5 - it.centre_y)
        for j in range(0, width, LANES):
            at = (i + EDGE) * it.row + 4 * (j + EDGE)
            if _seen(known, it.plane, at, _OWN_WEIGHT) == 0:
                continue
            u = np.float32(j + 0.5 - it.centre_x)
            _spread_eight(
                *(light, place, known, out, it.row, it.plane, at),
                *(u, v, np.float32(it.slope), apart, cells, np.float32(beside)),
                *(np.float32(telling), np.float32(sided)),
            )
