"""What is fixed to a room's walls stays inside the room and clear of its windows."""

import numpy as np

from render.world.mesh import join
from render.world.things.indoors.fittings import curtained, door_of, fittings, panelled

_W, _D, _H = 4.0, 6.0, 3.2
_HOLES = [(2.0, 3.5, 0.8, 2.6), (8.0, 9.5, 0.8, 2.6)]


def test_fittings_stay_in_the_room() -> None:
    """Nothing reaches through a wall, the floor or the ceiling by more than 2 cm."""
    parts = [*fittings(_W, _D, _H, _HOLES), *panelled(_W, _D, 1.0), *door_of(_W, _D)]
    parts += curtained(_W, _D, _HOLES, np.random.default_rng(1))
    away = np.abs(join(parts).xyz.reshape(-1, 3) - [0, 0, _H / 2]) - [_W, _D, _H / 2]

    assert away.max() < 0.02


def test_curtains_hang_beside_windows() -> None:
    """The middle 90 % of each window is clear."""
    mesh = join(curtained(_W, _D, _HOLES, np.random.default_rng(1)))
    cloth = mesh.xyz[mesh.slot == mesh.slots.index("curtain")].reshape(-1, 3)
    for left, right, _, _ in _HOLES:
        inside = np.abs(cloth[:, 1] + _D - (left + right) / 2) < 0.45 * (right - left)
        assert not inside.any()
