"""The way of a ray: which triangle it meets first, and whether it meets any.

Eight boxes and four triangles (Moeller and Trumbore 1997) are tested at once, as vectors that
LLVM turns into whatever the machine has.  `w` is a `World` of addresses (`tables.addressed`).
"""

import numpy as np
from llvmlite import ir
from numba import njit, types
from numba.extending import intrinsic

from render.world.surfaces.tables import f32, i32

__all__ = ["ROOM", "any_hit", "closest_hit"]

#: Bytes of scratch space a task needs, from a cache line on: 8 entries, 3 x 4 numbers of
#: triangles, then a stack of whole numbers: 7 a level for two trees of at most 72 levels.
ROOM = 128 + 8 * 1024

_F = types.float32
_I = types.int64
#: What may be assumed of arithmetic here: no NaN, signs of zero do not matter.
_LOOSE = {"nnan", "nsz", "contract", "arcp"}
_FLAGS = tuple(sorted(_LOOSE))

#: Boxes are this much longer, so that rounding loses no ray (Ize 2013, from memory).
_WIDER = float(np.float32(1.0000005))


class _Lanes:
    """Arithmetic on vectors of floats, as LLVM writes it."""

    def __init__(self, builder, count):
        self.builder, self.count = builder, count
        self.kind = ir.VectorType(ir.FloatType(), count)

    def all(self, value):
        """The same float in every lane."""
        zero, empty = ir.IntType(32)(0), ir.Constant(self.kind, ir.Undefined)
        one = self.builder.insert_element(empty, value, zero)
        order = ir.Constant(ir.VectorType(ir.IntType(32), self.count), [0] * self.count)
        return self.builder.shuffle_vector(one, empty, order)

    def read(self, address, offset=0):
        place = self.builder.add(address, ir.IntType(64)(offset))
        value = self.builder.load(self.builder.inttoptr(place, self.kind.as_pointer()))
        value.align = 16
        return value

    def write(self, value, address, offset=0):
        place = self.builder.add(address, ir.IntType(64)(offset))
        self.builder.store(value, self.builder.inttoptr(place, self.kind.as_pointer())).align = 16

    def sub(self, a, b):
        return self.builder.fsub(a, b, flags=_FLAGS)

    def mul(self, a, b):
        return self.builder.fmul(a, b, flags=_FLAGS)

    def add(self, a, b):
        return self.builder.fadd(a, b, flags=_FLAGS)

    def least(self, a, b):
        return self.builder.select(self.builder.fcmp_ordered("<", a, b), a, b)

    def most(self, a, b):
        return self.builder.select(self.builder.fcmp_ordered(">", a, b), a, b)

    def cross(self, a, b):
        (ax, ay, az), (bx, by, bz) = a, b
        return (
            self.sub(self.mul(ay, bz), self.mul(az, by)),
            self.sub(self.mul(az, bx), self.mul(ax, bz)),
            self.sub(self.mul(ax, by), self.mul(ay, bx)),
        )

    def dot(self, a, b):
        x, y, z = (self.mul(p, q) for p, q in zip(a, b, strict=True))
        return self.add(self.add(x, y), z)

    def mask(self, truth):
        """Bit n set where lane n is true, i64."""
        bits = self.builder.bitcast(truth, ir.IntType(self.count))
        return self.builder.zext(bits, ir.IntType(64))


@intrinsic
def _boxes(_typing, node, sx, sy, sz, ox, oy, oz, ix, iy, iz, near, far, out):
    """Which of a node's eight boxes the ray enters before `far`, as bits; entries go to `out`.

    sx, sy, sz: 32 where the direction is negative there, else 0 (bytes to the nearer sides).
    """

    def code(_context, builder, _signature, args):
        node, signs, origin, inverse = args[0], args[1:4], args[4:7], args[7:10]
        v = _Lanes(builder, 8)
        enters, leaves = v.all(args[10]), v.all(args[11])
        for axis in range(3):
            o, i, sign = v.all(origin[axis]), v.all(inverse[axis]), signs[axis]
            first = builder.add(node, sign)
            second = builder.sub(node, sign)
            low = v.mul(v.sub(v.read(first, 64 * axis), o), i)
            high = v.mul(v.sub(v.read(second, 64 * axis + 32), o), i)
            enters, leaves = v.most(low, enters), v.least(high, leaves)
        leaves = v.mul(leaves, v.all(ir.FloatType()(_WIDER)))
        v.write(enters, args[12])
        return v.mask(builder.fcmp_ordered("<=", enters, leaves))

    return _I(_I, _I, _I, _I, _F, _F, _F, _F, _F, _F, _F, _F, _I), code


