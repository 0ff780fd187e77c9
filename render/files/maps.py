"""Files of open map data: OpenStreetMap XML and PBF, and GeoJSON."""

import math
from dataclasses import replace
from pathlib import Path

import numpy as np

from render.extras import needed
from render.files.inputs import input_file
from render.limits import CROSSING_POINTS, MAP_BYTES
from render.shot.placekeys import plain_name
from render.world.place.mapdata import MapData

__all__ = ["read_map"]

_METRES_A_DEGREE = 111_000.0


def read_map(
    path: Path, near: tuple[float, float, float] | None = None, credit: str | None = None
) -> MapData:
    """Read a file of map data.

    Parameters
    ----------
    path : Path
    near : (latitude, longitude, metres), optional
        Features that lie farther away are left out; the bounds are those of the whole file.
    credit : str, optional
        Whom to credit, in place of what the file says.

    Raises
    ------
    InputError
        If it is missing, damaged, of another kind, in another coordinate system, or empty; or a
        library for it is not installed.
    """
    input_file(path, what="map file", most=MAP_BYTES)
    needed("shapely", "a map file")
    needed("pyproj", "a map file")
    box = _box(*near) if near else None
    if path.name.lower().endswith((".geojson", ".json")):
        from render.files.geojson import read_geojson

        data = read_geojson(path, plain_name(path.name), box)
    else:
        needed("osmium", "OpenStreetMap data")
        from render.files.osm import read_osm

        data = read_osm(path, plain_name(path.name), box)
    data = _without_tangles(data)
    return data if credit is None else replace(data, credit=credit)


def _without_tangles(data: MapData) -> MapData:
    """Leave out what crosses itself with more points than can be mended, and say so."""
    import shapely

    shapes = np.array([feature.shape for feature in data.features], dtype=object)
    long = np.flatnonzero(shapely.get_num_coordinates(shapes) > CROSSING_POINTS.most)
    tangled = {
        int(k) for k in long if not (shapely.is_valid(shapes[k]) and shapely.is_simple(shapes[k]))
    }
    if not tangled:
        return data
    which, were = "1 outline that crosses itself and has", "was"
    if len(tangled) > 1:
        which, were = f"{len(tangled)} outlines that cross themselves and have", "were"
    said = f"{which} {CROSSING_POINTS.words()} {were} left out"
    kept = tuple(f for k, f in enumerate(data.features) if k not in tangled)
    return replace(data, features=kept, remarks=(*data.remarks, said))


def _box(latitude: float, longitude: float, reach_m: float) -> tuple[float, float, float, float]:
    """West, south, east and north of a square round a place, a tenth wider than its reach."""
    up = 1.1 * reach_m / _METRES_A_DEGREE
    aside = up / max(math.cos(math.radians(min(abs(latitude) + up, 89.0))), 0.02)
    return longitude - aside, latitude - up, longitude + aside, latitude + up
