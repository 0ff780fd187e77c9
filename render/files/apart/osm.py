"""OpenStreetMap data, XML or PBF, read by pyosmium in a process of its own.

The library was seen to end the process over a damaged file; what it makes of one happens there.
"""

import itertools
import json
import math
import struct
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import osmium
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from render.errors import InputError
from render.files.apart.process import ApartError, answer_apart, work_apart
from render.files.memory import free_bytes
from render.limits import FEATURES, MAP_MEMORY, SECONDS_APART, SETTING, WAY_POINTS
from render.world.place.grounds.cover import area_layer
from render.world.place.mapdata import Feature

__all__ = ["Box", "Extract", "closed_outline", "read_apart"]

#: West, south, east and north, degrees.
Box = tuple[float, float, float, float]

_KEYS = (
    *("building", "building:part", "highway", "railway", "waterway", "natural", "landuse"),
    *("leisure", "amenity", "barrier", "man_made", "place", "public_transport", "historic"),
)
_AREA_KEYS = ("landuse", "leisure", "amenity", "natural", "place")
_RAILWAY_AREAS = ("platform", "station", "yard", "roundhouse", "turntable", "traverser")
_LINE_KEYS = ("highway", "railway", "waterway", "barrier", "natural")
_POINT_KEYS = ("natural", "man_made", "historic")
_POINTS = {
    ("highway", "street_lamp"),
    *(("amenity", v) for v in ("bench", "waste_basket", "fountain")),
    ("barrier", "bollard"),
}
#: Memory that the reader may hold for each byte of the file beside `MAP_MEMORY`: 2.4 kB a building
#: were measured, and PBF packs one into five bytes where all are alike.
_BYTES_A_BYTE = 30
#: Longest answer, bytes: names and outlines of the largest map that is taken.
_MOST_BYTES = 2_000_000_000


@dataclass(frozen=True, slots=True)
class Extract:
    """What a file of OpenStreetMap data holds.

    Attributes
    ----------
    features : tuple of Feature
        Those inside the box that was asked for.
    bounds_deg : (west, south, east, north) or None
        Of all that can be drawn, inside the box or not; None if there is nothing.
    broken : int
        Outlines that lack points and were left out.
    patched : int
        Areas of which the file has a part alone, closed straight.
    """

    features: tuple[Feature, ...]
    bounds_deg: Box | None
    broken: int
    patched: int


def read_apart(path: Path, box: Box | None) -> Extract:
    """Read a file of OpenStreetMap data.

    Multipolygons are put together with their holes; a closed outline that crosses itself, which
    makes no area, is kept as its line's polygon, to be mended.

    Parameters
    ----------
    path : Path
    box : (west, south, east, north), optional
        Features outside it are left out.

    Raises
    ------
    InputError
        If it is damaged, or its reader took too long, too much memory, or ended over it.
    """
    free, size = free_bytes(), path.stat().st_size
    most_bytes = MAP_MEMORY.most + _BYTES_A_BYTE * size
    if free is not None:
        most_bytes = min(most_bytes, free)
    try:
        answer = work_apart(
            "render.files.apart.osm",
            [str(path), json.dumps(box)],
            most_bytes=most_bytes,
            most_numbers=_MOST_BYTES,
        )
    except ApartError as error:
        raise InputError(
            {
                "late": f"{path}: its reader was ended after {SECONDS_APART.most:.0f} seconds: cut "
                f"out the part you see ({SETTING} gives it longer)",
                "full": f"{path} does not fit into memory: cut out the part you see",
                "ended": f"{path} is damaged: the reader of OpenStreetMap data ended over it; "
                "export it once more",
                "failed": f"{path} cannot be read as OpenStreetMap data ({str(error)[:120]}): it "
                "may be damaged or cut short; export it once more",
                "refused": f"{path}: {error}",
            }[error.how]
        ) from None
    return _unpacked(answer.tobytes())


def _packed(reading: "_Reading", patched: int) -> NDArray[np.uint8]:
    """An extract as bytes: a JSON head, then the shapes one behind the other as WKB."""
    tags, shapes, bounds = reading.done()
    head = json.dumps(
        {
            "tags": tags,
            "sizes": [len(shape) for shape in shapes],
            "bounds": bounds,
            "broken": reading.broken,
            "patched": patched,
        }
    ).encode()
    return np.frombuffer(b"".join((struct.pack("<Q", len(head)), head, *shapes)), np.uint8)


