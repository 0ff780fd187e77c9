"""Kinds of things in `roadway`: every one can be made, stands on the ground, repeats by seed."""

import numpy as np
import pytest

from render.world.surfaces.material import linear_rgb
from render.world.surfaces.palette import PALETTE
from render.world.things import load_kinds
from render.world.things.kind import KINDS
from tests.world.things.shapes import check_kind

load_kinds()


@pytest.mark.parametrize(
    "name", sorted(k for k, v in KINDS.items() if v.make.__module__.endswith(".roadway"))
)
def test_the_kind_can_be_made(name: str) -> None:
    """Finite triangles of known stuff, unit normals, on the ground, the same for the same seed."""
    check_kind(name)


def test_a_puddle_lies_in_ground_that_is_wetter_towards_it() -> None:
    """Damp ground surrounds wet ground surrounds water, each the paler the further out."""
    kind = KINDS["puddle"]
    mesh = kind.make(kind.read({}), np.random.default_rng(1))
    wide = {s: np.ptp(mesh.xyz[mesh.slot == i][..., 0]) for i, s in enumerate(mesh.slots)}
    tone = [linear_rgb(str(PALETTE[kind.stuff[s]]["colour"]))[0] for s in ("shore", "damp")]

    assert wide["water"] < wide["shore"] < wide["damp"]
    assert tone[0] < tone[1] < linear_rgb(str(PALETTE["asphalt"]["colour"]))[0]
