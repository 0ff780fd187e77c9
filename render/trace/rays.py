"""From arrays into the compiled loops: single rays, what they tell, and loops over rows."""

from collections.abc import Callable
from typing import Any

import numpy as np
from numpy.typing import NDArray

from render.errors import SettingError
from render.threads import each_share
from render.trace.build import Built
from render.trace.bvh import World
from render.trace.columns import LEVEL
from render.trace.kernels.beam import beam_address
from render.trace.light import Light, Surfaces, shown
from render.trace.walk import ROOM, closest_hit, walkable
from render.words import length_words
from render.world.description import Description
from render.world.ground import ground_height
from render.world.surfaces.tables import addressed

__all__ = ["first_hit", "over_rows", "ray_rooms", "refuse_bad_vantage"]


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


def refuse_bad_vantage(
    description: Description, built: Built, at_m: tuple[float, float, float], height_m: float
) -> None:
    """Raise if the camera is below the ground, inside something solid, or against a surface.

    Raises
    ------
    SettingError
        One sentence with what is in the way.
    """
    x, y, z = at_m
    if description.ground is not None:
        floor = float(ground_height(description.ground, np.array(x), np.array(y)))
        if not z > floor:
            raise SettingError(
                f"the camera would stand {length_words(floor - z)} below the ground of "
                f"{description.name}: give a height above 0"
            )
    inside: list[str] = []
    rays = np.array(
        [
            [0.31, 0.22, 0.92],
            [-0.83, 0.41, 0.37],
            [0.64, -0.72, 0.27],
            [-0.2, -0.5, 0.84],
            [0.1, 0.9, 0.42],
        ]
    )
    for d in rays:
        _t, p, k = first_hit(built.world, np.array(at_m), d)
        if p < 0:
            continue
        thing = int(built.surfaces.thing[k])
        if not built.solid[p][thing]:
            continue
        tri = built.world.tri[k]
        m = built.world.inverse[p].reshape(3, 4)[:, :3]
        outward = np.cross(tri[3:6], tri[6:9]) @ m
        if outward @ d > 0:
            inside.append(built.names[p][thing])
    if len(inside) >= 3:
        raise SettingError(
            f"the camera would stand inside the {inside[0]} of {description.name} "
            f"(x {x:.1f}, y {y:.1f}, {length_words(height_m)} above the "
            "ground): go higher, or "
            "change distance or heading"
        )
