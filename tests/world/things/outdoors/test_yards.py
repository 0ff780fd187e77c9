"""What lies about a house in the country: every kind can be made, washing hangs off the ground."""

import numpy as np
import pytest

from render.world.things import load_kinds
from render.world.things.kind import KINDS
from tests.world.things.shapes import check_kind

load_kinds()


@pytest.mark.parametrize(
    "name", sorted(k for k, v in KINDS.items() if v.make.__module__.endswith(".yards"))
)
def test_the_kind_can_be_made(name: str) -> None:
    """Finite triangles of known stuff, unit normals, on the ground, the same for the same seed."""
    check_kind(name)


def test_washing_hangs_clear_of_the_ground() -> None:
    """Between the posts, none of it lower than 0.5 m."""
    kind = KINDS["washing line"]
    for seed in range(4):
        mesh = kind.make(kind.read({"length_m": 6.0}), np.random.default_rng(seed))
        hung = [k for k, slot in enumerate(mesh.slots) if slot.startswith("cloth")]
        cloth = mesh.xyz[np.isin(mesh.slot, hung)]

        assert len(cloth) > 8
        assert cloth[..., 2].min() > 0.5
        assert np.abs(cloth[..., 0]).max() < 3.0
