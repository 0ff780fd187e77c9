"""What covers the ground: land use, water, streets, tracks, in layers a few centimetres apart."""

import itertools
import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace

import shapely
import shapely.ops
from shapely.geometry import LineString, MultiLineString, Polygon
from shapely.geometry.base import BaseGeometry

from render.world.mesh import Mesh
from render.world.place.grounds.sea import sea_of
from render.world.place.heights import parse_length_m, parse_levels
from render.world.place.mapdata import Feature, MapData
from render.world.place.soup import Soup

__all__ = [
    "LAYERS",
    "WIDTHS_M",
    "Cover",
    "area_layer",
    "cover_of",
    "dry_middle",
    "lift_m",
    "named_grounds",
    "polygons",
    "strip_of",
]

#: Layers from the ground up, with their materials; each lies `_STEP_M` over the one before, so
#: that none lies in another's plane.
LAYERS = {
    "town": "garden ground",
    "yard": "yard ground",
    "farmland": "crop",
    "soil": "soil",
    "meadow": "meadow",
    "grass": "grass",
    "scrub": "scrub ground",
    "wood": "wood ground",
    "sand": "sand",
    "rock": "rock ground",
    "gravel bed": "gravel",
    "water": "water",
    "parking": "asphalt",
    "square": "paving",
    "pitch": "pitch ground",
    "pool": "pool water",
    "pavement": "pavement slabs",
    "track": "track ground",
    "path": "path ground",
    "street": "asphalt",
    "rail": "rail top",
    "paint": "road paint",
}
_STEP_M, _FIRST_M = 0.006, 0.01
#: Layers with a kerb, and how far from the camera it is drawn, m.
_KERBED, _KERB_M = ("parking", "square", "pavement", "street"), 250.0

#: Usual widths of streets and ways without `width` or `lanes`, m: common practice, no source.
WIDTHS_M = {
    "motorway": 11.0,
    "trunk": 9.0,
    "primary": 8.0,
    "secondary": 7.0,
    "tertiary": 6.5,
    "motorway_link": 5.5,
    "trunk_link": 5.0,
    "primary_link": 5.0,
    "secondary_link": 5.0,
    "tertiary_link": 5.0,
    "residential": 5.5,
    "unclassified": 5.5,
    "living_street": 5.0,
    "road": 5.5,
    "service": 4.0,
    "busway": 6.5,
    "raceway": 10.0,
    "pedestrian": 5.0,
    "track": 2.8,
    "cycleway": 2.2,
    "footway": 1.8,
    "path": 1.4,
    "bridleway": 2.0,
    "steps": 2.0,
    "corridor": 1.8,
}
#: Longer ways are cut to what is looked at, m.
_LONG_M = 3000.0
_WATERWAYS_M = {"river": 14.0, "canal": 10.0, "stream": 2.0, "ditch": 1.0, "drain": 1.0}
_RAILS_M = {"rail": 3.6, "light_rail": 3.2, "tram": 2.6, "narrow_gauge": 2.6, "subway": 3.4}
_BED_GAP_M = 1.4  # half of the widest gap between two beds that is gravel too
_LANE_M = 3.25
_PAVED_PATHS = {"footway", "pedestrian", "cycleway", "steps", "corridor"}
_MARKED = {"motorway", "trunk", "primary", "secondary", "tertiary"}

