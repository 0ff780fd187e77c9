"""Eight rays from the eye at once: the way of a narrow beam, and which triangle each ray meets.

All of them leave one place, so a box is tested against the beam as a whole, by the least and the
most that its rays' directions have along each axis (Reshetov, Soupikov and Hurley 2005,
"Multi-level ray tracing algorithm"; from memory), and a triangle by three planes through the eye
and its edges, which are linear in the place of the picture (Moeller and Trumbore's three products,
taken apart; as homogeneous rasterisation has them, Olano and Greer 1997; from memory).
"""

import numpy as np
from llvmlite import ir
from numba import types
from numba.extending import intrinsic

from render.compiled import entry, loop, step
from render.trace.tree.bvh import World
from render.trace.walk import BEHIND, WIDER, Lanes, lowest, next_entry, pushed, turned
from render.world.surfaces.tables import caller, f32, i32, put_f32, put_i32

__all__ = ["BEAM", "beam_address", "in_beam", "look", "put_in_beam"]

#: How many rays a beam has; what it knows of them lies behind a walk's own scratch space: across,
#: down, distance, u, v (f32), triangle and placement (i32, -1: none), eight each.
BEAM = 8
_ACROSS, _DOWN, _FAR, _U, _V, _TRIANGLE, _PLACEMENT = (BEHIND + 32 * n for n in range(7))
#: Directions of the beam's middle, and how they grow across and down: for the world, then for the
#: shape that is walked through; reciprocals for its boxes, 12 each.
_WAYS, _OWN_WAYS = BEHIND + 224, BEHIND + 264
_SLOPES, _OWN_SLOPES = BEHIND + 304, BEHIND + 368
_F, _I = types.float32, types.int64


@intrinsic
def _beam_boxes(_typing, node, slopes, ox, oy, oz, near, far, out):
    """Which of a node's eight boxes any ray of the beam can enter before `far`, as bits.

    The least entries go to `out`.
    """

    def code(_context, builder, _signature, args):
        node, slopes, origin = args[0], args[1], args[2:5]
        v, one = Lanes(builder, 8), ir.FloatType()
        enters, leaves = v.all(args[5]), v.all(args[6])

        def number(at):
            place = builder.add(slopes, ir.IntType(64)(4 * at))
            return builder.load(builder.inttoptr(place, one.as_pointer()))

        for axis in range(3):
            o = v.all(origin[axis])
            low = v.sub(v.read(node, 64 * axis), o)
            high = v.sub(v.read(node, 64 * axis + 32), o)
            up, down, out_up, out_down, ever = (v.all(number(5 * axis + n)) for n in range(5))
            enters = v.most(v.mul(low, up), enters)
            enters = v.most(v.mul(high, down), enters)
            out_by = v.most(v.mul(high, out_up), v.mul(low, out_down))
            leaves = v.least(v.most(out_by, ever), leaves)
        leaves = v.mul(leaves, v.all(one(WIDER)))
        v.write(enters, args[7])
        return v.mask(builder.fcmp_ordered("<=", enters, leaves))

    return _I(_I, _I, _F, _F, _F, _F, _F, _I), code


