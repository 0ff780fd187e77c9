"""Water's waves: as steep as the material says, whether a picture resolves them or not."""

import numpy as np
import pytest

from render.world.surfaces.material import Material
from tests.world.surfaces.looks import looks


@pytest.mark.parametrize("foot_m", [0.001, 0.2, 4.0])
def test_what_is_not_resolved_is_kept_as_spread(foot_m: float) -> None:
    """Mean square slope of drawn waves and the variance of the others together are relief^2.

    From near some waves are drawn, from afar none.
    """
    water = Material.of({"rule": "water", "relief": 0.12, "size_m": (2.2, 2.2)})
    spots = np.random.default_rng(3).uniform(-400, 400, (3000, 2))
    seen = looks(water, spots, foot_m)
    drawn = float(np.mean(seen[:, 7] ** 2 + seen[:, 8] ** 2))

    assert drawn + seen[:, 9].mean() == pytest.approx(0.12**2, rel=0.06)
    assert (drawn == 0.0) if foot_m == 4.0 else (drawn > 0.2 * 0.12**2)


def test_only_water_has_such_a_spread() -> None:
    """Of all other rules it is below 0."""
    assert looks(Material.of({"rule": "plain"}), np.zeros((1, 2)), 0.01)[0, 9] < 0