@intrinsic
def _triangles(_typing, block, ox, oy, oz, dx, dy, dz, near, far, out):
    """Which of a block's four triangles the ray meets between near and far, as bits.

    Distances, u and v of all four go to `out`.
    """

    def code(_context, builder, _signature, args):
        v = _Lanes(builder, 4)
        origin, way = [v.all(a) for a in args[1:4]], [v.all(a) for a in args[4:7]]
        rows = [v.read(args[0], 16 * n) for n in range(9)]
        one, zero = v.all(ir.FloatType()(1.0)), v.all(ir.FloatType()(0.0))
        first, second = rows[3:6], rows[6:9]
        across = v.cross(way, second)
        flat = v.dot(first, across)
        scale = builder.fdiv(one, flat)
        away = [v.sub(a, b) for a, b in zip(origin, rows[:3], strict=True)]
        turned = v.cross(away, first)
        u = builder.fmul(v.dot(away, across), scale)
        w = builder.fmul(v.dot(way, turned), scale)
        t = builder.fmul(v.dot(second, turned), scale)
        truth = builder.fcmp_ordered(">=", u, zero)  # false for NaN: a ray in the triangle's plane
        for sign, a, b in (
            (">=", w, zero),
            ("<=", builder.fadd(u, w), one),
            (">", t, v.all(args[7])),
            ("<", t, v.all(args[8])),
        ):
            truth = builder.and_(truth, builder.fcmp_ordered(sign, a, b))
        for n, value in enumerate((t, u, w)):
            v.write(value, args[9], 16 * n)
        return v.mask(truth)

    return _I(_I, _F, _F, _F, _F, _F, _F, _F, _F, _I), code


@intrinsic
def _lowest(_typing, bits):
    """Number of the lowest bit that is set."""

    def code(_context, builder, _signature, args):
        return builder.cttz(args[0], ir.IntType(1)(1))

    return _I(_I), code


@intrinsic
def _put(_typing, address, index, value):
    """Store an i64."""

    def code(context, builder, _signature, args):
        base = builder.inttoptr(args[0], ir.IntType(64).as_pointer())
        builder.store(args[2], builder.gep(base, [args[1]]))
        return context.get_dummy_value()

    return types.void(_I, _I, _I), code


@intrinsic
def _get(_typing, address, index):
    """Load an i64."""

    def code(_context, builder, _signature, args):
        base = builder.inttoptr(args[0], ir.IntType(64).as_pointer())
        return builder.load(builder.gep(base, [args[1]]))

    return _I(_I, _I), code


@njit(cache=True, error_model="numpy")
def _safe_inverse(d):
    if abs(d) < np.float32(1e-12):
        return np.float32(1e12) if d >= 0 else np.float32(-1e12)
    return np.float32(1.0) / d


@njit(cache=True, error_model="numpy")
def _push(stack, top, mask, node, entries):
    """Put the children of `mask` on the stack, the nearest on top; returns the new top.

    An entry is the distance (bits of a float that is never negative sort like the float) above
    the child's reference, so that one comparison of whole numbers sorts both.
    """
    base = top
    while mask != 0:
        lane = _lowest(mask)
        mask &= mask - 1
        key = np.int64(i32(entries, lane)) << 32
        key |= np.int64(np.uint32(i32(node, 48 + lane)))
        at = top
        while at > base and _get(stack, at - 1) < key:
            _put(stack, at, _get(stack, at - 1))
            at -= 1
        _put(stack, at, key)
        top += 1
    return top


@njit(cache=True, error_model="numpy")
def _reach(far):
    """What every entry nearer than `far` lies below."""
    return np.int64(np.float32(far).view(np.int32)) << 32


@njit(cache=True, error_model="numpy")
def _sign(d):
    return np.int64(32) if d < 0 else np.int64(0)


