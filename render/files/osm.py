"""OpenStreetMap data, XML or PBF: areas put together, lines, single points (by pyosmium)."""

import math
import re
from collections.abc import Iterable, Sequence
from pathlib import Path

import numpy as np
import osmium
import shapely
from shapely.geometry.base import BaseGeometry

from render.errors import InputError
from render.limits import FEATURES, WAY_POINTS
from render.world.place.cover import area_layer
from render.world.place.mapdata import Feature, MapData

__all__ = ["OSM_CREDIT", "closed_outline", "read_osm"]

#: What the Open Database Licence and its community guidelines ask for beside a picture.
OSM_CREDIT = "© OpenStreetMap contributors"

_KEYS = (
    *("building", "building:part", "highway", "railway", "waterway", "natural", "landuse"),
    *("leisure", "amenity", "barrier", "man_made", "place", "public_transport", "historic"),
)
_POINT_KEYS = ("natural", "man_made", "historic")
_POINTS = {
    ("highway", "street_lamp"),
    *(("amenity", v) for v in ("bench", "waste_basket", "fountain")),
    ("barrier", "bollard"),
}
#: The attributes of an XML file's first element that say where it is from.
_CREDIT = re.compile(r"""\b(?:copyright|attribution)\s*=\s*(["'])(.*?)\1""")

Box = tuple[float, float, float, float]


def read_osm(path: Path, name: str, box: Box | None) -> MapData:
    """Read an OpenStreetMap file. Errors as in `render.files.maps.read_map`.

    Multipolygons are put together with their holes; a closed outline that crosses itself, which
    makes no area, is kept as its line's polygon, to be mended.
    """
    reading = _Reading(box)
    try:
        source = osmium.FileProcessor(str(path)).with_areas()
        for thing in source.with_filter(osmium.filter.KeyFilter(*_KEYS)):
            reading.take(thing)
        patched = reading.patch(path)
        features, bounds = reading.done()
    except InputError as error:
        raise InputError(f"{path}: {error}") from None
    except MemoryError:
        raise InputError(f"{path} does not fit into memory: cut out the part you see") from None
    except Exception as error:  # osmium and shapely raise what they like on damaged files
        raise InputError(
            f"{path} cannot be read as OpenStreetMap data ({_short(error)}): it may be damaged or "
            "cut short; export it once more"
        ) from None
    if bounds is None:
        raise InputError(
            f"{path} holds nothing that can be drawn: no buildings, streets, water or trees"
        )
    remarks = []
    if reading.broken:
        were = (
            "1 outline of the file lacks points and was"
            if reading.broken == 1
            else (f"{reading.broken} outlines of the file lack points and were")
        )
        remarks.append(f"{were} left out")
    if patched:
        were = "1 area lacks" if patched == 1 else f"{patched} areas lack"
        remarks.append(f"{were} a part of the outline in the file: closed by straight lines")
    return MapData(name, tuple(features), bounds, _credit(path), tuple(remarks))