_AREAS = {
    ("landuse", "residential"): "town",
    **dict.fromkeys(
        [("landuse", v) for v in ("commercial", "retail", "industrial", "garages", "port")], "yard"
    ),
    ("landuse", "farmland"): "farmland",
    **dict.fromkeys(
        [("landuse", v) for v in ("construction", "brownfield", "quarry", "landfill")], "soil"
    ),
    **dict.fromkeys(
        [("landuse", v) for v in ("meadow", "orchard", "vineyard", "allotments", "farmyard")],
        "meadow",
    ),
    **dict.fromkeys([("natural", v) for v in ("grassland", "heath", "fell", "wetland")], "meadow"),
    **dict.fromkeys(
        [("landuse", v) for v in ("grass", "village_green", "recreation_ground", "cemetery")],
        "grass",
    ),
    **dict.fromkeys(
        [("leisure", v) for v in ("park", "garden", "golf_course", "common", "dog_park")], "grass"
    ),
    ("natural", "scrub"): "scrub",
    ("natural", "wood"): "wood",
    ("landuse", "forest"): "wood",
    **dict.fromkeys([("natural", v) for v in ("beach", "sand")], "sand"),
    ("leisure", "playground"): "sand",
    **dict.fromkeys([("natural", v) for v in ("bare_rock", "scree", "shingle")], "rock"),
    ("landuse", "railway"): "gravel bed",
    **dict.fromkeys([("natural", v) for v in ("water", "bay")], "water"),
    **dict.fromkeys([("landuse", v) for v in ("reservoir", "basin")], "water"),
    **dict.fromkeys([("waterway", v) for v in ("riverbank", "dock")], "water"),
    ("amenity", "parking"): "parking",
    ("place", "square"): "square",
    ("amenity", "marketplace"): "square",
    **dict.fromkeys([("leisure", v) for v in ("pitch", "track")], "pitch"),
    ("leisure", "swimming_pool"): "pool",
}


@dataclass(frozen=True, slots=True, eq=False)
class Cover:
    """What covers the ground.

    Attributes
    ----------
    shapes : mapping of layer to geometry
        Metres.
    tunnels : int
        Ways left out below the ground; bridges are not of it.
    coastlines : int
        Lines that bound the sea.
    sea_drawn, coast_carried_on : bool
        Whether they part the reach into land and sea, and whether one ended in it and was drawn
        straight on.
    """

    shapes: Mapping[str, BaseGeometry]
    tunnels: int
    coastlines: int
    sea_drawn: bool
    coast_carried_on: bool

    def on_land(self, water: BaseGeometry) -> "Cover":
        """Without its water, which lies lower, and without what else would lie over that."""
        wet = list(LAYERS)[: list(LAYERS).index("water")]
        shapes = {
            layer: shape.difference(water) if layer in wet else shape
            for layer, shape in self.shapes.items()
            if layer != "water"
        }
        return replace(self, shapes=shapes)

    def mesh(self, town: str = LAYERS["town"]) -> Mesh:
        """Level sheets, one layer over the other, about height 0; `town` is of that material."""
        soup = Soup()
        for layer, material in {**LAYERS, "town": town}.items():
            for part in polygons(self.shapes.get(layer)):
                soup.flat(part, (0.0, 0.0, lift_m(layer)), material)
                if layer in _KERBED:
                    _add_kerb(soup, part, lift_m(layer))
        return soup.mesh()


def _add_kerb(soup: Soup, part: Polygon, top: float) -> None:
    """The stones at the edge of a sheet that is near, down to the ground."""
    part = shapely.geometry.polygon.orient(part, 1.0)
    for ring in (part.exterior, *part.interiors):
        points = shapely.get_coordinates(ring).tolist()
        for start, end in itertools.pairwise(points):
            if min(math.hypot(*start), math.hypot(*end)) < _KERB_M:
                soup.wall(start, end, -0.05, top, "limestone")


def lift_m(layer: str) -> float:
    """Height of a layer's sheet above the ground."""
    return _FIRST_M + _STEP_M * list(LAYERS).index(layer)


