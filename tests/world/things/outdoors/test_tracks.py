"""Footprints lie flat along their path, two of them a step and a half."""

import numpy as np
import pytest

from render.world.things import load_kinds
from render.world.things.kind import KINDS
from tests.world.things.shapes import check_kind

load_kinds()


def test_the_kind_can_be_made() -> None:
    """Finite triangles of known stuff, unit normals, on the ground, the same for the same seed."""
    check_kind("footprints")


@pytest.mark.parametrize("people", [1, 4])
def test_each_walker_leaves_a_print_a_step(people: int) -> None:
    """20 m of path hold 20/0.66 prints a walker, 15 % more or less, all within a few cm of it."""
    kind = KINDS["footprints"]
    values = kind.read({"path_m": [[0, 0], [20, 0]], "people": people, "spread_m": 0.0})
    mesh = kind.make(values, np.random.default_rng(3))
    prints = mesh.xyz[mesh.slot == mesh.slots.index("hollow")]

    assert len(prints) / 4 / people == pytest.approx(20 / 0.66, rel=0.2)
    assert np.abs(prints[..., 1]).max() < 0.3
    assert prints[..., 2].max() < 0.02
