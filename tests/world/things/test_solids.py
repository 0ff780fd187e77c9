"""Kinds of things in `solids`: every one can be made, stands on the ground, repeats by seed."""

import numpy as np
import pytest

from render.world.things import load_kinds
from render.world.things.kind import KINDS
from render.world.things.solids import timber
from tests.world.things.shapes import check_kind

load_kinds()


@pytest.mark.parametrize(
    "name", sorted(k for k, v in KINDS.items() if v.make.__module__.endswith(".solids"))
)
def test_the_kind_can_be_made(name: str) -> None:
    """Finite triangles of known stuff, unit normals, on the ground, the same for the same seed."""
    check_kind(name)


@pytest.mark.parametrize("size", [(2.0, 0.3, 0.1), (0.3, 2.0, 0.1), (0.1, 0.3, 2.0)])
def test_grain_runs_along_a_piece_of_wood(size: tuple[float, float, float]) -> None:
    """On its four long faces u runs along the longest edge, and no two pieces share their grain."""
    rng = np.random.default_rng(3)
    one, other = (timber(size, "wood", (0.0, 0.0, 0.0), rng) for _ in range(2))
    long = int(np.argmax(size))
    sides = np.abs(one.normal[:, 0, long]) < 0.5
    u, along = one.uv[sides][..., 0], one.xyz[sides][..., long]

    np.testing.assert_allclose(u - along, (u - along).flat[0], atol=1e-9)
    assert not np.allclose(one.uv, other.uv)