def dry_middle(data: MapData) -> tuple[float, float]:
    """East and north, degrees, of a map's middle; of the nearest way or building if that is wet."""
    west, south, east, north = data.bounds_deg
    middle = shapely.Point((west + east) / 2, (south + north) / 2)
    waters = [f.shape for f in data.features if area_layer(f.tags) == "water"]
    dry = [f.shape for f in data.features if f.tags.keys() & {"building", "highway"}]
    if dry and any(shape.covers(middle) for shape in waters):
        nearest = min(dry, key=middle.distance)
        on_it = nearest.geom_type.endswith("Polygon")
        found = nearest.representative_point() if on_it else shapely.shortest_line(nearest, middle)
        middle = shapely.Point(found.coords[0])
    return middle.x, middle.y


def area_layer(tags: Mapping[str, str]) -> str | None:
    """The layer of an area; None if it covers no ground."""
    if "building" in tags or tags.get("location") == "underground":
        return None
    if tags.get("highway"):
        ways = ("pedestrian", "footway", "service", "residential", "living_street", "platform")
        if tags["highway"] not in ways:
            return None
        return "square" if tags["highway"] in ("pedestrian", "footway", "platform") else "street"
    if tags.get("railway") == "platform" or tags.get("public_transport") == "platform":
        return "square"
    if tags.get("amenity") == "parking" and tags.get("parking", "surface") not in (
        *("surface", "street_side", "lane"),
    ):
        return None
    return next((layer for (k, v), layer in _AREAS.items() if tags.get(k) == v), None)


def strip_of(tags: Mapping[str, str]) -> tuple[str, float] | None:
    """Layer and width (m) of a line; None if it covers no ground.

    The width is `width`, else `lanes` of 3.25 m, else that of its class (`WIDTHS_M`).
    """
    highway, railway, waterway = (tags.get(k, "") for k in ("highway", "railway", "waterway"))
    own = parse_length_m(tags.get("width", "")) or parse_length_m(tags.get("est_width", ""))
    own = own if own is not None and 0.2 <= own <= 400 else None
    if highway in WIDTHS_M:
        lanes = parse_levels(tags.get("lanes", ""))
        usual = WIDTHS_M[highway]
        if lanes and 1 <= lanes <= 16 and highway not in ("track", "path", "footway"):
            usual = _LANE_M * lanes
        layer = "street"
        if highway in ("track", "path", "bridleway"):
            layer = "track" if highway == "track" else "path"
        elif highway in _PAVED_PATHS:
            layer = "pavement"
        return layer, own or usual
    if railway in _RAILS_M:
        return "gravel bed", own or _RAILS_M[railway]
    if waterway in _WATERWAYS_M:
        return "water", own or _WATERWAYS_M[waterway]
    return None


def cover_of(features: Iterable[Feature], disc: Polygon, near_m: float = 500.0) -> Cover:
    """Gather what covers the ground inside a disc round the origin.

    Areas and lines of one layer are united, so that nothing overlaps within it.
    """
    found: dict[str, list[BaseGeometry]] = {layer: [] for layer in LAYERS}
    tunnels = 0
    coast: list[BaseGeometry] = []
    for feature in features:
        tags, shape = feature.tags, feature.shape
        if shape.geom_type in ("Polygon", "MultiPolygon"):
            if tags.get("natural") == "coastline":  # a closed one: an island, or a sea within
                coast += [part.exterior for part in polygons(shape)]
            if layer := area_layer(tags):
                found[layer].append(shape)
            continue
        if not isinstance(shape, LineString | MultiLineString):
            continue
        if tags.get("natural") == "coastline":
            coast.append(shape)
        strip = strip_of(tags)
        if strip is None:
            continue
        if tags.get("tunnel", "no") not in ("no", "building_passage"):
            tunnels += 1
            continue
        if tags.get("bridge", "no") != "no":
            continue  # `bridges.py` draws it at its height
        _add_strip(found, tags, within(shape, disc), *strip, near_m)
    sea, carried_on = sea_of(coast, disc)
    if not sea.is_empty:
        found["water"].append(sea)
    united = {layer: _united(shapes, disc) for layer, shapes in found.items() if shapes}
    if "gravel bed" in united:  # tracks side by side lie in one bed
        closed = united["gravel bed"].buffer(_BED_GAP_M).buffer(-_BED_GAP_M)
        united["gravel bed"] = shapely.make_valid(closed.simplify(0.05))
    return Cover(united, tunnels, len(coast), not sea.is_empty, carried_on)


