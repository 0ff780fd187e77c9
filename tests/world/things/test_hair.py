"""Hair lies on the skull and keeps the face free."""

import numpy as np
import pytest

from render.world.things.faces import head_field
from render.world.things.hair import CUTS, brows_mesh, hair_mesh, lashes_mesh


@pytest.mark.parametrize("level", [0, 1])
@pytest.mark.parametrize("cut", [cut for cut in CUTS if cut != "bald"])
def test_hair_covers_the_skull_and_not_the_face(cut: str, level: int) -> None:
    """It rises over the crown and nothing of it shows between brows and chin."""
    mesh = hair_mesh(cut, level)
    p = 1000 * mesh.xyz.reshape(-1, 3)
    before = (p[:, 1] < -55) & (np.abs(p[:, 0]) < 45) & (p[:, 2] < 30)

    assert 115 < p[:, 2].max() < 150
    assert np.all(head_field(p[before], 0) < 0)
    assert np.all(np.isfinite(mesh.normal))
    np.testing.assert_allclose(np.linalg.norm(mesh.normal, axis=-1), 1, atol=1e-6)


def test_a_bald_head_has_none() -> None:
    """There is nothing to make, and asking for it says so."""
    with pytest.raises(ValueError, match="no hair"):
        hair_mesh("bald", 0)


def test_brows_sit_over_the_eyes_and_lashes_at_the_lids() -> None:
    """Brows 10 to 35 mm above the pupils, lashes within 12 mm of an eyeball's skin."""
    brow, lash = 1000 * brows_mesh(2).xyz, 1000 * lashes_mesh().xyz

    assert brow[..., 2].min() > 8
    assert brow[..., 2].max() < 35
    away = np.linalg.norm(lash * [np.sign(1), 1, 1] - [31.5, -72, 0], axis=-1)
    other = np.linalg.norm(lash - [-31.5, -72, 0], axis=-1)
    assert np.all(np.minimum(away, other) < 12 + 12)