@intrinsic
def _beam_triangles(_typing, block, ways, ox, oy, oz, near, placement, room):
    """Test a block's four triangles with all rays of the beam; which rays met one, as bits."""

    def code(_context, builder, _signature, args):
        block, ways, origin = args[0], args[1], args[2:5]
        near, placement, room = args[5], args[6], args[7]
        four, v = Lanes(builder, 4), Lanes(builder, 8)
        word = ir.IntType(32)

        def number(at):
            place = builder.add(ways, ir.IntType(64)(4 * at))
            return builder.load(builder.inttoptr(place, ir.FloatType().as_pointer()))

        def whole(address):
            kind = ir.VectorType(word, 8)
            return builder.inttoptr(builder.add(room, ir.IntType(64)(address)), kind.as_pointer())

        def lane_of(vector, n):
            order = ir.Constant(ir.VectorType(word, 8), [n] * 8)
            return builder.shuffle_vector(vector, ir.Constant(four.kind, ir.Undefined), order)

        rows = [four.read(block, 16 * n) for n in range(9)]
        first, second = rows[3:6], rows[6:9]
        away = [four.sub(four.all(a), b) for a, b in zip(origin, rows[:3], strict=True)]
        flat = four.cross(second, first)
        along = four.cross(second, away)
        aside = four.cross(away, first)
        reach = four.dot(second, aside)
        planes = []  # of flat, u and v: at the beam's middle, and how they grow across and down
        for normal in (flat, along, aside):
            for way in range(3):
                d = [four.all(number(3 * way + axis)) for axis in range(3)]
                planes.append(four.dot(d, normal))
        across, down = v.read(room, _ACROSS), v.read(room, _DOWN)
        far, bu, bv = v.read(room, _FAR), v.read(room, _U), v.read(room, _V)
        holds, places = whole(_TRIANGLE), whole(_PLACEMENT)
        kept, put = builder.load(holds, align=16), builder.load(places, align=16)
        found = ir.Constant(ir.VectorType(ir.IntType(1), 8), [0] * 8)
        one, zero = v.all(ir.FloatType()(1.0)), v.all(ir.FloatType()(0.0))
        place = builder.add(block, ir.IntType(64)(144))
        number_of = builder.load(builder.inttoptr(place, word.as_pointer()))
        whole_kind = ir.VectorType(word, 8)
        nothing = ir.Constant(whole_kind, ir.Undefined)
        zeros = ir.Constant(whole_kind, [0] * 8)

        def everywhere(value):
            return builder.shuffle_vector(
                builder.insert_element(nothing, value, word(0)), nothing, zeros
            )

        for n in range(4):
            values = []
            for at in range(0, 9, 3):
                middle, right, low = (lane_of(planes[at + k], n) for k in range(3))
                values.append(v.add(v.add(middle, v.mul(across, right)), v.mul(down, low)))
            scale = builder.fdiv(one, values[0])
            u, w = builder.fmul(values[1], scale), builder.fmul(values[2], scale)
            t = builder.fmul(lane_of(reach, n), scale)
            truth = builder.fcmp_ordered(">=", u, zero)  # false for NaN: see `walk`
            for sign, a, b in (
                (">=", w, zero),
                ("<=", builder.fadd(u, w), one),
                (">", t, v.all(near)),
                ("<", t, far),
            ):
                truth = builder.and_(truth, builder.fcmp_ordered(sign, a, b))
            far, bu, bv = (builder.select(truth, a, b) for a, b in ((t, far), (u, bu), (w, bv)))
            kept = builder.select(truth, everywhere(builder.add(number_of, word(n))), kept)
            found = builder.or_(found, truth)
        put = builder.select(found, everywhere(builder.trunc(placement, word)), put)
        for value, at in ((far, _FAR), (bu, _U), (bv, _V)):
            v.write(value, room, at)
        builder.store(kept, holds, align=16)
        builder.store(put, places, align=16)
        return v.mask(found)

    return _I(_I, _I, _F, _F, _F, _F, _I, _I), code


@step(forceinline=True)
def _slopes_of(ways, wide, high, slopes):
    """Reciprocals of the least and most of the beam's direction along each axis.

    For entering from below and from above, then for leaving upward and downward, 0 where no ray
    does; and how far away the beam leaves if it may never.
    """
    for axis in range(3):
        middle = f32(ways, axis)
        half = abs(f32(ways, 3 + axis)) * wide + abs(f32(ways, 6 + axis)) * high
        half += np.float32(1e-6) * abs(middle)
        least, most = middle - half, middle + half
        up = down = out_up = out_down = np.float32(0)
        ever = np.float32(0)
        if most > np.float32(1e-12):
            up = np.float32(1) / most
        if least < np.float32(-1e-12):
            down = np.float32(1) / least
        if least > np.float32(1e-12):
            out_up = np.float32(1) / least
        elif most < np.float32(-1e-12):
            out_down = np.float32(1) / most
        else:
            ever = np.float32(1e30)
        for n, value in enumerate((up, down, out_up, out_down, ever)):
            put_f32(slopes, 5 * axis + n, value)


@step(forceinline=True)
def _own_ways(m, ways, own):
    """The directions of a beam in a placed shape's own frame."""
    for n in range(3):
        x, y, z = turned(m, f32(ways, 3 * n), f32(ways, 3 * n + 1), f32(ways, 3 * n + 2))
        put_f32(own, 3 * n, x)
        put_f32(own, 3 * n + 1, y)
        put_f32(own, 3 * n + 2, z)


@step(forceinline=True)
def _farthest(room):
    """How far the ray of a beam that has gone farthest may still go."""
    far = f32(room + _FAR, 0)
    for n in range(1, BEAM):
        far = max(far, f32(room + _FAR, n))
    return far


