"""The way of a ray: which triangle it meets first, and whether it meets any.

Eight boxes and four triangles (Moeller and Trumbore 1997) are tested at once, as vectors that
LLVM turns into whatever the machine has.  `w` is a `Walk` (`walkable`).
"""

from collections import namedtuple

import numpy as np
from llvmlite import ir
from numba import types
from numba.extending import intrinsic

from render.compiled import entry, loop, step
from render.trace.tree.bvh import World
from render.world.surfaces.tables import addressed, caller, f32, i32, put_f32, put_i64

__all__ = [
    *("BEHIND", "ROOM", "WIDER", "Lanes", "Walk", "any_hit", "closest_hit", "load_walks"),
    *("lowest", "next_entry", "pushed", "turned", "walkable"),
]

#: A `World` of addresses, and where the walks to the closest hit and to any hit begin, and that of
#: a beam (0: nobody will ask for it).
Walk = namedtuple("Walk", "top inverse root node block tri closest any beam")

#: Bytes of scratch space a task needs, from a cache line on: 8 entries, 3 x 4 numbers of
#: triangles, the outcome, then from byte 128 on a stack of whole numbers: 7 a level for two
#: trees of at most 72 levels; then what a beam of rays knows (`kernels.beam`).
BEHIND = 128 + 8 * 1024
ROOM = BEHIND + 512

_F = types.float32
_I = types.int64
#: What may be assumed of arithmetic here: no NaN, signs of zero do not matter.
_LOOSE = {"nnan", "nsz", "contract", "arcp"}
FLAGS = tuple(sorted(_LOOSE))

#: Boxes are this much longer, so that rounding loses no ray (Ize 2013, from memory).
WIDER = float(np.float32(1.0000005))


class Lanes:
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

    def read(self, address, offset=0, align=16):
        place = self.builder.add(address, ir.IntType(64)(offset))
        value = self.builder.load(self.builder.inttoptr(place, self.kind.as_pointer()))
        value.align = align
        return value

    def write(self, value, address, offset=0, align=16):
        place = self.builder.add(address, ir.IntType(64)(offset))
        where = self.builder.inttoptr(place, self.kind.as_pointer())
        self.builder.store(value, where).align = align

    def sub(self, a, b):
        return self.builder.fsub(a, b, flags=FLAGS)

    def mul(self, a, b):
        return self.builder.fmul(a, b, flags=FLAGS)

    def add(self, a, b):
        return self.builder.fadd(a, b, flags=FLAGS)

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
        v = Lanes(builder, 8)
        enters, leaves = v.all(args[10]), v.all(args[11])
        for axis in range(3):
            o, i, sign = v.all(origin[axis]), v.all(inverse[axis]), signs[axis]
            first = builder.add(node, sign)
            second = builder.sub(node, sign)
            low = v.mul(v.sub(v.read(first, 64 * axis), o), i)
            high = v.mul(v.sub(v.read(second, 64 * axis + 32), o), i)
            enters, leaves = v.most(low, enters), v.least(high, leaves)
        leaves = v.mul(leaves, v.all(ir.FloatType()(WIDER)))
        v.write(enters, args[12])
        return v.mask(builder.fcmp_ordered("<=", enters, leaves))

    return _I(_I, _I, _I, _I, _F, _F, _F, _F, _F, _F, _F, _F, _I), code


@intrinsic
def _triangles(_typing, block, ox, oy, oz, dx, dy, dz, near, far, out):
    """Which of a block's four triangles the ray meets between near and far, as bits.

    Distances, u and v of all four go to `out`.
    """

    def code(_context, builder, _signature, args):
        v = Lanes(builder, 4)
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
def lowest(_typing, bits):
    """Number of the lowest bit that is set."""

    def code(_context, builder, _signature, args):
        return builder.cttz(args[0], ir.IntType(1)(1))

    return _I(_I), code


@intrinsic
def _get(_typing, address, index):
    """Load an i64."""

    def code(_context, builder, _signature, args):
        base = builder.inttoptr(args[0], ir.IntType(64).as_pointer())
        return builder.load(builder.gep(base, [args[1]]))

    return _I(_I, _I), code


