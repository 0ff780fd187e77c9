"""Kinds of things in `boats`: every one can be made, stands on the ground, repeats by seed."""

import numpy as np
import pytest

from render.world.things import load_kinds
from render.world.things.kind import KINDS
from tests.world.things.shapes import check_kind

load_kinds()


@pytest.mark.parametrize(
    "name", sorted(k for k, v in KINDS.items() if v.make.__module__.endswith(".boats"))
)
def test_the_kind_can_be_made(name: str) -> None:
    """Finite triangles of known stuff, unit normals, on the ground, the same for the same seed."""
    check_kind(name)


@pytest.mark.parametrize("height_m", [10.0, 21.0])
def test_the_cab_of_a_crane_stands_on_its_deck(height_m: float) -> None:
    """Some part of the frame ends at the height of the cab's floor and reaches all round it."""
    kind = KINDS["quay crane"]
    mesh = kind.make(kind.read({"height_m": height_m}), np.random.default_rng(1))
    corners = {slot: mesh.xyz[mesh.slot == i].reshape(-1, 3) for i, slot in enumerate(mesh.slots)}
    cab = corners["cab"]
    at_floor = np.abs(corners["frame"][:, 2] - cab[:, 2].min()) < 0.01
    deck = corners["frame"][at_floor]

    assert np.all(deck.min(axis=0)[:2] <= cab.min(axis=0)[:2])
    assert np.all(deck.max(axis=0)[:2] >= cab.max(axis=0)[:2])
