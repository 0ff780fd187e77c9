"""GeoJSON (RFC 7946) as map data: geometries, and properties as OpenStreetMap's tags."""

import json
import math
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

import numpy as np
import pyproj
import shapely
import shapely.geometry
from numpy.typing import NDArray

from render.errors import InputError
from render.files.memory import check_memory
from render.limits import FEATURES
from render.world.place.mapdata import Feature, MapData

__all__ = ["read_geojson"]

Box = tuple[float, float, float, float]
Floats = NDArray[np.float64]

#: Property names that other data uses, and the tag each means.
_NAMES = {
    **dict.fromkeys(("height_m", "building_height", "render_height", "bldg_height"), "height"),
    **dict.fromkeys(("hoehe", "measuredheight", "measured_height", "roofheight_m"), "height"),
    **dict.fromkeys(("levels", "storeys", "stories", "floors", "num_floors"), "building:levels"),
    **dict.fromkeys(("building_levels", "numfloors"), "building:levels"),
    **dict.fromkeys(("min_height_m", "render_min_height"), "min_height"),
    **dict.fromkeys(("roof_shape", "rooftype"), "roof:shape"),
    **dict.fromkeys(("roof_height",), "roof:height"),
    **dict.fromkeys(("building_colour", "building_color", "colour", "color"), "building:colour"),
    **dict.fromkeys(("roof_colour", "roof_color"), "roof:colour"),
}
#: Memory per byte of a file that is nothing but short coordinates: 28 were measured.
_BYTES_UNFOLDED = 30
_CREDITS = ("attribution", "copyright", "credit", "credits", "license", "licence", "source")
_WGS84 = ("crs84", "epsg::4326", "epsg:4326", "wgs84", "wgs 84", "epsg:6.9:4326")
_SHAPES = (
    *("Point", "MultiPoint", "LineString", "MultiLineString", "Polygon", "MultiPolygon"),
    "GeometryCollection",
)


def read_geojson(path: Path, name: str, box: Box | None) -> MapData:
    """Read a GeoJSON file. Errors as in `render.files.maps.read_map`.

    Polygons that say nothing else but a height or storeys count as buildings.
    """
    check_memory(str(path), _BYTES_UNFOLDED * path.stat().st_size, "cut out the part you see")
    try:
        content = json.loads(path.read_text(encoding="utf-8-sig"), parse_constant=_no_number)
    except (OSError, UnicodeDecodeError) as error:
        raise InputError(f"{path} cannot be read ({error}): check the file") from None
    except RecursionError:
        raise InputError(f"{path} is not readable JSON (nested too deep): export it anew") from None
    except ValueError as error:
        reason = str(error)[:120]
        raise InputError(f"{path} is not readable JSON ({reason}): export it once more") from None
    except MemoryError:
        raise InputError(f"{path} does not fit into memory: cut out the part you see") from None
    if not isinstance(content, dict) or content.get("type") not in (
        *("FeatureCollection", "Feature"),
        *_SHAPES,
    ):
        raise InputError(
            f"{path} is JSON but no GeoJSON: it must be a FeatureCollection of buildings, streets "
            "and so on"
        )
    to_degrees = _to_degrees(path, content.get("crs"))
    features: list[Feature] = []
    every: list[Box] = []
    entries = _entries(path, content)
    FEATURES.check(len(entries), f"{path} holds {len(entries):,} features", "cut a part out")
    for number, entry in enumerate(entries, start=1):
        feature = _feature(path, number, entry)
        if feature is None:
            continue
        if to_degrees is not None:
            feature = Feature(feature.tags, shapely.transform(feature.shape, to_degrees))
        b = feature.shape.bounds
        every.append(b)
        inside = box is None or (
            b[0] <= box[2] and b[2] >= box[0] and b[1] <= box[3] and b[3] >= box[1]
        )
        if inside:
            features.append(feature)
    if not every:
        raise InputError(f"{path} holds no features with a geometry: there is nothing to draw")
    west, south = (min(b[k] for b in every) for k in (0, 1))
    east, north = (max(b[k] for b in every) for k in (2, 3))
    if not (west >= -180.5 and east <= 180.5 and south >= -90 and north <= 90):
        raise InputError(
            f"{path}: its coordinates reach {west:.0f}, {south:.0f} to {east:.0f}, {north:.0f}, "
            "which are no longitudes and latitudes: export it as WGS 84 (RFC 7946), in degrees"
        )
    return MapData(name, tuple(features), (west, south, east, north), _credit(content))


