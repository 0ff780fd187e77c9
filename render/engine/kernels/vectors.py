"""Additions to four floats at once, in places of flat float32 arrays; numba does not find them."""

from llvmlite import ir
from numba import types
from numba.extending import intrinsic

__all__ = ["add", "add_both", "add_from"]


def _pointer(context, builder, kind, array, at):
    """Address of four floats inside a contiguous float32 array, as a vector."""
    data = context.make_array(kind)(context, builder, array).data
    four = ir.VectorType(ir.FloatType(), 4)
    return builder.bitcast(builder.gep(data, [at], inbounds=True), four.as_pointer())


def _splat(builder, values):
    """One vector of four from four (or one) values."""
    vector = ir.Constant(ir.VectorType(ir.FloatType(), 4), ir.Undefined)
    for n in range(4):
        value = values[n % len(values)]
        vector = builder.insert_element(vector, value, ir.IntType(32)(n))
    return vector


@intrinsic
def add(_typing, slab, at, weight, r, g, b, share):
    """``slab[at : at + 4] += weight * (r, g, b, share)`` in one go."""
    signature = types.void(slab, types.int64, *[types.float32] * 5)

    def code(context, builder, signature, args):
        place = _pointer(context, builder, signature.args[0], args[0], args[1])
        more = builder.fmul(_splat(builder, args[2:3]), _splat(builder, args[3:]))
        old = builder.load(place)
        old.align = 4
        builder.store(builder.fadd(old, more), place).align = 4
        return context.get_dummy_value()

    return signature, code


@intrinsic
def add_from(_typing, target, at, weight, source, k):
    """``target[at : at + 4] += weight * source[k : k + 4]`` in one go."""
    signature = types.void(target, types.int64, types.float32, source, types.int64)

    def code(context, builder, signature, args):
        place = _pointer(context, builder, signature.args[0], args[0], args[1])
        other = _pointer(context, builder, signature.args[3], args[3], args[4])
        old, new = builder.load(place), builder.load(other)
        old.align = new.align = 4
        more = builder.fmul(_splat(builder, args[2:3]), new)
        builder.store(builder.fadd(old, more), place).align = 4
        return context.get_dummy_value()

    return signature, code


@intrinsic
def add_both(_typing, target, at, weight, k, other, m, source):
    """``target[at : at + 4] += weight * source[k : k + 4] + other * source[m : m + 4]``."""
    whole, part = types.int64, types.float32
    signature = types.void(target, whole, part, whole, part, whole, source)

    def code(context, builder, signature, args):
        place = _pointer(context, builder, signature.args[0], args[0], args[1])
        sums = builder.load(place)
        sums.align = 4
        for weight, start in ((2, 3), (4, 5)):
            at = _pointer(context, builder, signature.args[6], args[6], args[start])
            more = builder.load(at)
            more.align = 4
            sums = builder.fadd(sums, builder.fmul(_splat(builder, [args[weight]]), more))
        builder.store(sums, place).align = 4
        return context.get_dummy_value()

    return signature, code
