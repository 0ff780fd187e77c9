"""Textures by rule: bounded, repeatable, and fading into their mean with distance."""

import numpy as np
import pytest

from render.world.surfaces.material import Material
from render.world.surfaces.rules import RULES
from tests.world.surfaces.looks import looks


def _looked_at(material: Material, foot_m: float, count: int = 400) -> np.ndarray:
    return looks(material, np.random.default_rng(3).uniform(-40, 40, (count, 2)), foot_m)


@pytest.mark.parametrize("rule", RULES)
def test_every_rule_gives_a_colour_that_can_be(rule: str) -> None:
    """Albedo from 0 to 0.97, near and far, without a NaN."""
    for foot in (0.001, 0.05, 5.0):
        seen = _looked_at(Material.of({"rule": rule, "mottle": 0.5}), foot, 100)

        assert np.all(np.isfinite(seen))
        assert np.all((seen[:, :3] >= 0) & (seen[:, :3] <= 0.97))


@pytest.mark.parametrize(
    "rule",
    ["brick", "paving", "tiles", "planks", "stripes", "checks", "gravel", "trodden", "mire"],
)
def test_detail_fades_into_its_mean(rule: str) -> None:
    """From far away units differ little, and the mean colour is the one seen from near."""
    material = Material.of({"rule": rule, "colour": "#b07050"})
    near, far = _looked_at(material, 0.004, 3000), _looked_at(material, 30.0)

    assert far[:, 0].std() < 0.25 * near[:, 0].std()
    assert far[:, 0].mean() == pytest.approx(near[:, 0].mean(), rel=0.16)


def test_joints_are_as_wide_as_they_are_said_to_be() -> None:
    """Slabs of 0.5 by 0.5 m with 0.1 m joints: 1 - 0.8^2 = 36 % of the surface is joint."""
    words = {"rule": "paving", "size_m": (0.5, 0.5), "joint_m": 0.1, "bond": 0.0, "vary": 0.0}
    material = Material.of({**words, "colour": "#000000", "second": "#ffffff"})

    joint = _looked_at(material, 0.001, 6000)[:, 0] > 0.5
    assert joint.mean() == pytest.approx(1 - 0.8**2, abs=0.02)
