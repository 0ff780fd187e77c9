"""Kinds of things indoors can be made and repeat by seed; windows look out on a street."""

import numpy as np
import pytest

from render.world.things import load_kinds
from render.world.things.kind import KINDS
from tests.world.things.shapes import check_kind

load_kinds()


@pytest.mark.parametrize(
    "name",
    sorted(k for k, v in KINDS.items() if v.make.__module__.endswith((".rooms", ".tools"))),
)
def test_the_kind_can_be_made(name: str) -> None:
    """Finite triangles of known stuff, unit normals, on the ground, the same for the same seed."""
    check_kind(name)


def test_a_room_has_a_street_before_its_windows_or_light_in_them() -> None:
    """No pane shuts the street out, which lies beyond the wall and below the floor."""
    kind = KINDS["room"]
    made = {
        outside: kind.make(
            kind.read({"outside": outside, "door": True, "curtains": True, "panel_m": 1.0}),
            np.random.default_rng(1),
        )
        for outside in ("street", "nothing but light")
    }
    street, light = (
        {mesh.slots[k] for k in np.unique(mesh.slot)}
        for mesh in (made["street"], made["nothing but light"])
    )
    beyond = made["street"].xyz[made["street"].slot == made["street"].slots.index("front pane")]

    assert "pane" in light
    assert "pane" not in street
    assert "road" in street - light
    assert beyond[..., 0].max() < -5.0 - 8.0
    assert {"joinery", "curtain", "panel"} <= light
