"""Invented map data for tests: features laid out in metres round a point, written as files.

Metres become degrees by PROJ's geodesic, not by the program's own projection.
"""

import json
import math
from collections.abc import Sequence
from pathlib import Path

from pyproj import Geod

__all__ = ["AT", "box", "degrees", "feature", "write_geojson", "write_osm"]

AT = (47.0, -30.0)  # in the open ocean: nobody lives there
_GEOD = Geod(ellps="WGS84")

Points = Sequence[tuple[float, float]]


def degrees(x: float, y: float) -> tuple[float, float]:
    """Longitude and latitude of a place x metres east and y metres north of `AT`."""
    lon, lat, _ = _GEOD.fwd(AT[1], AT[0], math.degrees(math.atan2(x, y)), math.hypot(x, y))
    return lon, lat


def box(x: float, y: float, wide: float, deep: float) -> list[tuple[float, float]]:
    """Corners of a rectangle with its south-western corner at x, y; closed."""
    return [(x, y), (x + wide, y), (x + wide, y + deep), (x, y + deep), (x, y)]


def feature(points: Points, kind: str = "Polygon", **tags: object) -> dict[str, object]:
    """A GeoJSON feature; in the names of tags "__" stands for ":"."""
    places = [list(degrees(*p)) for p in points]
    coordinates: object = places
    if kind == "Polygon":
        coordinates = [places]
    if kind == "Point":
        coordinates = places[0]
    properties = {key.replace("__", ":"): value for key, value in tags.items()}
    return {
        "type": "Feature",
        "geometry": {"type": kind, "coordinates": coordinates},
        "properties": properties,
    }


def write_geojson(path: Path, features: Sequence[dict[str, object]], **members: object) -> Path:
    """Write a FeatureCollection."""
    content = {"type": "FeatureCollection", "features": list(features), **members}
    path.write_text(json.dumps(content))
    return path


def write_osm(
    path: Path,
    ways: Sequence[tuple[Points, dict[str, str]]],
    relations: Sequence[tuple[Sequence[tuple[int, str]], dict[str, str]]] = (),
    points: Sequence[tuple[tuple[float, float], dict[str, str]]] = (),
    head: str = "",
) -> Path:
    """Write OpenStreetMap XML: ways numbered from 1, relations of (number of way, role)."""
    nodes: dict[tuple[float, float], int] = {}
    number = {p: nodes.setdefault(p, len(nodes) + 1) for w, _ in ways for p in w}

    def tagged(tags: dict[str, str]) -> str:
        return "".join(
            f'<tag k="{k}" v="{v.replace(chr(34), "&quot;")}"/>' for k, v in tags.items()
        )

    lines = [f"<osm version='0.6' {head}>"]
    for p, n in nodes.items():
        lon, lat = degrees(*p)
        lines.append(f'<node id="{n}" version="1" lat="{lat:.7f}" lon="{lon:.7f}"/>')
    for k, (p, tags) in enumerate(points, start=len(nodes) + 1):
        lon, lat = degrees(*p)
        lines.append(
            f'<node id="{k}" version="1" lat="{lat:.7f}" lon="{lon:.7f}">{tagged(tags)}</node>'
        )
    for k, (way, tags) in enumerate(ways, start=1):
        refs = "".join(f'<nd ref="{number[p]}"/>' for p in way)
        lines.append(f'<way id="{k}" version="1">{refs}{tagged(tags)}</way>')
    for k, (members, tags) in enumerate(relations, start=1):
        inside = "".join(f'<member type="way" ref="{n}" role="{role}"/>' for n, role in members)
        lines.append(f'<relation id="{k}" version="1">{inside}{tagged(tags)}</relation>')
    path.write_text("\n".join([*lines, "</osm>"]))
    return path
