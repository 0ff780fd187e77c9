"""Kinds of things in `plants`: every one can be made, stands on the ground, repeats by seed."""

import numpy as np
import pytest

from render.world.things import load_kinds
from render.world.things.kind import KINDS
from tests.world.things.shapes import check_kind

load_kinds()


@pytest.mark.parametrize(
    "name", sorted(k for k, v in KINDS.items() if v.make.__module__.endswith(".plants"))
)
def test_the_kind_can_be_made(name: str) -> None:
    """Finite triangles of known stuff, unit normals, on the ground, the same for the same seed."""
    check_kind(name)


def test_snow_lies_on_as_many_boughs_as_asked_for() -> None:
    """None, a share, more; what is white lies flatter than what is green."""
    tree = KINDS["tree"]

    def white(snow: float) -> tuple[float, float]:
        words = tree.read({"species": "conifer", "snowy": snow})
        mesh = tree.make(words, np.random.default_rng(4))
        on = np.array([name == "snow" for name in mesh.slots])[mesh.slot]
        leaf = np.array([name == "leaf" for name in mesh.slots])[mesh.slot]
        up = mesh.normal[:, 0, 2]
        flatter = up[on].mean() - up[leaf].mean() if on.any() else 0.0
        return float(on.sum() / (on | leaf).sum()), float(flatter)

    assert white(0.0)[0] == 0.0
    assert 0.15 < white(0.4)[0] < white(0.9)[0] < 0.9
    assert white(0.4)[1] > 0.1