@step(forceinline=True)
def _beam_shape(w, p, stack, base, room, ox, oy, oz, wide, high, near, far):
    """Through the tree of one placed shape; returns how far the beam goes after it."""
    ways, slopes = room + _OWN_WAYS, room + _OWN_SLOPES
    m = w.inverse + 48 * p
    px, py, pz = turned(m, ox, oy, oz)
    px, py, pz = px + f32(m, 3), py + f32(m, 7), pz + f32(m, 11)
    _own_ways(m, room + _WAYS, ways)
    _slopes_of(ways, wide, high, slopes)
    top, reference = base, np.int64(i32(w.root, p))
    while top >= 0:
        if reference >= 0:
            node = w.node + 256 * reference
            mask = _beam_boxes(node, slopes, px, py, pz, near, far, room)
            if mask != 0 and mask & (mask - 1) == 0:
                reference = np.int64(i32(node, 48 + lowest(mask)))
                continue
            top = pushed(stack, top, mask, node, room, False)
        else:
            block = w.block - 160 * (reference + 1)
            if _beam_triangles(block, ways, px, py, pz, near, p, room) != 0:
                far = _farthest(room)
        reference, top = next_entry(stack, top, base, far)
    return far


_CALL = caller(*[types.int64] * 7, *[types.float64] * 7)
_SIGNATURE = f"void({', '.join(['int64'] * 7 + ['float64'] * 7)})"


@entry(_SIGNATURE)
def _look(top, inverse, root, node, block, tri, room, ox, oy, oz, wide, high, near, far):
    w = World(top, inverse, root, node, block, tri)
    ox, oy, oz = np.float32(ox), np.float32(oy), np.float32(oz)
    wide, high = np.float32(wide), np.float32(high)
    near, far = np.float32(near), np.float32(far)
    _slopes_of(room + _WAYS, wide, high, room + _SLOPES)
    stack, base = room + 128, np.int64(0)
    at, reference = base, base
    while at >= 0:
        if reference >= 0:
            table = w.top + 256 * reference
            mask = _beam_boxes(table, room + _SLOPES, ox, oy, oz, near, far, room)
            at = pushed(stack, at, mask, table, room, False)
        else:
            p = -(reference + 1)
            far = _beam_shape(w, p, stack, at, room, ox, oy, oz, wide, high, near, far)
        reference, at = next_entry(stack, at, base, far)


def beam_address() -> int:
    """Where the walk of a beam begins; it is compiled, or loaded, the first time."""
    return _look.address


@step(forceinline=True)
def put_in_beam(room, n, across, down):
    """Let ray n of a beam go so many pixels across and down from its middle."""
    put_f32(room + _ACROSS, n, np.float32(across))
    put_f32(room + _DOWN, n, np.float32(down))


@step(forceinline=True)
def in_beam(room, n):
    """What ray n of a beam met: distance, placement (-1: nothing), triangle, u, v."""
    return (
        f32(room + _FAR, n),
        np.int64(i32(room + _PLACEMENT, n)),
        np.int64(i32(room + _TRIANGLE, n)),
        f32(room + _U, n),
        f32(room + _V, n),
    )


@loop()
def look(w, room, eye, x, y, count, near, far):
    """Send the first `count` rays of a beam whose middle is the place (x, y) of the picture."""
    slope = eye.slope
    p, q = (x - eye.centre_x) * slope, (y - eye.centre_y) * slope
    ways = room + _WAYS
    put_f32(ways, 0, np.float32(eye.right_x * p + eye.down_x * q + eye.ahead_x))
    put_f32(ways, 1, np.float32(eye.right_y * p + eye.down_y * q + eye.ahead_y))
    put_f32(ways, 2, np.float32(eye.right_z * p + eye.down_z * q + eye.ahead_z))
    put_f32(ways, 3, np.float32(eye.right_x * slope))
    put_f32(ways, 4, np.float32(eye.right_y * slope))
    put_f32(ways, 5, np.float32(eye.right_z * slope))
    put_f32(ways, 6, np.float32(eye.down_x * slope))
    put_f32(ways, 7, np.float32(eye.down_y * slope))
    put_f32(ways, 8, np.float32(eye.down_z * slope))
    wide = high = np.float32(0)
    for n in range(BEAM):
        if n >= count:  # the rest of the lanes go with the first
            put_f32(room + _ACROSS, n, f32(room + _ACROSS, 0))
            put_f32(room + _DOWN, n, f32(room + _DOWN, 0))
        wide = max(wide, abs(f32(room + _ACROSS, n)))
        high = max(high, abs(f32(room + _DOWN, n)))
        put_f32(room + _FAR, n, np.float32(far))
        put_i32(room + _PLACEMENT, n, np.int32(-1))
    tables = (w.top, w.inverse, w.root, w.node, w.block, w.tri)
    _CALL(w.beam, (*tables, room, eye.x, eye.y, eye.z, wide, high, near, far))