def _unpacked(answer: bytes) -> Extract:
    (length,) = struct.unpack_from("<Q", answer)
    head = json.loads(answer[8 : 8 + length])
    ends = 8 + length + np.cumsum([0, *head["sizes"]])
    wkb = [answer[a:b] for a, b in itertools.pairwise(ends)]
    shapes = shapely.from_wkb(np.array(wkb, dtype=object)) if wkb else []
    features = tuple(Feature(t, s) for t, s in zip(head["tags"], shapes, strict=True))
    bounds = head["bounds"] and tuple(head["bounds"])
    return Extract(features, bounds, head["broken"], head["patched"])


def _read(words: list[str], _: object) -> NDArray[np.uint8]:
    path, box = words[0], json.loads(words[1])
    reading = _Reading(box and tuple(box))
    source = osmium.FileProcessor(path).with_areas()
    for thing in source.with_filter(osmium.filter.KeyFilter(*_KEYS)):
        reading.take(thing)
    return _packed(reading, reading.patch(path))


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
        tags = dict(area.tags)
        if area.from_way() and (area.orig_id() in self._far or _is_loop(tags)):
            return
        try:
            self._add(tags, self._wkb.create_multipolygon(area))
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

    def patch(self, path: str) -> int:
        """Close areas of which the file has only a part, as extracts cut them; how many."""
        wanted = {way for _, ways in self._relations.values() for way in ways}
        if not wanted:
            return 0
        lines: dict[int, list[tuple[float, float]]] = {}
        source = osmium.FileProcessor(path, osmium.osm.NODE | osmium.osm.WAY)
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
        # a pier is mostly a line; one that is closed is an area
        keys = _LINE_KEYS if way.is_closed() else (*_LINE_KEYS, "man_made")
        if tags.keys().isdisjoint(keys):
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

    def done(self) -> tuple[list[dict[str, str]], list[bytes], Box | None]:
        """Tags and shapes (WKB) of what lies inside the box, and the bounds of all there is."""
        for number, (tags, places) in self._closed.items():
            if number not in self._areas and len(places) >= 4:
                self._add(tags, shapely.to_wkb(shapely.Polygon(places), hex=True))
        if not self._shapes:
            known = self._far and np.isfinite(self._bounds).all()
            return [], [], (tuple(self._bounds) if known else None)  # type: ignore[return-value]
        shapes = shapely.from_wkb(np.array(self._shapes, dtype=object))
        bounds = shapely.bounds(shapes)
        if not np.isfinite(bounds).all():
            raise InputError("a place in it has no longitude and latitude")
        bounds_of_all = np.concatenate([bounds, np.array([self._bounds])])
        west, south = map(float, bounds_of_all[:, :2].min(axis=0))
        east, north = map(float, bounds_of_all[:, 2:].max(axis=0))
        inside = np.ones(len(shapes), bool)
        if self._box is not None:
            w, s, e, n = self._box
            inside = (
                (bounds[:, 0] <= e)
                & (bounds[:, 2] >= w)
                & (bounds[:, 1] <= n)
                & (bounds[:, 3] >= s)
            )
        kept = [self._tags[k] for k in np.flatnonzero(inside)]
        return kept, list(shapely.to_wkb(shapes[inside])), (west, south, east, north)


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


def _is_loop(tags: dict[str, str]) -> bool:
    """Whether a closed way is a street, track or fence that comes back to its beginning.

    The wiki's rule: those are lines unless `area=yes` or another tag makes them an area.
    """
    if tags.get("area") == "yes" or not tags.keys().isdisjoint((*_AREA_KEYS, "building")):
        return False
    if tags.get("highway") == "platform" or tags.get("railway") in _RAILWAY_AREAS:
        return False
    return any(key in tags for key in ("highway", "railway", "barrier"))


def _is_area(tags: dict[str, str]) -> bool:
    """Whether a closed line of these tags is meant as an area."""
    if tags.get("area") == "no" or tags.get("barrier") not in (None, "no"):
        return False
    if "building" in tags or "building:part" in tags or tags.get("area") == "yes":
        return True
    if "highway" in tags or "railway" in tags:
        return False
    return any(key in tags for key in _AREA_KEYS)


if __name__ == "__main__":
    answer_apart(_read)
