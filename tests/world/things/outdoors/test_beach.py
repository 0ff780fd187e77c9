"""Kinds of things on a beach: every one can be made, surf rolls in, boards lie apart."""

import numpy as np
import pytest

from render.world.surfaces.shores import FROTH_FROM_M
from render.world.things import load_kinds
from render.world.things.kind import KINDS
from tests.world.things.shapes import check_kind

load_kinds()


@pytest.mark.parametrize(
    "name", sorted(k for k, v in KINDS.items() if v.make.__module__.endswith(".beach"))
)
def test_the_kind_can_be_made(name: str) -> None:
    """Finite triangles of known stuff, unit normals, on the ground, the same for the same seed."""
    check_kind(name)


def test_lines_of_surf_run_along_one_shore_and_never_cross() -> None:
    """Whenever it is, each line's front keeps its order at every place along the beach."""
    kind = KINDS["surf"]
    values = kind.read({"length_m": 60.0})
    for share in (0.0, 0.4, 0.9):
        fronts = []
        for part in kind.parts:
            mesh = part.make(values, np.random.default_rng(1), share)
            out = part.at(values, np.random.default_rng(1), share * part.period_s)[0, 1, 3]
            x, y = mesh.xyz[..., 0].mean(axis=1) // 10, mesh.xyz[..., 1].mean(axis=1) + out
            fronts.append([y[x == k].min() for k in range(-3, 3) if (x == k).any()])
        rows = [row for row in fronts if len(row) == 6]
        order = {tuple(np.argsort([row[k] for row in rows]).tolist()) for k in range(6)}

        assert len(rows) >= 3
        assert len(order) == 1


def test_surf_rolls_in_and_never_out() -> None:
    """Every line comes nearer from moment to moment until it starts anew far out."""
    values = KINDS["surf"].read({})
    for part in KINDS["surf"].parts:
        out = [part.at(values, np.random.default_rng(1), t)[0, 1, 3] for t in np.arange(0, 26, 1)]
        steps = np.diff(out)

        assert np.sum(steps > 0) <= 1
        assert max(out) > 0.9 * values.reach_m > 10 > min(out)


def test_a_wave_tells_its_surface_how_far_out_it_is() -> None:
    """Its v holds the front's distance in quarter metres and the metres behind it."""
    kind = KINDS["surf"]
    values = kind.read({"length_m": 20.0})
    part = kind.parts[1]
    mesh = part.make(values, np.random.default_rng(1), 0.3)
    out = float(part.at(values, np.random.default_rng(1), 0.3 * part.period_s)[0, 1, 3])
    v = mesh.uv[mesh.slot == mesh.slots.index("water")][..., 1] - FROTH_FROM_M

    assert np.unique(v // 64).tolist() == [round(4 * out)]
    assert 0.5 < (v % 64).min() < 1.5 < (v % 64).max() < 9


def test_boards_of_a_walk_lie_apart_and_above_the_sand() -> None:
    """A gap of some millimetres after every board; none is as wide as its share of the way."""
    kind = KINDS["boardwalk"]
    mesh = kind.make(kind.read({"drifts": False}), np.random.default_rng(2))
    boards = mesh.xyz[mesh.slot == mesh.slots.index("board")]
    top = boards[np.all(boards[..., 2] > 0.02, axis=1)]
    covered = np.abs(np.cross(top[:, 1] - top[:, 0], top[:, 2] - top[:, 0])[:, 2]).sum() / 2

    assert 0.88 * 16 < covered < 0.97 * 16
