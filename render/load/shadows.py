"""What shades a place of a traced scene when the sun stands somewhere."""

import math

import numpy as np

from render.load.prepared import Prepared
from render.trace.rays import first_hit
from render.world.sun import ITSELF

__all__ = ["shadow_on"]

Point = tuple[float, float, float]

#: A ray begins this far off what it starts on, and a thing's middle lies so near its surface.
_OFF_M, _REACH_M = 0.05, 60.0


def shadow_on(
    prepared: Prepared,
    point_m: Point,
    heading_deg: float,
    height_deg: float,
    *,
    of: str | None = None,
) -> str:
    """Name what stands between a point of the scene and the sun; empty if nothing does.

    Parameters
    ----------
    prepared : Prepared
        A scene or map, with what it is built of.
    point_m : tuple of 3 floats
        In the scene's own metres: east, north, up.
    of : str, optional
        Name of what the point lies on: where that shades itself it is `render.world.sun.ITSELF`.
    """
    assert prepared.built is not None
    if height_deg <= 0:
        return "the earth"
    a, e = math.radians(heading_deg), math.radians(height_deg)
    way = np.array([math.sin(a) * math.cos(e), math.cos(a) * math.cos(e), math.sin(e)])
    start = np.asarray(point_m, float) + _OFF_M * way
    distance, placement, _triangle = first_hit(prepared.built.world, start, way, near=_OFF_M)
    if placement < 0:
        return ""
    hit = start + distance * way
    near = [
        (math.dist(hit, middle), name)
        for name, middle in prepared.built.spots.items()
        if math.dist(hit, middle) < _REACH_M
    ]
    name = min(near)[1] if near else "something near"
    return ITSELF if name == of else name
