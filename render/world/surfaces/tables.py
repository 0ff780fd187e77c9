"""Tables that compiled loops read by address.

A numpy array taken out of a tuple, or a row of one, is counted by numba at every use, with an
atomic instruction that all threads wait for; an address is a plain number.  Whoever calls a loop
keeps the arrays alive while it runs.
"""

from typing import Any, TypeVar

import numpy as np
from llvmlite import ir
from numba import types
from numba.extending import intrinsic

__all__ = ["addressed", "f32", "f64", "i32"]

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
