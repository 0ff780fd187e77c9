"""From arrays into the compiled loops: single rays, and loops over the rows of a picture."""

from collections.abc import Callable
from typing import Any

import numpy as np
from numpy.typing import NDArray

from render.trace.bvh import World
from render.trace.kernels import LEVEL
from render.trace.light import Light, Surfaces
from render.trace.walk import ROOM, closest_hit
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
    """Call a loop of `render.trace.kernels` with the scene's tables and scratch space for rows."""
    rooms, numbers = ray_rooms(rows), np.empty((rows, LEVEL + 8 + light.lamps))
    tables = (addressed(world), addressed(surfaces), addressed(light))
    loop(*tables, rooms.ctypes.data, numbers, *args)


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
    room, walk = ray_rooms(1), addressed(world)
    (x, y, z), (dx, dy, dz) = place.tolist(), way.tolist()
    t, p, k, _u, _v = closest_hit(walk, room.ctypes.data, x, y, z, dx, dy, dz, near, 1e6)
    return float(t), int(p), int(k)
