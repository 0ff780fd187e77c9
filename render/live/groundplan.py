"""A plan of a map file, north up, to choose a standpoint on."""

import io
import math
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING, Any

from PIL import Image, ImageDraw

from render.errors import InputError
from render.files.maps import read_map
from render.live.preview import Looked
from render.shot.shot import Shot
from render.world.place.mapdata import MapData

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry

__all__ = ["ground_plan"]

_SIZE_PX, _FINER = 1000, 2
_WIDEST_M, _NARROWEST_M = 6000.0, 60.0
_METRES_A_DEGREE = 111_320.0
_GROUND, _BUILDING, _EDGE = (226, 228, 226), (120, 118, 114), (70, 70, 70)
#: Greys and dull tones, so that the standpoint is the brightest thing.
_COLOURS = {
    **dict.fromkeys(("water", "pool"), (158, 184, 204)),
    **dict.fromkeys(("grass", "wood", "scrub", "pitch", "park", "meadow"), (196, 208, 186)),
    **dict.fromkeys(("street", "square", "parking"), (250, 250, 248)),
    "path": (240, 236, 226),
    "tracks": (170, 170, 168),
}


@dataclass(frozen=True, slots=True)
class _Sheet:
    """The part of the map that is drawn."""

    west: float
    south: float
    east: float
    north: float

    def px(self, longitude: float, latitude: float) -> tuple[float, float]:
        scale = _SIZE_PX * _FINER
        return (
            scale * (longitude - self.west) / (self.east - self.west),
            scale * (self.north - latitude) / (self.north - self.south),
        )


def ground_plan(shot: Shot, across_m: float) -> Looked:
    """Draw the map of a shot round its standpoint, or round its middle.

    Parameters
    ----------
    across_m : float
        Width of what is drawn; 0: all of the file, up to 6 km.

    Raises
    ------
    InputError
        If the shot has no map, or it cannot be read.
    """
    if not shot.on_map or shot.scene is None:
        raise InputError("only a map has a plan: open one (.osm, .pbf, .geojson)")
    path = Path(shot.scene)
    data = _read(path, path.stat().st_mtime if path.is_file() else 0.0)
    west, south, east, north = data.bounds_deg
    latitude, longitude = shot.place.at_deg or ((south + north) / 2, (west + east) / 2)
    a_degree = _METRES_A_DEGREE * max(math.cos(math.radians(latitude)), 0.02)
    if not across_m:
        across_m = 1.05 * max((north - south) * _METRES_A_DEGREE, (east - west) * a_degree)
        if across_m < _WIDEST_M:
            latitude, longitude = (south + north) / 2, (west + east) / 2
    across_m = min(max(across_m, _NARROWEST_M), _WIDEST_M)
    up, aside = across_m / 2 / _METRES_A_DEGREE, across_m / 2 / a_degree
    sheet = _Sheet(longitude - aside, latitude - up, longitude + aside, latitude + up)
    image = _drawn(data, sheet, across_m)
    here = None
    if shot.place.at_deg:
        x, y = sheet.px(shot.place.at_deg[1], shot.place.at_deg[0])
        here = [x / (_SIZE_PX * _FINER), y / (_SIZE_PX * _FINER)]
    out = io.BytesIO()
    image.save(out, "JPEG", quality=88, subsampling=0)
    told: dict[str, Any] = {
        "west": sheet.west,
        "south": sheet.south,
        "east": sheet.east,
        "north": sheet.north,
        "across_m": across_m,
        "here": here,
        "heading": _heading(shot),
        "credit": data.credit,
    }
    return Looked(out.getvalue(), told)


@lru_cache(maxsize=1)
def _read(path: Path, _changed: float) -> MapData:
    return read_map(path)


def _heading(shot: Shot) -> float | None:
    place = shot.place
    if place.at_deg and place.look_at_deg:
        (lat, lon), (to_lat, to_lon) = place.at_deg, place.look_at_deg
        aside = (to_lon - lon) * math.cos(math.radians(lat))
        return math.degrees(math.atan2(aside, to_lat - lat)) % 360.0
    if place.at_deg is None:
        return None
    return shot.demo.heading_deg or 0.0


def _drawn(data: MapData, sheet: _Sheet, across_m: float) -> Image.Image:
    """Ground cover, then ways, then buildings, drawn finer and averaged."""
    from render.world.place.grounds.cover import area_layer, strip_of

    size = _SIZE_PX * _FINER
    image = Image.new("RGB", (size, size), _GROUND)
    pen = ImageDraw.Draw(image)
    px_per_m = size / across_m
    ways = []
    for feature in data.features:
        kind = feature.shape.geom_type
        layer = area_layer(feature.tags) if "Polygon" in kind else None
        if layer is not None:
            _fill(pen, sheet, feature.shape, _COLOURS.get(layer, (206, 208, 204)))
        strip = strip_of(feature.tags) if "Line" in kind else None
        if strip is not None:
            ways.append((strip, feature.shape))
    for (layer, width_m), shape in ways:
        colour = _COLOURS.get(layer, (245, 245, 243))
        for line in getattr(shape, "geoms", [shape]):
            points = [sheet.px(x, y) for x, y, *_ in line.coords]
            pen.line(points, colour, max(2, round(width_m * px_per_m)), joint="curve")
    for feature in data.features:
        if "building" in feature.tags and "Polygon" in feature.shape.geom_type:
            _fill(pen, sheet, feature.shape, _BUILDING, _EDGE)
    return image.resize((_SIZE_PX, _SIZE_PX), Image.Resampling.BOX)


def _fill(
    pen: ImageDraw.ImageDraw,
    sheet: _Sheet,
    shape: "BaseGeometry",
    colour: tuple[int, int, int],
    edge: tuple[int, int, int] | None = None,
) -> None:
    """An area; what is cut out of it is shown as ground."""
    for part in getattr(shape, "geoms", [shape]):
        rings = [part.exterior, *part.interiors]
        for ring, paint in zip(rings, (colour, *[_GROUND] * len(part.interiors)), strict=True):
            pen.polygon([sheet.px(x, y) for x, y, *_ in ring.coords], paint, edge)
