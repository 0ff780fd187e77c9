"""Front doors, which maps leave out: one a house, in the wall nearest to a street."""

from collections.abc import Sequence

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from render.world.place.buildings.building import Building
from render.world.place.soup import Soup

__all__ = ["add_doors"]

Floats = NDArray[np.float64]

#: Farther away than this nobody sees a door; nearer to the camera nothing made up stands, m.
_FAR_M, _FREE_M = 300.0, 12.0
_WALL_M, _STREET_M = 2.4, 60.0
#: Leaf, its frame, and the step before it: half width, height, and how far before the wall, m.
#: Usual sizes, common practice, no source; large houses have two leaves.
_LEAF, _FRAME, _STEP = (0.5, 2.1, 0.05), (0.72, 2.4, 0.03), (0.8, 0.14, 0.42)
_LEAVES = ("#5a2f28", "#2f4a3a", "#3a4658", "#6a5238", "#d8d2c4", "#7a2a2a", "#4a4a4c")


def add_doors(soup: Soup, buildings: Sequence[Building], streets: BaseGeometry | None) -> int:
    """Put a door into each house that has windows and a street near; returns how many."""
    if streets is None or streets.is_empty:
        return 0
    origin = shapely.Point(0, 0)
    count = 0
    for b in buildings:
        away = b.outline.distance(origin)
        if b.look.wall is None or b.standing.low_m > 0 or not _FREE_M < away < _FAR_M:
            continue
        wall = _wall_to(b, streets)
        if wall is not None:
            _add_door(soup, b, *wall)
            count += 1
    return count


def _wall_to(b: Building, streets: BaseGeometry) -> tuple[Floats, Floats] | None:
    """Ends of the outer wall whose middle is nearest to a street; None where none is."""
    ring = shapely.get_coordinates(shapely.geometry.polygon.orient(b.outline, 1.0).exterior)
    start, end = ring[:-1], ring[1:]
    long = np.hypot(*(end - start).T) >= _WALL_M
    if not long.any():
        return None
    start, end = start[long], end[long]
    away = shapely.distance(streets, shapely.points((start + end) / 2))
    best = int(np.argmin(np.round(away, 2)))
    return (start[best], end[best]) if away[best] < _STREET_M else None


def _add_door(soup: Soup, b: Building, start: Floats, end: Floats) -> None:
    run = end - start
    length = float(np.hypot(*run))
    along = run / length
    out = np.array([along[1], -along[0]])  # outlines run counter-clockwise
    bays = max(1, int(length / b.look.bay_m))
    middle = start + along * length * (bays // 2 + 0.5) / bays
    double = 2.0 if b.outline.area > 250 and length > 6 else 1.0
    pieces = (
        (_FRAME, "stone"),
        (_LEAF, f"door {_LEAVES[b.seed % len(_LEAVES)]}"),
        (_STEP, "stone"),
    )
    for (half, tall, proud), slot in pieces:
        half = half * double
        corners = np.array(
            [
                middle - half * along - 0.05 * out,
                middle - half * along + proud * out,
                middle + half * along + proud * out,
                middle + half * along - 0.05 * out,
            ]
        )
        soup.block(corners, b.ground_m - 0.3, b.ground_m + tall, slot)