@njit(cache=True, error_model="numpy", inline="always")
def _shape(w, root, stack, base, room, ox, oy, oz, dx, dy, dz, near, far, any_one):
    """First (or any) triangle of one shape between near and far: distance, number, u, v."""
    ix, iy, iz = _safe_inverse(dx), _safe_inverse(dy), _safe_inverse(dz)
    sx, sy, sz = _sign(ix), _sign(iy), _sign(iz)
    hit = np.int64(-1)
    bu, bv = np.float32(0), np.float32(0)
    top = base
    reference = np.int64(root)
    while True:
        if reference >= 0:
            node = w.node + 256 * reference
            mask = _boxes(node, sx, sy, sz, ox, oy, oz, ix, iy, iz, near, far, room)
            if mask != 0 and mask & (mask - 1) == 0:
                reference = np.int64(i32(node, 48 + _lowest(mask)))
                continue
            top = _push(stack, top, mask, node, room)
        else:
            block = w.block - 160 * (reference + 1)
            mask = _triangles(block, ox, oy, oz, dx, dy, dz, near, far, room + 32)
            while mask != 0:
                lane = _lowest(mask)
                mask &= mask - 1
                t = f32(room, 8 + lane)
                if t < far:
                    far, hit = t, np.int64(i32(block, 36)) + lane
                    bu, bv = f32(room, 12 + lane), f32(room, 16 + lane)
            if any_one and hit >= 0:
                break
        reach = _reach(far)
        found = False
        while top > base:
            top -= 1
            key = _get(stack, top)
            if key < reach:
                reference = np.int64(np.int32(key & 0xFFFFFFFF))
                found = True
                break
        if not found:
            break
    return far, hit, bu, bv


@njit(cache=True, error_model="numpy", inline="always")
def _walk(w, room, ox, oy, oz, dx, dy, dz, near, far, any_one):
    """Down the tree over placements, and into the tree of each shape on the way."""
    ox, oy, oz = np.float32(ox), np.float32(oy), np.float32(oz)
    dx, dy, dz = np.float32(dx), np.float32(dy), np.float32(dz)
    near, far = np.float32(near), np.float32(far)
    ix, iy, iz = _safe_inverse(dx), _safe_inverse(dy), _safe_inverse(dz)
    sx, sy, sz = _sign(ix), _sign(iy), _sign(iz)
    hit, where = np.int64(-1), np.int64(-1)
    bu, bv = np.float32(0), np.float32(0)
    stack = room + 128
    top = np.int64(0)
    reference = np.int64(0)
    while True:
        if reference >= 0:
            node = w.top + 256 * reference
            mask = _boxes(node, sx, sy, sz, ox, oy, oz, ix, iy, iz, near, far, room)
            top = _push(stack, top, mask, node, room)
        else:
            p = -(reference + 1)
            m = w.inverse + 48 * p
            t, k, u, v = _shape(
                w,
                i32(w.root, p),
                stack,
                top,
                room,
                f32(m, 0) * ox + f32(m, 1) * oy + f32(m, 2) * oz + f32(m, 3),
                f32(m, 4) * ox + f32(m, 5) * oy + f32(m, 6) * oz + f32(m, 7),
                f32(m, 8) * ox + f32(m, 9) * oy + f32(m, 10) * oz + f32(m, 11),
                f32(m, 0) * dx + f32(m, 1) * dy + f32(m, 2) * dz,
                f32(m, 4) * dx + f32(m, 5) * dy + f32(m, 6) * dz,
                f32(m, 8) * dx + f32(m, 9) * dy + f32(m, 10) * dz,
                near,
                far,
                any_one,
            )
            if k >= 0:
                far, hit, where, bu, bv = t, k, p, u, v
                if any_one:
                    break
        reach = _reach(far)
        found = False
        while top > 0:
            top -= 1
            key = _get(stack, top)
            if key < reach:
                reference = np.int64(np.int32(key & 0xFFFFFFFF))
                found = True
                break
        if not found:
            break
    return far, where, hit, bu, bv


@njit(cache=True, error_model="numpy")
def closest_hit(w, room, ox, oy, oz, dx, dy, dz, near, far):
    """First hit between near and far: distance, placement (-1: none), triangle, u, v."""
    return _walk(w, room, ox, oy, oz, dx, dy, dz, near, far, False)


@njit(cache=True, error_model="numpy")
def any_hit(w, room, ox, oy, oz, dx, dy, dz, near, far):
    """Whether anything lies between near and far along the ray."""
    return _walk(w, room, ox, oy, oz, dx, dy, dz, near, far, True)[1] >= 0
