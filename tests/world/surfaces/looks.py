"""A material as a ray finds it."""

import ctypes

import numpy as np
from numpy.typing import NDArray

from render.world.surfaces.material import Material, material_row
from render.world.surfaces.rules import texture

__all__ = ["looks"]

_TYPES = (ctypes.c_int64, *(ctypes.c_double,) * 3, ctypes.c_int64, ctypes.c_void_p)


def looks(material: Material, spots: NDArray[np.float64], foot_m: float) -> NDArray[np.float64]:
    """What `evaluate` says of each spot (n, 2), by the address at which the tracer calls it."""
    evaluate = ctypes.CFUNCTYPE(None, *_TYPES)(texture.address)
    row, seen = material_row(material), np.empty((len(spots), 10))
    for (u, v), out in zip(spots, seen, strict=True):
        evaluate(row.ctypes.data, u, v, foot_m, 0, out.ctypes.data)
    return seen
