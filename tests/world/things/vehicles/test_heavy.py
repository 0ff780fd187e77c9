"""Lorries."""

from render.world.things import load_kinds
from tests.world.things.shapes import check_kind

load_kinds()


def test_the_kind_can_be_made() -> None:
    """Finite triangles of known stuff, unit normals, on the ground, the same for the same seed."""
    check_kind("lorry")
