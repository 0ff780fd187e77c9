"""Glasses sit before the eyes, on the nose, over the ears, and in no flesh."""

import numpy as np
import pytest

from render.world.things.faces import EYE_MM, head_field
from render.world.things.worn.glasses import glasses_mesh


@pytest.mark.parametrize("round_rims", [True, False])
def test_glasses_sit_on_a_face(round_rims: bool) -> None:
    """Rims go round the pupils 10 to 20 mm before the eyes; nothing is deeper in than the ears."""
    p = 1000 * glasses_mesh(round_rims).xyz.reshape(-1, 3)
    rims = p[(p[:, 1] < -92) & (p[:, 0] > 8)]

    assert rims[:, 0].min() < EYE_MM[0] < rims[:, 0].max()
    assert rims[:, 2].min() < -15 < 10 < rims[:, 2].max()
    assert -106 < rims[:, 1].mean() < -94
    assert head_field(p[p[:, 1] < -40], 1).min() > -0.5
    assert np.ptp(p[:, 0]) == pytest.approx(157, abs=8)
    assert p[:, 1].max() > 20