def named_grounds(features: Iterable[Feature], disc: Polygon) -> dict[str, tuple[float, float]]:
    """Areas and waters of the map by their names, each by a point well inside it, metres.

    Of one that is drawn in pieces the largest counts, of a river its middle within reach. Streets
    and railways are left out: their names say no place.
    """
    found: dict[str, list[BaseGeometry]] = {}
    for feature in features:
        tags, shape = feature.tags, feature.shape
        name = tags.get("name", "").strip()
        if not name or "highway" in tags:
            continue
        area = shape.geom_type.endswith("Polygon") and area_layer(tags) is not None
        if area or (shape.length > 0 and (strip_of(tags) or ("",))[0] == "water"):
            inside = shapely.make_valid(shape).intersection(disc)
            found.setdefault(name, []).extend(part for part in _parts(inside) if part.length)
    points = {}
    for name, pieces in found.items():
        if pieces:
            whole = max(pieces, key=lambda piece: (piece.area, piece.length))
            inner = whole.interpolate(0.5, normalized=True) if whole.area == 0 else None
            point = inner or whole.representative_point()
            points[name] = (point.x, point.y)
    return points


def within(line: BaseGeometry, disc: Polygon) -> BaseGeometry:
    """A line, cut to a disc where it goes on far beyond."""
    return line.intersection(disc) if line.length > _LONG_M else line


def _add_strip(
    found: dict[str, list[BaseGeometry]],
    tags: Mapping[str, str],
    line: BaseGeometry,
    layer: str,
    width: float,
    near_m: float,
) -> None:
    found[layer].append(line.buffer(width / 2, quad_segs=4))
    near = line.distance(shapely.Point(0, 0)) < near_m
    if layer == "gravel bed" and near:
        for side in (-0.7175, 0.7175):  # half of the standard gauge, 1435 mm
            rail = line.offset_curve(side, quad_segs=4)
            found["rail"].append(rail.buffer(0.04, cap_style="flat", quad_segs=1))
    walked = tags.get("sidewalk", tags.get("sidewalk:both", ""))
    if layer == "street" and walked in ("both", "left", "right", "yes"):
        found["pavement"].append(line.buffer(width / 2 + 1.8, quad_segs=4))
    if tags.get("highway") in _MARKED and near and tags.get("oneway", "no") != "yes":
        found["paint"] += _dashes(line)


def _dashes(line: BaseGeometry) -> list[BaseGeometry]:
    """Dashes of 3 m with gaps of 6 m along the middle (common practice, no source)."""
    dashes = []
    for part in shapely.get_parts(line):
        at = 4.0
        while at + 7.0 < part.length:
            dash = shapely.ops.substring(part, at, at + 3.0)
            dashes.append(dash.buffer(0.07, cap_style="flat", quad_segs=1))
            at += 9.0
    return dashes


def _united(shapes: list[BaseGeometry], disc: Polygon) -> BaseGeometry:
    whole = shapely.union_all([shapely.make_valid(shape) for shape in shapes])
    return shapely.make_valid(whole.intersection(disc).simplify(0.05))


def polygons(shape: BaseGeometry | None) -> list[Polygon]:
    """The areas in a shape, none of them a sliver."""
    if shape is None:
        return []
    return [p for p in _parts(shape) if isinstance(p, Polygon) and p.area > 0.05]


def _parts(shape: BaseGeometry) -> list[BaseGeometry]:
    out: list[BaseGeometry] = []
    for part in shapely.get_parts(shape):
        out += _parts(part) if part.geom_type.startswith(("Multi", "Geometry")) else [part]
    return out
