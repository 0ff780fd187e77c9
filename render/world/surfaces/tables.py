"""Tables that compiled loops read by address.

A numpy array taken out of a tuple, or a row of one, is counted by numba at every use, and one that
is handed to a step at every call, with an atomic instruction that all threads wait for; an address
is a plain number.  Whoever calls a loop keeps the arrays alive while it runs.
"""

from typing import Any, TypeVar

import numpy as np
from llvmlite import ir
from numba import types
from numba.extending import intrinsic

__all__ = [
    "address_of",
    "addressed",
    "caller",
    "f32",
    "f64",
    "i32",
    "numbers",
    "put_f32",
    "put_i32",
    "put_i64",
]

_Tuple = TypeVar("_Tuple", bound=tuple[Any, ...])


def addressed(tables: _Tuple) -> _Tuple:
    """The same named tuple with every array replaced by its address.

    Raises
    ------
    ValueError
        If an array is not C-contiguous.
    """
    for array in tables:
        if isinstance(array, np.ndarray) and not array.flags.c_contiguous:
            raise ValueError("a table must be C-contiguous")
    kind: Any = type(tables)
    plain: _Tuple = kind(*(a.ctypes.data if isinstance(a, np.ndarray) else a for a in tables))
    return plain


def _loader(kind: Any, of: Any) -> Any:
    """An intrinsic that reads one number of a table."""

    @intrinsic
    def load(_typing, address, index):  # type: ignore[no-untyped-def]
        def code(_context, builder, _signature, args):  # type: ignore[no-untyped-def]
            base = builder.inttoptr(args[0], of.as_pointer())
            return builder.load(builder.gep(base, [args[1]]))

        return kind(types.int64, types.int64), code

    return load


f32 = _loader(types.float32, ir.FloatType())
f64 = _loader(types.float64, ir.DoubleType())
i32 = _loader(types.int32, ir.IntType(32))


def _storer(kind: Any, of: Any) -> Any:
    """An intrinsic that writes one number of a table."""

    @intrinsic
    def store(_typing, address, index, value):  # type: ignore[no-untyped-def]
        def code(context, builder, _signature, args):  # type: ignore[no-untyped-def]
            base = builder.inttoptr(args[0], of.as_pointer())
            builder.store(args[2], builder.gep(base, [args[1]]))
            return context.get_dummy_value()

        return types.void(types.int64, types.int64, kind), code

    return store


put_f32 = _storer(types.float32, ir.FloatType())
put_i32 = _storer(types.int32, ir.IntType(32))
put_i64 = _storer(types.int64, ir.IntType(64))


@intrinsic
def numbers(_typing, array, first):  # type: ignore[no-untyped-def]
    """An array's numbers from the one at `first` on, without the array."""
    of = types.CPointer(array.dtype)  # type: ignore[no-untyped-call]

    def code(context, builder, signature, args):  # type: ignore[no-untyped-def]
        data = context.make_array(signature.args[0])(context, builder, args[0]).data
        return builder.gep(data, [args[1]])

    return of(array, types.int64), code


@intrinsic
def address_of(_typing, place):  # type: ignore[no-untyped-def]
    """Where `numbers` begin."""

    def code(_context, builder, _signature, args):  # type: ignore[no-untyped-def]
        return builder.ptrtoint(args[0], ir.IntType(64))

    return types.int64(place), code


def caller(*kinds: Any) -> Any:
    """An intrinsic that calls an `Entry` at an address with a tuple of numbers of these kinds."""

    @intrinsic
    def call(_typing, address, numbers):  # type: ignore[no-untyped-def]
        def code(context, builder, signature, args):  # type: ignore[no-untyped-def]
            given = [
                context.cast(builder, builder.extract_value(args[1], n), have, want)
                for n, (have, want) in enumerate(zip(signature.args[1].types, kinds, strict=True))
            ]
            wanted = [context.get_value_type(kind) for kind in kinds]
            function = ir.FunctionType(ir.VoidType(), wanted).as_pointer()
            builder.call(builder.inttoptr(args[0], function), given)
            return context.get_dummy_value()

        return types.void(types.int64, numbers), code

    return call