@step()
def _safe_inverse(d):
    if abs(d) < np.float32(1e-12):
        return np.float32(1e12) if d >= 0 else np.float32(-1e12)
    return np.float32(1.0) / d


@step(forceinline=True)
def pushed(stack, top, mask, node, entries, any_one):
    """Put the children of `mask` on the stack, the nearest on top; returns the new top.

    Where any hit will do they stay as they come.

    An entry is the distance (bits of a float that is never negative sort like the float) above
    the child's reference, so that one comparison of whole numbers sorts both.
    """
    base = top
    while mask != 0:
        lane = lowest(mask)
        mask &= mask - 1
        key = np.int64(i32(entries, lane)) << 32
        key |= np.int64(np.uint32(i32(node, 48 + lane)))
        at = top
        while not any_one and at > base and _get(stack, at - 1) < key:
            put_i64(stack, at, _get(stack, at - 1))
            at -= 1
        put_i64(stack, at, key)
        top += 1
    return top


@step()
def _reach(far):
    """What every entry nearer than `far` lies below."""
    return np.int64(np.float32(far).view(np.int32)) << 32


@step()
def _sign(d):
    return np.int64(32) if d < 0 else np.int64(0)


@step(forceinline=True)
def next_entry(stack, top, base, far):
    """The nearest entry above `base` that begins before `far`, and the new top; -1 as top: none."""
    reach = _reach(far)
    while top > base:
        top -= 1
        key = _get(stack, top)
        if key < reach:
            return np.int64(np.int32(key & 0xFFFFFFFF)), top
    return np.int64(0), np.int64(-1)


@step(forceinline=True)
def _nearest(block, mask, room, far, hit, bu, bv):
    """The nearest of the triangles of `mask`, if it is nearer than `far`."""
    while mask != 0:
        lane = lowest(mask)
        mask &= mask - 1
        t = f32(room, 8 + lane)
        if t < far:
            far, hit = t, np.int64(i32(block, 36)) + lane
            bu, bv = f32(room, 12 + lane), f32(room, 16 + lane)
    return far, hit, bu, bv


@step(forceinline=True)
def _shape(w, root, stack, base, room, ox, oy, oz, dx, dy, dz, near, far, any_one):
    """First (or any) triangle of one shape between near and far: distance, number, u, v."""
    ix, iy, iz = _safe_inverse(dx), _safe_inverse(dy), _safe_inverse(dz)
    sx, sy, sz = _sign(ix), _sign(iy), _sign(iz)
    hit = np.int64(-1)
    bu, bv = np.float32(0), np.float32(0)
    top = base
    reference = np.int64(root)
    while top >= 0:
        if reference >= 0:
            node = w.node + 256 * reference
            mask = _boxes(node, sx, sy, sz, ox, oy, oz, ix, iy, iz, near, far, room)
            if mask != 0 and mask & (mask - 1) == 0:
                reference = np.int64(i32(node, 48 + lowest(mask)))
                continue
            top = pushed(stack, top, mask, node, room, any_one)
        else:
            block = w.block - 160 * (reference + 1)
            mask = _triangles(block, ox, oy, oz, dx, dy, dz, near, far, room + 32)
            far, hit, bu, bv = _nearest(block, mask, room, far, hit, bu, bv)
            if any_one and hit >= 0:
                break
        reference, top = next_entry(stack, top, base, far)
    return far, hit, bu, bv


@step(forceinline=True)
def turned(m, x, y, z):
    """A direction of the world in a placed shape's own frame."""
    return (
        f32(m, 0) * x + f32(m, 1) * y + f32(m, 2) * z,
        f32(m, 4) * x + f32(m, 5) * y + f32(m, 6) * z,
        f32(m, 8) * x + f32(m, 9) * y + f32(m, 10) * z,
    )


