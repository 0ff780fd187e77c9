"""From arrays into the compiled loops: single rays, what they tell, and loops over rows."""

from collections.abc import Callable
from typing import Any

import numpy as np
from numpy.typing import NDArray

from render.threads import each_share
from render.trace.columns import LEVEL
from render.trace.kernels.beam import beam_address
from render.trace.light import Light, Surfaces, shown
from render.trace.tree.bvh import World
from render.trace.walk import ROOM, closest_hit, walkable
from render.world.surfaces.tables import addressed

__all__ = ["first_hit", "over_rows", "ray_rooms"]


def ray_rooms(count: int) -> NDArray[np.uint8]:
    """Scratch space for the rays of some tasks, (count, ROOM) bytes, each on a cache line."""
    room = np.empty(count * ROOM + 64, np.uint8)
    skip = -room.ctypes.data % 64
    return room[skip : skip + count * ROOM].reshape(count, ROOM)


def over_rows(
    loop: Callable[..., None],
    world: World,
    surfaces: Surfaces,
    light: Light,
    rows: int,
    *args: Any,
) -> None:
    """Call a loop of `render.trace.kernels` on runs of rows, each with scratch space of its own.

    The loop gets the scene's tables, the space, `args`, and the first row and the last + 1.
    """
    tables = (walkable(world, beam_address()), shown(surfaces), addressed(light))

    def run(first: int, last: int) -> None:
        room, numbers = ray_rooms(1), np.empty(LEVEL + 8 + light.lamps)
        loop(*tables, room.ctypes.data, numbers, *args, first, last)

    each_share(rows, run)


def first_hit(
    world: World, place: NDArray[np.float64], way: NDArray[np.float64], near: float = 1e-4
) -> tuple[float, int, int]:
    """The first triangle along one ray.

    Returns
    -------
    distance : float
        In lengths of `way`.
    placement : int
        -1 if the ray meets nothing.
    triangle : int
    """
    room, walk = ray_rooms(1), walkable(world)
    (x, y, z), (dx, dy, dz) = place.tolist(), way.tolist()
    t, p, k, _u, _v = closest_hit(walk, room.ctypes.data, x, y, z, dx, dy, dz, near, 1e6)
    return float(t), int(p), int(k)
