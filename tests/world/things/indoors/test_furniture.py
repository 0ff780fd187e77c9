"""Kinds of things in `furniture`: every one can be made, stands on the ground, repeats by seed."""

import pytest

from render.world.things import load_kinds
from render.world.things.kind import KINDS
from tests.world.things.shapes import check_kind

load_kinds()


@pytest.mark.parametrize(
    "name", sorted(k for k, v in KINDS.items() if v.make.__module__.endswith(".furniture"))
)
def test_the_kind_can_be_made(name: str) -> None:
    """Finite triangles of known stuff, unit normals, on the ground, the same for the same seed."""
    check_kind(name)
