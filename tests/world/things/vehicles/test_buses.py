"""Buses."""

import numpy as np
import pytest

from render.world.things import load_kinds
from render.world.things.kind import KINDS
from tests.world.things.shapes import check_kind

load_kinds()


def test_the_kind_can_be_made() -> None:
    """Finite triangles of known stuff, unit normals, on the ground, the same for the same seed."""
    check_kind("bus")


@pytest.mark.parametrize("length_m", [5.0, 11.5, 18.0])
def test_doors_are_on_the_right_and_nothing_hangs_in_the_air(length_m: float) -> None:
    """Panes reach lowest where doors are; all but the mirrors keeps within its length."""
    kind = KINDS["bus"]
    made = kind.make(kind.read({"length_m": length_m}), np.random.default_rng(1))
    glass = made.xyz[made.slot == made.slots.index("glass")]
    right = glass[glass[..., 0].mean(axis=1) < -1.2]  # it looks along -y
    left = glass[glass[..., 0].mean(axis=1) > 1.2]
    body = made.xyz[made.slot == made.slots.index("body")]

    assert right[..., 2].min() < 0.6 < 1.0 < left[..., 2].min()
    assert np.abs(body[..., 1]).max() == pytest.approx(length_m / 2)
