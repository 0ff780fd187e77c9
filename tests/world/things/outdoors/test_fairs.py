"""Kinds of things in `fairs`: every one can be made, repeats by seed; flags hang on a cord."""

import numpy as np
import pytest

from render.world.things import load_kinds
from render.world.things.kind import KINDS
from tests.world.things.shapes import check_kind

load_kinds()


@pytest.mark.parametrize(
    "name", sorted(k for k, v in KINDS.items() if v.make.__module__.endswith(".fairs"))
)
def test_the_kind_can_be_made(name: str) -> None:
    """Finite triangles of known stuff, unit normals, on the ground, the same for the same seed."""
    check_kind(name)


def test_bunting_hangs_from_point_to_point() -> None:
    """Its cord is level at both ends and sags between; the lowest flag hangs below that."""
    bunting = KINDS["bunting"]
    words = bunting.read({"path_m": [[-4, 0, 3], [4, 0, 3]], "sag_m": 0.5})
    mesh = bunting.make(words, np.random.default_rng(1))

    assert np.ptp(mesh.xyz[..., 0]) == pytest.approx(8.0, abs=0.05)
    assert mesh.xyz[..., 2].max() == pytest.approx(3.0, abs=0.01)
    assert 2.2 < mesh.xyz[..., 2].min() < 2.3
