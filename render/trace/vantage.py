"""Where a camera cannot stand."""

import numpy as np

from render.errors import SettingError
from render.trace.build import Built
from render.trace.rays import first_hit
from render.words import length_words
from render.world.description import Description
from render.world.ground import ground_height

__all__ = ["refuse_bad_vantage"]


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
