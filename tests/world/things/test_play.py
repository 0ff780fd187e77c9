"""Kinds of things in `play`: every one can be made, stands on the ground, repeats by seed."""

import numpy as np
import pytest

from render.world.things import load_kinds
from render.world.things.kind import KINDS
from tests.world.things.shapes import check_kind

load_kinds()


@pytest.mark.parametrize(
    "name", sorted(k for k, v in KINDS.items() if v.make.__module__.endswith(".play"))
)
def test_the_kind_can_be_made(name: str) -> None:
    """Finite triangles of known stuff, unit normals, on the ground, the same for the same seed."""
    check_kind(name)


def test_cabins_hang_upright_on_a_wheel_that_turns() -> None:
    """A quarter of a turn later each is where the rim is; none is ever tilted."""
    kind = KINDS["big wheel"]
    values, quarter_s = kind.read({"radius_m": 10, "cabins": 8}), 7.0 * 10 / 4
    rim, cabins = kind.parts
    for time_s in (0.0, quarter_s):
        places = cabins.at(values, np.random.default_rng(1), time_s)
        turn = rim.at(values, np.random.default_rng(1), time_s)[0]
        spokes = np.array(
            [[10 * np.cos(a), 0, 10 * np.sin(a), 1] for a in np.arange(8) * np.pi / 4]
        )

        np.testing.assert_allclose(places[:, :3, :3], np.tile(np.eye(3), (8, 1, 1)))
        np.testing.assert_allclose(places[:, :3, 3], (spokes @ turn.T)[:, :3], atol=1e-9)
    first = cabins.at(values, np.random.default_rng(1), 0.0)
    later = cabins.at(values, np.random.default_rng(1), quarter_s)
    np.testing.assert_allclose(later[:6, :3, 3], first[2:, :3, 3], atol=1e-9)


def test_horses_go_round_with_their_poles() -> None:
    """Every horse stays on its pole of the turning floor, and above it."""
    kind = KINDS["carousel"]
    values = kind.read({})
    floor, horse = kind.parts
    legs = -horse.make(values, np.random.default_rng(1), 0.0).xyz[..., 2].min()
    first = horse.at(values, np.random.default_rng(1), 0.0)[:, :2, 3]
    for time_s in (0.0, 3.0, 8.5):
        turn = floor.at(values, np.random.default_rng(1), time_s)[0]
        places = horse.at(values, np.random.default_rng(1), time_s)

        np.testing.assert_allclose(places[:, :2, 3], first @ turn[:2, :2].T, atol=1e-9)
        assert places[:, 2, 3].min() - legs > 0.4


def test_a_seesaw_rocks_only_with_riders_and_never_into_the_ground() -> None:
    """Its beam leans one way, then the other."""
    kind = KINDS["seesaw"]
    part, times = kind.parts[0], np.arange(0, 2.6, 0.1)
    lean = {}
    for riders in (False, True):
        values = kind.read({"riders": riders})
        mesh = part.make(values, np.random.default_rng(1), 0.0).xyz
        places = [part.at(values, np.random.default_rng(1), t)[0] for t in times]
        lean[riders] = {round(float(p[2, 1]), 3) for p in places}

        assert min((mesh @ p[:3, :3].T + p[:3, 3])[..., 2].min() for p in places) > 0
    assert len(lean[False]) == 1
    assert min(lean[True]) < -0.15 < 0.15 < max(lean[True])


def test_a_swing_has_as_many_seats_as_said() -> None:
    """Ridden ones and empty ones together; each hangs from the bar at all times."""
    kind = KINDS["swing"]
    for riders in (0, 2, 3):
        values = kind.read({"seats": 3, "riders": riders})
        places = [p.at(values, np.random.default_rng(1), 1.9) for p in kind.parts]

        assert [len(p) for p in places] == [riders, 3 - riders]
        np.testing.assert_allclose(np.concatenate(places)[:, 1:3, 3], [[0.0, 2.4]] * 3)