def _no_number(text: str) -> float:
    raise ValueError(f"{text} is not a number of JSON")


def _entries(path: Path, content: dict[str, Any]) -> list[Any]:
    if content["type"] == "FeatureCollection":
        found = content.get("features")
        if not isinstance(found, list):
            raise InputError(f"{path}: a FeatureCollection needs its list of features")
        return found
    if content["type"] == "Feature":
        return [content]
    return [{"type": "Feature", "geometry": content, "properties": {"building": "yes"}}]


def _feature(path: Path, number: int, entry: Any) -> Feature | None:
    if not isinstance(entry, dict):
        raise InputError(f"{path}, feature {number}: each feature must be a table in braces")
    geometry = entry.get("geometry")
    if geometry is None:
        return None
    try:
        shape = shapely.force_2d(shapely.geometry.shape(geometry))
        whole = all(map(math.isfinite, shape.bounds))
    except Exception:  # an unknown type, numbers past all bounds, rings of anything
        whole = False
    if not whole:
        if isinstance(geometry, dict) and [] in (
            geometry.get("coordinates"),
            geometry.get("geometries"),
        ):
            return None
        raise InputError(
            f"{path}, feature {number}: its geometry cannot be read; a polygon is rings of "
            "[longitude, latitude], each of four points or more"
        )
    properties = entry.get("properties") or {}
    if not isinstance(properties, dict):
        raise InputError(f"{path}, feature {number}: its properties must be a table in braces")
    return Feature(_tags(properties, shape.geom_type), shape)


def _tags(properties: Mapping[str, Any], kind: str) -> dict[str, str]:
    """Properties as tags: names in use elsewhere translated, numbers as text."""
    flat = dict(properties)
    inner = flat.pop("tags", None)  # as some exporters nest them
    if isinstance(inner, dict):
        flat = {**flat, **inner}
    tags: dict[str, str] = {}
    for key, value in flat.items():
        if value is None or isinstance(value, dict | list):
            continue
        text = f"{value:g}" if isinstance(value, float) else str(value)
        if isinstance(value, bool):
            text = "yes" if value else "no"
        tags.setdefault(_NAMES.get(key.lower(), key), text)
    area = kind in ("Polygon", "MultiPolygon")
    sized = any(key in tags for key in ("height", "building:levels"))
    others = ("building", "building:part", "landuse", "natural", "highway", "man_made", "barrier")
    if area and sized and not any(key in tags for key in others):
        tags["building"] = "yes"
    return tags


def _to_degrees(path: Path, crs: Any) -> Callable[[Floats], Floats] | None:
    """From the system that a file names, as files before RFC 7946 did, to WGS 84; None if it is.

    Raises
    ------
    InputError
        If PROJ does not know the system.
    """
    if crs is None:
        return None
    found = crs.get("properties", {}) if isinstance(crs, dict) else {}
    name = str(found.get("name", crs) if isinstance(found, dict) else crs)
    if any(word in name.lower() for word in _WGS84):
        return None
    try:
        system = pyproj.CRS.from_user_input(name)
    except pyproj.exceptions.CRSError:
        raise InputError(
            f"{path} is in a coordinate system that PROJ does not know, {name[:60]}: export it as "
            "WGS 84, in degrees of longitude and latitude (RFC 7946)"
        ) from None
    change = pyproj.Transformer.from_crs(system, "EPSG:4326", always_xy=True)

    def to_degrees(places: Floats) -> Floats:
        return np.stack(change.transform(places[:, 0], places[:, 1]), axis=1)

    return to_degrees


def _credit(content: Mapping[str, Any]) -> str:
    """Whom the file says to credit, in one line."""
    places = [content]
    meta = content.get("metadata")
    if isinstance(meta, dict):
        places.append(meta)
    for key in _CREDITS:
        for place in places:
            text = place.get(key)
            if isinstance(text, str) and text.strip():
                line = " ".join(text.split())
                if "openstreetmap" in line.lower():
                    return "© OpenStreetMap contributors"
                return line[:160]
    if "overpass" in str(content.get("generator", "")).lower():
        return "© OpenStreetMap contributors"
    return ""
