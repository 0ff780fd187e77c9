"""From arrays into the compiled loops."""

from typing import Any

import numpy as np

from render.trace.build import build
from render.trace.rays import first_hit, over_rows, ray_rooms
from render.trace.walk import ROOM
from tests.world.worlds import described


def test_every_task_has_its_own_aligned_room() -> None:
    """Rooms follow each other without a gap, each on a cache line."""
    rooms = ray_rooms(3)

    assert rooms.shape == (3, ROOM)
    assert rooms.strides[0] == ROOM
    assert rooms.ctypes.data % 64 == 0
    assert ROOM % 64 == 0


def test_a_ray_finds_the_nearest_thing_and_says_when_there_is_none() -> None:
    """A wall 8 m away hides one at 20 m; beyond `near` the second is the first."""
    wall = {"kind": "box", "size_m": [9, 2, 9]}
    d = described([{**wall, "at_m": [0, 9]}, {**wall, "at_m": [0, 21]}], ground={"none": True})
    world, place = build(d).world, np.array([0.0, 0.0, 2.0])

    assert first_hit(world, place, np.array([0.0, 1.0, 0.0]))[:2] == (8.0, 0)
    assert first_hit(world, place, np.array([0.0, 1.0, 0.0]), near=11.0)[0] == 20.0
    assert first_hit(world, place, np.array([0.0, 0.0, 1.0]))[1] == -1


def test_loops_get_the_addresses_of_the_scene() -> None:
    """And scratch space, for runs of rows that cover the picture once."""
    built = build(described([]))
    got: list[tuple[Any, ...]] = []
    over_rows(lambda *a: got.append(a), built.world, built.surfaces, built.light, 5, "more")
    w, s, light, room, numbers, more, *_rows = got[0]

    assert w.tri == built.world.tri.ctypes.data
    assert min(w.closest, w.any, s.texture) > 0
    assert s.row == built.surfaces.row.ctypes.data
    assert light.cloud == built.light.cloud
    assert isinstance(room, int)
    assert isinstance(numbers, np.ndarray)
    assert more == "more"
    assert sorted(i for a in got for i in range(a[-2], a[-1])) == list(range(5))
