"""Kinds of things in `halls`: every one can be made; keys and stacks are as asked for."""

import numpy as np
import pytest

from render.world.mesh import Mesh
from render.world.things import load_kinds
from render.world.things.kind import KINDS
from tests.world.things.shapes import check_kind

load_kinds()


def _made(name: str, **words: object) -> Mesh:
    kind = KINDS[name]
    return kind.make(kind.read(words), np.random.default_rng(1))


@pytest.mark.parametrize(
    "name", sorted(k for k, v in KINDS.items() if v.make.__module__.endswith(".halls"))
)
def test_the_kind_can_be_made(name: str) -> None:
    """Finite triangles of known stuff, unit normals, on the ground, the same for the same seed."""
    check_kind(name)


def test_a_stack_grows_by_its_chairs() -> None:
    """Each chair adds 11 cm, and each has the same number of faces."""
    one, six = _made("stacked chairs", count=1), _made("stacked chairs", count=6)

    assert len(six.xyz) == 6 * len(one.xyz)
    assert np.ptp(six.xyz[..., 2]) - np.ptp(one.xyz[..., 2]) == pytest.approx(0.56, abs=0.01)
