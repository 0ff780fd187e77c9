"""Tables read by address hold what the arrays hold."""

from collections import namedtuple

import numpy as np
import pytest
from numba import njit

from render.world.surfaces.tables import addressed, f32, f64, i32

Tables = namedtuple("Tables", "floats doubles numbers scale")


@njit
def _total(tables, n):  # type: ignore[no-untyped-def]
    return tables.scale * (f32(tables.floats, n) + f64(tables.doubles, n) + i32(tables.numbers, n))


def test_addresses_lead_to_the_numbers() -> None:
    """Each kind by its own width; plain numbers pass through."""
    tables = Tables(
        np.array([0.5, 1.5], np.float32), np.array([10.0, 20.0]), np.array([-3, 300], np.int32), 2.0
    )

    assert [_total(addressed(tables), n) for n in range(2)] == [15.0, 643.0]


def test_a_table_with_gaps_is_refused() -> None:
    """Its address would lead to the wrong numbers."""
    with pytest.raises(ValueError, match="contiguous"):
        addressed(Tables(np.zeros((4, 4), np.float32)[:, ::2], np.zeros(1), np.zeros(1), 1.0))
