"""A beard grows where beards grow, on the skin."""

import numpy as np

from render.world.things.faces import head_field
from render.world.things.worn.beards import beard_mesh


def test_a_beard_covers_jaw_and_upper_lip_and_leaves_mouth_and_eyes_free() -> None:
    """Hairs spring from the skin of chin, jaw and lip; none lies before the mouth or above it."""
    mesh = beard_mesh(1)
    hairs = 1000 * mesh.xyz.reshape(len(mesh.xyz) // 6, -1, 3)  # three steps of two faces a hair
    root, x, z = hairs[:, 0], np.abs(hairs[..., 0]), hairs[..., 2]
    before_the_mouth = (x < 16) & (np.abs(z + 68) < 5) & (hairs[..., 1] < -104)

    assert np.abs(head_field(root, 1)).max() < 2.0
    assert ((np.abs(root[:, 0]) < 10) & (root[:, 2] < -84)).sum() > 50
    assert ((np.abs(root[:, 0]) < 25) & (root[:, 2] > -62)).sum() > 50
    assert (np.abs(root[:, 0]) > 55).sum() > 50
    assert before_the_mouth.mean() < 0.002
    assert z[x < 45].max() < -30
    assert set(mesh.slots) == {"hair"}
