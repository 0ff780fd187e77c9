"""What stands on a map beside buildings: walls, fences, hedges, towers, chimneys, masts."""

from collections.abc import Callable, Iterable, Mapping

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry

from render.world.mesh import Mesh, cylinder, join, moved
from render.world.place.heights import parse_length_m
from render.world.place.mapdata import Feature
from render.world.place.soup import Soup

__all__ = ["add_barriers", "tower_meshes"]

Floats = NDArray[np.float64]

#: Thickness, usual height (m) and material of barriers: common practice, no source.
_BARRIERS = {
    "wall": (0.3, 1.8, "stone"),
    "city_wall": (2.0, 7.0, "stone"),
    "retaining_wall": (0.4, 1.2, "concrete"),
    "fence": (0.06, 1.2, "planks"),
    "hedge": (0.8, 1.6, "hedge ground"),
    "guard_rail": (0.2, 0.75, "steel"),
}
#: Usual height, radius at foot and at top (m), and material of what stands on one spot.
_TOWERS = {
    "chimney": (40.0, 1.6, 1.1, "brick"),
    "tower": (25.0, 2.5, 2.2, "concrete"),
    "water_tower": (30.0, 3.0, 4.5, "concrete"),
    "mast": (30.0, 0.35, 0.2, "steel"),
    "communications_tower": (60.0, 4.0, 2.0, "concrete"),
    "lighthouse": (25.0, 3.0, 2.2, "white paint"),
    "silo": (15.0, 2.5, 2.5, "concrete"),
    "storage_tank": (10.0, 6.0, 6.0, "white paint"),
    "gasometer": (25.0, 12.0, 12.0, "steel"),
    "windmill": (18.0, 4.0, 2.8, "stone"),
    "flagpole": (8.0, 0.06, 0.04, "white paint"),
    "obelisk": (12.0, 0.9, 0.4, "stone"),
}


def add_barriers(
    soup: Soup,
    features: Iterable[Feature],
    disc: Polygon,
    ground: Callable[[Floats], Floats],
) -> int:
    """Draw walls, fences and hedges along their lines; returns how many."""
    count = 0
    for feature in features:
        kind = _BARRIERS.get(feature.tags.get("barrier", ""))
        if kind is None or feature.shape.geom_type == "Point":
            continue
        thick, usual, material = kind
        line = feature.shape
        if line.geom_type in ("Polygon", "MultiPolygon"):
            line = line.boundary
        high = _height(feature.tags, usual)
        band = line.intersection(disc).simplify(0.1)
        if band.is_empty:
            continue
        count += 1
        for piece in _polygons(band.buffer(thick / 2, cap_style="flat", quad_segs=2)):
            _extrude(soup, piece, high, material, ground)
    return count


def tower_meshes(
    features: Iterable[Feature],
    reach_m: float,
    ground: Callable[[Floats], Floats],
    buildings: BaseGeometry,
) -> tuple[Mesh | None, int]:
    """Round towers, chimneys, masts and tanks on their spots, as one mesh, and how many.

    One that stands on the outline of a building is left to that building.
    """
    parts = []
    for feature in features:
        tags, shape = feature.tags, feature.shape
        kind = tags.get("man_made", "")
        kind = "obelisk" if tags.get("historic") == "obelisk" else kind
        if kind not in _TOWERS or tags.get("building", "no") != "no":
            continue
        if shape.distance(shapely.Point(0, 0)) > reach_m:
            continue
        if kind != "chimney" and shape.centroid.intersects(buildings):
            continue
        usual, foot, top, material = _TOWERS[kind]
        at = np.array(shape.centroid.coords[:1])
        wide = parse_length_m(tags.get("diameter", ""))
        if shape.geom_type in ("Polygon", "MultiPolygon"):
            wide = 2 * float(np.sqrt(shape.area / np.pi))
        if wide is not None and 0.1 <= wide <= 120:
            top, foot = wide / 2 * top / foot, wide / 2
        high = _height(tags, usual)
        z = float(ground(at)[0])
        body = cylinder(foot, high + 1.0, material, top_radius=top, sides=24)
        parts.append(moved(body, (float(at[0, 0]), float(at[0, 1]), z - 1.0)))
    return (join(parts) if parts else None), len(parts)


def _height(tags: Mapping[str, str], usual: float) -> float:
    given = parse_length_m(tags.get("height", ""))
    return given if given is not None and 0.1 <= given <= 900 else usual


def _extrude(
    soup: Soup, piece: Polygon, high: float, material: str, ground: Callable[[Floats], Floats]
) -> None:
    """Upright faces that follow the ground along the line, and a level top on each."""
    piece = shapely.geometry.polygon.orient(piece.segmentize(6.0), 1.0)
    rings = [shapely.get_coordinates(r) for r in (piece.exterior, *piece.interiors)]
    heights = [ground(ring) for ring in rings]
    for ring, z in zip(rings, heights, strict=True):
        run = 0.0
        for k in range(len(ring) - 1):
            (ax, ay), (bx, by) = ring[k].tolist(), ring[k + 1].tolist()
            step = float(np.hypot(bx - ax, by - ay))
            a, b = float(z[k]), float(z[k + 1])
            soup.quad(
                ((ax, ay, a - 0.4), (bx, by, b - 0.4), (bx, by, b + high), (ax, ay, a + high)),
                ((run, 0.0), (run + step, 0.0), (run + step, high), (run, high)),
                material,
            )
            run += step
    plane = _fitted(np.concatenate(rings), np.concatenate(heights))
    soup.flat(piece, (plane[0], plane[1], plane[2] + high), material)


def _fitted(xy: Floats, z: Floats) -> tuple[float, float, float]:
    if np.ptp(z) < 1e-6:
        return 0.0, 0.0, float(z[0])
    found = np.linalg.lstsq(np.column_stack([xy, np.ones(len(xy))]), z, rcond=None)[0]
    return float(found[0]), float(found[1]), float(found[2])


def _polygons(shape: BaseGeometry) -> list[Polygon]:
    return [p for p in shapely.get_parts(shape) if isinstance(p, Polygon) and p.area > 1e-3]