@step(forceinline=True)
def _walk(w, room, ox, oy, oz, dx, dy, dz, near, far, any_one):
    """Down the tree over placements, and into the tree of each shape on the way."""
    ox, oy, oz = np.float32(ox), np.float32(oy), np.float32(oz)
    dx, dy, dz = np.float32(dx), np.float32(dy), np.float32(dz)
    near, far = np.float32(near), np.float32(far)
    ix, iy, iz = _safe_inverse(dx), _safe_inverse(dy), _safe_inverse(dz)
    sx, sy, sz = _sign(ix), _sign(iy), _sign(iz)
    hit, where = np.int64(-1), np.int64(-1)
    bu, bv = np.float32(0), np.float32(0)
    stack, base = room + 128, np.int64(0)
    top, reference = base, base
    while top >= 0:
        if reference >= 0:
            node = w.top + 256 * reference
            mask = _boxes(node, sx, sy, sz, ox, oy, oz, ix, iy, iz, near, far, room)
            top = pushed(stack, top, mask, node, room, any_one)
        else:
            p = -(reference + 1)
            m = w.inverse + 48 * p
            px, py, pz = turned(m, ox, oy, oz)
            qx, qy, qz = turned(m, dx, dy, dz)
            px, py, pz = px + f32(m, 3), py + f32(m, 7), pz + f32(m, 11)
            root = np.int64(i32(w.root, p))
            t, k, u, v = _shape(
                w, root, stack, top, room, px, py, pz, qx, qy, qz, near, far, any_one
            )
            if k >= 0:
                far, hit, where, bu, bv = t, k, p, u, v
                if any_one:
                    break
        reference, top = next_entry(stack, top, base, far)
    return far, where, hit, bu, bv


#: What a call for a walk takes: the tables of a `World`, scratch space, the ray, its two ends.
_CALL = caller(*[types.int64] * 7, *[types.float64] * 8)
_SIGNATURE = f"void({', '.join(['int64'] * 7 + ['float64'] * 8)})"
#: Where a walk leaves its outcome in the scratch space: in floats, and in whole numbers.
_FLOATS, _WHOLES = 20, 12


@entry(_SIGNATURE)
def _closest(top, inverse, root, node, block, tri, room, ox, oy, oz, dx, dy, dz, near, far):
    w = World(top, inverse, root, node, block, tri)
    t, p, k, u, v = _walk(w, room, ox, oy, oz, dx, dy, dz, near, far, False)
    put_f32(room, _FLOATS, t)
    put_f32(room, _FLOATS + 1, u)
    put_f32(room, _FLOATS + 2, v)
    put_i64(room, _WHOLES, p)
    put_i64(room, _WHOLES + 1, k)


@entry(_SIGNATURE)
def _any(top, inverse, root, node, block, tri, room, ox, oy, oz, dx, dy, dz, near, far):
    w = World(top, inverse, root, node, block, tri)
    put_i64(room, _WHOLES, _walk(w, room, ox, oy, oz, dx, dy, dz, near, far, True)[1])


def walkable(world: World, beam: int = 0) -> Walk:
    """A world as compiled loops walk through it: addresses of its tables and of the walks."""
    return Walk(*addressed(world), _closest.address, _any.address, beam)


def load_walks() -> None:
    """Load what walks, or compile it, where that has not been done."""
    for made in (_closest, _any):
        _ = made.address


@loop()
def closest_hit(w, room, ox, oy, oz, dx, dy, dz, near, far):
    """First hit between near and far: distance, placement (-1: none), triangle, u, v."""
    tables = (w.top, w.inverse, w.root, w.node, w.block, w.tri)
    _CALL(w.closest, (*tables, room, ox, oy, oz, dx, dy, dz, near, far))
    t, u, v = f32(room, _FLOATS), f32(room, _FLOATS + 1), f32(room, _FLOATS + 2)
    return t, _get(room, _WHOLES), _get(room, _WHOLES + 1), u, v


@loop()
def any_hit(w, room, ox, oy, oz, dx, dy, dz, near, far):
    """Whether anything lies between near and far along the ray."""
    tables = (w.top, w.inverse, w.root, w.node, w.block, w.tri)
    _CALL(w.any, (*tables, room, ox, oy, oz, dx, dy, dz, near, far))
    return _get(room, _WHOLES) >= 0
