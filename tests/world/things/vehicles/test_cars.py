"""Cars and vans."""

import numpy as np
import pytest

from render.world.things import load_kinds
from render.world.things.kind import KINDS
from render.world.things.vehicles.forms import FORMS
from tests.world.things.shapes import check_kind

load_kinds()


def test_the_kind_can_be_made() -> None:
    """Finite triangles of known stuff, unit normals, on the ground, the same for the same seed."""
    check_kind("car")


@pytest.mark.parametrize("shape", FORMS)
def test_every_sort_keeps_to_its_feet_and_is_the_same_on_both_sides(shape: str) -> None:
    """Nothing but the mirrors reaches beyond where it says that it stands."""
    kind = KINDS["car"]
    values = kind.read({"shape": shape})
    made = kind.make(values, np.random.default_rng(1))
    xyz = made.xyz.reshape(-1, 3)
    (foot,) = kind.feet(values)  # type: ignore[misc]

    assert np.abs(xyz[:, 1]).max() <= foot.outline_m[:, 1].max() + 0.03
    assert np.abs(xyz[xyz[:, 2] < 0.8, 0]).max() <= foot.outline_m[:, 0].max()
    body = made.xyz[made.slot == made.slots.index("body")]
    assert body[..., 0].min() == pytest.approx(-body[..., 0].max(), abs=1e-9)
    assert {"seat", "far", "plate", "light", "tail"} <= set(made.slots)
