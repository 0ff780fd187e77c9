"""Buses and lorries: every one can be made, stands on the ground, repeats by seed."""

import pytest

from render.world.things import load_kinds
from tests.world.things.shapes import check_kind

load_kinds()


@pytest.mark.parametrize("name", ["bus", "lorry"])
def test_the_kind_can_be_made(name: str) -> None:
    """Finite triangles of known stuff, unit normals, on the ground, the same for the same seed."""
    check_kind(name)
