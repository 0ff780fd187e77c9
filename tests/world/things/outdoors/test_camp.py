"""Kinds of things in `camp`: every one can be made; cloth hangs down to the ground all round."""

import numpy as np
import pytest

from render.world.things import load_kinds
from render.world.things.kind import KINDS
from tests.world.things.shapes import check_kind

load_kinds()


@pytest.mark.parametrize(
    "name", sorted(k for k, v in KINDS.items() if v.make.__module__.endswith(".camp"))
)
def test_the_kind_can_be_made(name: str) -> None:
    """Finite triangles of known stuff, unit normals, on the ground, the same for the same seed."""
    check_kind(name)


def test_a_tarpaulin_covers_what_lies_under_it() -> None:
    """From above it hides all of the size asked for, and its hem lies on the ground around."""
    kind = KINDS["tarpaulin"]
    mesh = kind.make(kind.read({"size_m": [3, 2, 1], "ropes": 0}), np.random.default_rng(3))
    cloth = mesh.xyz[mesh.slot == mesh.slots.index("cloth")].reshape(-1, 3)
    hem = cloth[cloth[:, 2] < 0.02]

    assert np.all(np.maximum(np.abs(hem[:, 0]) / 1.5, np.abs(hem[:, 1]) / 1.0) > 0.93)
    assert cloth[:, 2].max() == pytest.approx(1.0, abs=0.3)
    top = mesh.normal[(mesh.slot == mesh.slots.index("cloth"))][:, 0]
    middle = (
        np.abs(mesh.xyz[mesh.slot == mesh.slots.index("cloth")][:, :, :2]).max(axis=(1, 2)) < 0.7
    )
    assert np.all(top[middle, 2] > 0.5)
