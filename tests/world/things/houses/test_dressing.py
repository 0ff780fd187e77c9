"""What hangs in windows and on walls."""

import numpy as np

from render.world.things.houses.dressing import fixtures, rain_pipe

_OPENINGS = [(1.0, 2.0, 0.95, 2.4), (3.2, 4.2, 0.95, 2.4), (5.5, 6.5, 0.0, 2.1)]


def test_what_is_screwed_to_a_wall_leaves_its_openings_free() -> None:
    """No vent, cable or box lies over a window or a door."""
    made = 0
    for seed in range(40):
        mesh = fixtures(8.0, 6.0, _OPENINGS, False, np.random.default_rng(seed))
        made += len(mesh.xyz) > 0
        at = mesh.xyz.mean(axis=1)
        for left, right, low, high in _OPENINGS:
            over = (at[:, 0] > left) & (at[:, 0] < right) & (at[:, 2] > low) & (at[:, 2] < high)
            assert not over.any()
        assert np.all((mesh.xyz[..., 0] > 0.0) & (mesh.xyz[..., 0] < 8.0))

    assert made > 35


def test_low_and_narrow_walls_are_dressed_too() -> None:
    """Whatever wall a house may have: as far as things find no place, they are left out."""
    for width, height in ((0.5, 2.0), (1.0, 2.6), (3.0, 3.0), (2.0, 1.0)):
        for seed in range(12):
            for shop in (False, True):
                mesh = fixtures(width, height, [], shop, np.random.default_rng(seed))
                assert np.isfinite(mesh.xyz).all()
                assert not len(mesh.xyz) or mesh.xyz[..., 2].max() < height + 0.4
                rain_pipe(0.0, height)
