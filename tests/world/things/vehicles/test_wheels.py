"""Wheels."""

import numpy as np
import pytest

from render.world.things.vehicles.wheels import road_wheel, wheel


@pytest.mark.parametrize("made", [wheel(0.4, 0.2), road_wheel(0.4, 0.2, 5)], ids=["disc", "spokes"])
def test_a_wheel_turns_about_x_and_keeps_to_its_size(made) -> None:  # type: ignore[no-untyped-def]
    """No part lies outside its tyre, which reaches to the radius and is as wide as asked for."""
    xyz = made.xyz.reshape(-1, 3)

    assert np.hypot(xyz[:, 1], xyz[:, 2]).max() == pytest.approx(0.4, rel=0.01)
    assert np.abs(xyz[:, 0]).max() == pytest.approx(0.1, rel=0.01)


def test_spokes_are_seen_from_both_sides() -> None:
    """As many faces of metal look one way along the axis as the other."""
    made = road_wheel(0.4, 0.2, 7)
    metal = made.normal[made.slot == made.slots.index("rim"), 0, 0]

    assert np.sum(metal > 0.9) == np.sum(metal < -0.9) > 14
