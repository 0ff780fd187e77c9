"""Kinds of things in `waving`: every one can be made, stands on the ground, repeats by seed."""

import numpy as np
import pytest

from render.world.things import load_kinds
from render.world.things.kind import KINDS
from render.world.things.waving import rocking, wake
from tests.world.things.shapes import check_kind

load_kinds()


@pytest.mark.parametrize(
    "name", sorted(k for k, v in KINDS.items() if v.make.__module__.endswith(".waving"))
)
def test_the_kind_can_be_made(name: str) -> None:
    """Finite triangles of known stuff, unit normals, on the ground, the same for the same seed."""
    check_kind(name)


def test_a_wake_keeps_kelvins_angle_whatever_the_speed() -> None:
    """Crests lie along a V of arcsin(1/3) to either side (Thomson 1887, from memory).

    No fleck of foam is as large as a sheet of paper: they lay on dark water like confetti.
    """
    for speed_m_s in (2.0, 4.0):
        mesh = wake(9.0, 3.0, speed_m_s)
        crests = mesh.xyz[mesh.slot == mesh.slots.index("wave")].reshape(-1, 3)
        last = crests[crests[:, 0].argmax()]
        first = crests[(crests[:, 0] > 0) & (crests[:, 1] < last[1] - 3)]
        slope = np.min((last[0] - first[:, 0]) / (last[1] - first[:, 1]))

        assert slope == pytest.approx(np.tan(np.arcsin(1 / 3)), rel=0.02)
        assert mesh.xyz[..., 1].min() > -4.5
        assert np.ptp(mesh.xyz[mesh.slot == mesh.slots.index("foam")], axis=1).max() < 0.25


def test_a_flag_waves_and_is_the_same_again_after_its_period() -> None:
    """Its cloth hangs on the pole; halfway through the period it is bent the other way."""
    part = KINDS["flag"].parts[0]
    values = KINDS["flag"].read({})
    start, half, whole = (part.make(values, np.random.default_rng(1), k) for k in (0, 0.5, 1))

    np.testing.assert_allclose(start.xyz, whole.xyz, atol=1e-9)
    np.testing.assert_allclose(start.xyz[..., 1], -half.xyz[..., 1], atol=1e-9)
    assert np.abs(start.xyz[..., 1][start.xyz[..., 0] < 0.05]).max() < 1e-9
    assert np.abs(start.xyz[..., 1]).max() > 0.1


def test_boats_lie_level_at_first_and_small_ones_rock_more() -> None:
    """Nothing is changed at time 0; a rowing boat rolls farther than a barge."""
    np.testing.assert_array_equal(rocking(8.0, 2.5, 0.0), np.eye(4))
    small, large = (
        max(abs(rocking(n, b, t)[0, 2]) for t in np.arange(0, 9, 0.1))
        for n, b in ((4.2, 1.5), (24.0, 5.3))
    )
    assert small > 2 * large > 0
