"""A shirt's collar stands round a neck, alike on both sides, and opens at the throat."""

import numpy as np

from render.world.things.worn.collars import collar_mesh, neckline_mm, shirt_front


def test_a_collar_stands_round_the_neck_and_is_open_before_it() -> None:
    """5 to 9 cm from the neck's middle all round; nothing of it in the middle of the throat."""
    mesh = collar_mesh("shirt", 9)
    x, y, z = 1000 * mesh.xyz.reshape(-1, 3).T
    away = np.hypot(x, y - 19)
    above = z - neckline_mm(y)

    assert 55 < away.min() < away.max() < 90
    assert -20 < above.min() < above.max() < 40
    assert np.abs(x[y < 0]).min() > 8
    np.testing.assert_allclose(np.sort(x), np.sort(-x), atol=1e-9)
    assert set(mesh.slots) == {"shirt"}


def test_a_shirt_front_fills_what_the_collar_leaves_open() -> None:
    """It lies before the neck, under the collar's points, and faces -y in the middle."""
    mesh = shirt_front()
    x, y, z = 1000 * mesh.xyz.reshape(-1, 3).T
    above = z - neckline_mm(y)

    assert np.hypot(x, y - 19).min() > 55
    assert -23 < above.min() < above.max() < 10
    assert np.all(mesh.normal[np.abs(mesh.xyz[..., 0]).max(axis=1) < 0.01][..., 1] < 0)