class _Reading:
    """Gathers features while the file goes by."""

    def __init__(self, box: Box | None) -> None:
        self._box = box
        self._wkb = osmium.geom.WKBFactory()
        self._tags: list[dict[str, str]] = []
        self._shapes: list[str] = []
        self._closed: dict[int, tuple[dict[str, str], list[tuple[float, float]]]] = {}
        self._areas: set[int] = set()
        self._relations: dict[int, tuple[dict[str, str], list[int]]] = {}
        self._far: set[int] = set()  # ways outside the box, whose areas need not be made
        self._bounds = [math.inf, math.inf, -math.inf, -math.inf]
        self.broken = 0

    def take(self, thing: object) -> None:
        """Keep an area, an open line or a point."""
        if isinstance(thing, osmium.osm.Area):
            self._take_area(thing)
        elif isinstance(thing, osmium.osm.Way):
            self._take_way(thing)
        elif isinstance(thing, osmium.osm.Relation):
            self._take_relation(thing)
        elif isinstance(thing, osmium.osm.Node) and _is_drawn(dict(thing.tags)):
            self._add(dict(thing.tags), self._wkb.create_point(thing))

    def _take_area(self, area: "osmium.osm.Area") -> None:
        if area.from_way() and area.orig_id() in self._far:
            return
        try:
            self._add(dict(area.tags), self._wkb.create_multipolygon(area))
        except (RuntimeError, ValueError):
            self.broken += not area.from_way()  # a way's own line may still be of use
            return
        if area.from_way():
            self._areas.add(area.orig_id())
        else:
            self._relations.pop(area.orig_id(), None)

    def _take_relation(self, relation: "osmium.osm.Relation") -> None:
        tags = dict(relation.tags)
        if tags.get("type") == "multipolygon" and ("building" in tags or area_layer(tags)):
            outer = [m.ref for m in relation.members if m.type == "w" and m.role in ("", "outer")]
            self._relations[relation.id] = tags, outer

    def patch(self, path: Path) -> int:
        """Close areas of which the file has only a part, as extracts cut them; how many."""
        wanted = {way for _, ways in self._relations.values() for way in ways}
        if not wanted:
            return 0
        lines: dict[int, list[tuple[float, float]]] = {}
        source = osmium.FileProcessor(str(path), osmium.osm.NODE | osmium.osm.WAY)
        for way in source.with_locations().with_filter(osmium.filter.EntityFilter(osmium.osm.WAY)):
            if isinstance(way, osmium.osm.Way) and way.id in wanted:
                lines[way.id] = [(n.lon, n.lat) for n in way.nodes if n.location.valid()]
        count = 0
        for tags, ways in self._relations.values():
            known = [lines[way] for way in ways if len(lines.get(way, ())) >= 2]
            outline = closed_outline(known)
            if outline is not None:
                self._add(tags, shapely.to_wkb(outline, hex=True))
                count += 1
            else:
                self.broken += 1
        return count

    def _take_way(self, way: "osmium.osm.Way") -> None:
        count = len(way.nodes)
        WAY_POINTS.check(count, f"way {way.id} has {count:,} points", "cut it in two")
        places = [(n.lon, n.lat) for n in way.nodes if n.location.valid()]
        if places and self._is_far(places):
            self._far.add(way.id)
            return
        tags = dict(way.tags)
        if way.is_closed() and _is_area(tags):
            self._closed[way.id] = tags, places
            return
        if all(key not in tags for key in ("highway", "railway", "waterway", "barrier", "natural")):
            return
        if len(places) >= 2:
            self._add(tags, shapely.to_wkb(shapely.LineString(places), hex=True))

    def _is_far(self, places: list[tuple[float, float]]) -> bool:
        """Whether a way lies outside the box; it counts to the bounds of the file all the same."""
        if self._box is None:
            return False
        lon, lat = zip(*places, strict=True)
        west, east, south, north = min(lon), max(lon), min(lat), max(lat)
        b, (w, s, e, n) = self._bounds, self._box
        b[0], b[1], b[2], b[3] = (
            min(b[0], west),
            min(b[1], south),
            max(b[2], east),
            max(b[3], north),
        )
        return bool(west > e or east < w or south > n or north < s)

    def _add(self, tags: dict[str, str], wkb: str) -> None:
        FEATURES.check(len(self._tags), "the map holds too many things", "cut out the part you see")
        self._tags.append(tags)
        self._shapes.append(wkb)

    def done(self) -> tuple[Iterable[Feature], Box | None]:
        """Features inside the box, and the bounds of all of them."""
        for number, (tags, places) in self._closed.items():
            if number not in self._areas and len(places) >= 4:
                self._add(tags, shapely.to_wkb(shapely.Polygon(places), hex=True))
        if not self._shapes:
            known = self._far and np.isfinite(self._bounds).all()
            return [], (tuple(self._bounds) if known else None)  # type: ignore[return-value]
        shapes = shapely.from_wkb(np.array(self._shapes, dtype=object))
        bounds = shapely.bounds(shapes)
        if not np.isfinite(bounds).all():
            raise InputError("a place in it has no longitude and latitude")
        bounds_of_all = np.concatenate([bounds, np.array([self._bounds])])
        west, south = bounds_of_all[:, :2].min(axis=0).tolist()
        east, north = bounds_of_all[:, 2:].max(axis=0).tolist()
        inside = np.ones(len(shapes), bool)
        if self._box is not None:
            w, s, e, n = self._box
            inside = (
                (bounds[:, 0] <= e)
                & (bounds[:, 2] >= w)
                & (bounds[:, 1] <= n)
                & (bounds[:, 3] >= s)
            )
        kept = [Feature(self._tags[k], shapes[k]) for k in np.flatnonzero(inside)]
        return kept, (west, south, east, north)


def closed_outline(lines: Sequence[Sequence[tuple[float, float]]]) -> BaseGeometry | None:
    """The area that lines enclose, each gap closed straight to the nearest end; None without one.

    >>> closed_outline([[(0, 0), (4, 0)], [(4, 3), (0, 3)]]).area
    12.0
    """
    merged = shapely.line_merge(shapely.MultiLineString([list(line) for line in lines]))
    chains = [list(part.coords) for part in shapely.get_parts(merged)]
    rings = [chain for chain in chains if chain[0] == chain[-1]]
    open_ones = [chain for chain in chains if chain[0] != chain[-1]]
    while open_ones:
        ring = open_ones.pop(0)
        while open_ones:
            ends = [
                (math.dist(ring[-1], c[e]), k, e) for k, c in enumerate(open_ones) for e in (0, -1)
            ]
            away, k, end = min(ends)
            if away >= math.dist(ring[-1], ring[0]):
                break
            found = open_ones.pop(k)
            ring += found if end == 0 else found[::-1]
        rings.append([*ring, ring[0]])
    areas = [shapely.make_valid(shapely.Polygon(ring)) for ring in rings if len(ring) >= 4]
    return shapely.union_all(areas) if any(area.area > 0 for area in areas) else None


def _is_drawn(tags: dict[str, str]) -> bool:
    """Whether a point of these tags is something that stands there."""
    return any(key in tags for key in _POINT_KEYS) or not _POINTS.isdisjoint(tags.items())


def _is_area(tags: dict[str, str]) -> bool:
    """Whether a closed line of these tags is meant as an area."""
    if tags.get("area") == "no" or tags.get("barrier") not in (None, "no"):
        return False
    if "building" in tags or "building:part" in tags or tags.get("area") == "yes":
        return True
    if "highway" in tags or "railway" in tags:
        return False
    return any(key in tags for key in ("landuse", "leisure", "amenity", "natural", "place"))


def _credit(path: Path) -> str:
    """Whom the file itself names, if its first lines do, else OpenStreetMap's contributors."""
    if path.suffix.lower() in (".osm", ".xml"):
        with path.open(encoding="utf-8", errors="replace") as lines:
            head = lines.read(4000)
        start = head.find("<osm")
        found = _CREDIT.findall(head[start : head.find(">", start)]) if start >= 0 else []
        own: list[str] = [text for _, text in found if text.strip()]
        if own and not any("openstreetmap" in text.lower() for text in own):
            return own[0].strip()
    return OSM_CREDIT


def _short(error: Exception) -> str:
    return " ".join(str(error).split())[:120]
