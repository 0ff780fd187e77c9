"""Open map data round a point as a scene that can be seen from there."""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely
from numpy.typing import NDArray
from scipy.ndimage import distance_transform_edt
from shapely.geometry.base import BaseGeometry

from render.errors import InputError
from render.world.description import (
    Description,
    Ground,
    LightWords,
    Relief,
    Suggested,
    Thing,
    VantageWords,
)
from render.world.drape import draped
from render.world.ground import mesh_height
from render.world.mesh import Mesh, join
from render.world.place.buildings.building import Building, add_building
from render.world.place.buildings.doors import add_doors
from render.world.place.buildings.footprints import Counts, Footprints, footprints
from render.world.place.buildings.looks import place_materials
from render.world.place.grounds.bridges import Raised, add_bridges, raised_ways
from render.world.place.grounds.cover import Cover, cover_of, named_grounds
from render.world.place.grounds.waters import (
    Waters,
    add_piers,
    land_mesh,
    piers_of,
    water_mesh,
    waters_of,
)
from render.world.place.mapdata import Feature, MapData
from render.world.place.place_words import notes_of
from render.world.place.projection import LocalFrame
from render.world.place.soup import Soup
from render.world.place.standing.living import life_of
from render.world.place.standing.planting import Planted, planted
from render.world.place.standing.uprights import add_barriers, tower_meshes
from render.world.place.standing.wagons import wagons_on
from render.world.things.kind import Kind, Values

__all__ = ["Heights", "Place", "Roof", "describe_place"]

Floats = NDArray[np.float64]
#: Elevations at longitude and latitude, shape (n, 2); NaN where nothing is known.
Heights = Callable[[Floats], Floats]

_RELIEF_STEPS = 240
#: Farther away than this no wagons are made up, m.
_WAGONS_M = 600.0
#: A town where buildings cover more than this share of the ground within `_TOWN_M`.
_TOWN_SHARE, _TOWN_M = 0.22, 250.0
#: Paving along a walled shore, m, and the layers that do not speak against it.
_QUAY_WIDE_M, _NOTHING_SAID = 12.0, ("town", "yard", "water")
#: Layers on which no tree grows.
_BARE = ("street", "pavement", "track", "path", "parking", "gravel bed")
#: Out of a window, or back from a roof's edge behind its parapet, m.
_STEP_M = 0.5


@dataclass(frozen=True, slots=True)
class Roof:
    """A building over the point, heights above the ground there, metres.

    Attributes
    ----------
    low_m, top_m : float
        Its underside (0 unless it is open below) and its roof straight above the point.
    name : str
    """

    low_m: float
    top_m: float
    name: str


@dataclass(frozen=True, slots=True, eq=False)
class Place:
    """A place ready to be seen.

    Attributes
    ----------
    description : Description
        The scene; its vantage stands at the point, its height and direction yet to be said.
    frame : LocalFrame
        Metres round the point.
    counts : Counts
    roofs : tuple of Roof
        Of the buildings over the point.
    buildings : tuple of Building
    notes : tuple of str
        What was assumed, in words.
    """

    description: Description
    frame: LocalFrame
    counts: Counts
    roofs: tuple[Roof, ...]
    buildings: tuple[Building, ...]
    notes: tuple[str, ...]

    def ground_m(self, x: float, y: float) -> float:
        """Height of the ground at x east, y north, metres over that at the point."""
        assert self.description.ground is not None
        return float(mesh_height(self.description.ground, np.array(x), np.array(y)))

    def nearest_building(self) -> tuple[float, float, float] | None:
        """Distance (m), latitude and longitude of a place well inside the nearest one."""
        origin = shapely.Point(0, 0)
        if not self.buildings:
            return None
        near = min(self.buildings, key=lambda b: b.outline.distance(origin))
        inside = near.outline.representative_point()
        lon, lat = self.frame.to_degrees(np.array([[inside.x, inside.y]]))[0]
        return near.outline.distance(origin), float(lat), float(lon)

    def way_out(self, heading_deg: float) -> tuple[float, float] | None:
        """Latitude and longitude just outside the buildings over the point, that way."""
        return self._on_ray(heading_deg, _STEP_M)

    def roof_edge(self, heading_deg: float) -> tuple[float, float] | None:
        """Latitude and longitude on the roof over the point, at its edge, that way."""
        return self._on_ray(heading_deg, -_STEP_M)

    def block_over(self) -> BaseGeometry:
        """Outlines of the buildings over the point, empty without any."""
        origin = shapely.Point(0, 0)
        return shapely.union_all([b.outline for b in self.buildings if b.outline.covers(origin)])

    def _on_ray(self, heading_deg: float, beyond_m: float) -> tuple[float, float] | None:
        """Latitude and longitude so far beyond the wall of the buildings over the point."""
        block = self.block_over()
        if block.is_empty:
            return None
        origin = shapely.Point(0, 0)
        a = math.radians(heading_deg)
        ray = shapely.LineString([(0, 0), (2000 * math.sin(a), 2000 * math.cos(a))])
        inside = ray.intersection(block)
        first = next((p for p in shapely.get_parts(inside) if p.distance(origin) < 1e-6), inside)
        away = max(0.0, first.length + beyond_m)
        lon, lat = self.frame.to_degrees(np.array([[away * math.sin(a), away * math.cos(a)]]))[0]
        return float(lat), float(lon)


def describe_place(
    data: MapData,
    latitude_deg: float,
    longitude_deg: float,
    reach_m: float = 1500.0,
    terrain: Heights | None = None,
    *,
    as_mapped: bool = False,
) -> Place:
    """Make a scene of the map round a point.

    Parameters
    ----------
    data : MapData
        In degrees.
    latitude_deg, longitude_deg : float
        The scene's origin, with x east and y north.
    reach_m : float
        Nothing farther away is drawn.
    terrain : callable, optional
        Elevations; the ground is level without.
    as_mapped : bool
        Without the cars, people, boats and lamps that are made up by rule.

    Raises
    ------
    InputError
        If the terrain does not know the point.
    """
    frame = LocalFrame(latitude_deg, longitude_deg)
    land = _laid_out(data, frame, reach_m, terrain)
    raised, gone, bridges = raised_ways(land.features, reach_m, land.waters, land.height)
    trees = _grown(land, frame, raised)
    left = [feature for number, feature in enumerate(land.features) if number not in gone]
    life = life_of(
        left,
        frame,
        reach_m,
        land.cover.shapes,
        land.waters,
        land.outlines,
        land.height,
        as_mapped=as_mapped,
    )
    wagons = () if as_mapped else _railway(land, left, frame, raised)
    houses, doors = _houses(land, as_mapped=as_mapped)
    paved = _is_town(land.found)
    meshes = {"building": houses, **_meshes(land, raised, paved)}
    ground = replace(
        land.ground,
        material="town ground" if paved else "grass",
        land=land_mesh(land.ground, land.waters),
    )
    things = [
        _thing(name, mesh, solid=name in ("building", "tower"))
        for name, mesh in meshes.items()
        if len(mesh.xyz)
    ]
    used = {ground.material, *(slot for mesh in meshes.values() for slot in mesh.slots if slot)}
    south = latitude_deg < 0
    description = Description(
        name=data.name,
        line=f"The place round {latitude_deg:.5f}, {longitude_deg:.5f}, from open map data.",
        things=(*things, *trees.things, *life.things, *wagons),
        materials=place_materials(used),
        ground=ground,
        light=LightWords(sun_heading_deg=325.0 if south else 215.0, exposure_ev=0.3),
        vantage=VantageWords(stand_m=(0.0, 0.0)),
        suggested=Suggested(),
        marks=_marks(land),
        credit=data.credit,
    )
    made_up = {
        **life.made_up,
        "front door": doors,
        "wagon": sum(len(thing.places) for thing in wagons),
    }
    notes = notes_of(
        data, land.found.counts, land.cover, trees, life.mapped, made_up, bridges, terrain is None
    )
    roofs = _roofs_over(land.found, houses, land.height(np.zeros((1, 2)))[0])
    return Place(description, frame, land.found.counts, roofs, land.found.buildings, notes)


@dataclass(frozen=True, slots=True, eq=False)
class _Land:
    """The map round the point, laid out: what covers the ground, and the buildings on it.

    Attributes
    ----------
    features : list of Feature
        In metres round the point.
    disc : Polygon
        The reach.
    ground : Ground
    height : callable
        Of the ground at points, shape (n, 2), metres.
    found : Footprints
    outlines : geometry
        Of all buildings.
    cover : Cover
        Without its water.
    waters : Waters
    piers : list of (outline, floats)
    """

    features: list[Feature]
    disc: shapely.Polygon
    ground: Ground
    height: Callable[[Floats], Floats]
    found: Footprints
    outlines: BaseGeometry
    cover: Cover
    waters: Waters
    piers: list[tuple[shapely.Polygon, bool]]


def _laid_out(data: MapData, frame: LocalFrame, reach_m: float, terrain: Heights | None) -> _Land:
    features = _projected(data, frame)
    disc = shapely.Point(0, 0).buffer(reach_m, quad_segs=16)
    ground = Ground(extent_m=reach_m, relief=_relief(frame, reach_m, terrain))

    def height(xy: Floats) -> Floats:
        if ground.relief is None:
            return np.zeros(len(xy))
        return mesh_height(ground, xy[:, 0], xy[:, 1])

    found = footprints(features, frame, reach_m, height)
    cover = _with_yards(cover_of(features, disc), found)
    outlines = shapely.union_all([b.outline for b in found.buildings])
    piers = piers_of(features, disc)
    waters = waters_of(cover.shapes, features, disc, piers, outlines, height)
    cover = _with_quays(cover, waters).on_land(waters.shape)
    return _Land(features, disc, ground, height, found, outlines, cover, waters, piers)


def _grown(land: _Land, frame: LocalFrame, raised: Sequence[Raised]) -> Planted:
    """Trees of the map and of its woods, where nothing else stands or lies."""
    shapes = land.cover.shapes
    taken = [land.outlines.buffer(2.5), land.waters.shape.buffer(1.0)]
    taken += [shapely.LineString(w.points).buffer(w.width_m / 2 + 1.5) for w in raised]
    taken += [shapes[layer].buffer(1.0) for layer in _BARE if layer in shapes]
    return planted(
        land.features,
        frame,
        land.ground.extent_m,
        shapes.get("wood"),
        shapes.get("scrub"),
        shapely.union_all(taken),
    )


def _railway(
    land: _Land, features: Sequence[Feature], frame: LocalFrame, raised: Sequence[Raised]
) -> tuple[Thing, ...]:
    """Wagons on yards and sidings, none in a house or under a bridge."""
    over = [shapely.LineString(w.points).buffer(w.width_m / 2) for w in raised]
    clear_of = shapely.union_all([land.outlines, *over])
    return wagons_on(features, frame, min(land.ground.extent_m, _WAGONS_M), clear_of)


def _houses(land: _Land, *, as_mapped: bool) -> tuple[Mesh, int]:
    """All buildings as one mesh, and how many front doors were made up."""
    soup = Soup()
    for building in land.found.buildings:
        add_building(soup, building)
    street = land.cover.shapes.get("street")
    doors = 0 if as_mapped else add_doors(soup, land.found.buildings, street)
    return soup.mesh(), doors


def _meshes(land: _Land, raised: Sequence[Raised], paved: bool) -> dict[str, Mesh]:
    """What else lies and stands there, one mesh of a kind, by its name."""
    walls, decks, spans = Soup(), Soup(), Soup()
    add_barriers(walls, land.features, land.disc, land.height)
    towers, _ = tower_meshes(land.features, land.ground.extent_m, land.height, land.outlines)
    add_piers(decks, land.piers, land.waters, land.height)
    shapes = land.cover.shapes
    passed = [shapes[k] for k in ("street", "gravel bed", "pavement") if k in shapes]
    add_bridges(spans, raised, shapely.union_all(passed))
    sheets = land.cover.mesh("town ground" if paved else "garden ground")
    return {
        "tower": towers or join([]),
        "wall": walls.mesh(),
        "ground": draped(sheets, land.ground),
        "water": water_mesh(land.ground, land.waters, land.height),
        "pier": decks.mesh(),
        "bridge": spans.mesh(),
    }


def _projected(data: MapData, frame: LocalFrame) -> list[Feature]:
    shapes = np.array([feature.shape for feature in data.features], dtype=object)
    moved = shapely.transform(shapes, frame.to_metres)
    return [
        Feature(feature.tags, shape)
        for feature, shape in zip(data.features, moved, strict=True)
        if not shape.is_empty
    ]


def _relief(frame: LocalFrame, reach_m: float, terrain: Heights | None) -> Relief | None:
    """Elevations on the ground's lattice, counted from the point; holes take the nearest."""
    if terrain is None:
        return None
    s = np.linspace(-reach_m, reach_m, _RELIEF_STEPS + 1)
    x, y = np.meshgrid(s, s, indexing="ij")
    heights = terrain(frame.to_degrees(np.stack([x.ravel(), y.ravel()], axis=1))).reshape(x.shape)
    middle = _RELIEF_STEPS // 2
    if not np.isfinite(heights[middle, middle]):
        raise InputError(
            f"the terrain does not cover {frame.latitude_deg:.5f}, {frame.longitude_deg:.5f}: "
            "give one that does, or leave --terrain out"
        )
    unknown = ~np.isfinite(heights)
    if unknown.any():
        nearest = distance_transform_edt(unknown, return_distances=False, return_indices=True)
        heights = heights[tuple(nearest)]
    return Relief(heights - heights[middle, middle])


def _thing(name: str, mesh: Mesh, *, solid: bool) -> Thing:
    def make(values: Values, rng: np.random.Generator) -> Mesh:
        return mesh

    kind = Kind(name, f"every {name} of the map", make, {}, {}, solid=solid)
    return Thing(kind, Values(), {}, {}, ((0.0, 0.0, 0.0, 0.0, 1.0),))


def _with_yards(cover: Cover, found: Footprints) -> Cover:
    """Paved ground round large buildings, which maps seldom draw."""
    large = [b.outline for b in found.buildings if b.outline.area > 300 and b.roof is None]
    if not large:
        return cover
    yards = shapely.union_all(large).buffer(9.0, quad_segs=2).buffer(-3.0, quad_segs=2)
    green = [cover.shapes[name] for name in ("grass", "water", "wood") if name in cover.shapes]
    if green:
        yards = yards.difference(shapely.union_all(green))
    both = shapely.union_all([s for s in (cover.shapes.get("yard"), yards) if s is not None])
    return replace(cover, shapes={**cover.shapes, "yard": both})


def _with_quays(cover: Cover, waters: Waters) -> Cover:
    """Paved ground along walled shores, where the map says nothing of it."""
    if waters.quays.is_empty:
        return cover
    said = [shape for name, shape in cover.shapes.items() if name not in _NOTHING_SAID]
    paved = waters.quays.buffer(_QUAY_WIDE_M, quad_segs=2).difference(shapely.union_all(said))
    both = shapely.union_all([s for s in (cover.shapes.get("yard"), paved) if s is not None])
    return replace(cover, shapes={**cover.shapes, "yard": both})


def _is_town(found: Footprints) -> bool:
    disc = shapely.Point(0, 0).buffer(_TOWN_M)
    near = [b.outline for b in found.buildings if b.outline.intersects(disc)]
    return bool(sum(o.area for o in near) > _TOWN_SHARE * disc.area)


def _marks(land: _Land) -> dict[str, tuple[float, float, float]]:
    """What has a name: buildings by the middle at half their height, grounds where they lie."""
    marks: dict[str, tuple[float, float, float]] = {}
    for b in land.found.buildings:
        if b.name and b.name not in marks:
            point = b.outline.centroid
            marks[b.name] = (point.x, point.y, b.ground_m + b.standing.top_m / 2)
    for name, (x, y) in named_grounds(land.features, land.disc).items():
        at = np.array([[x, y]])
        level_m = float(land.waters.level_m(at, land.height)[0])
        ground_m = float(land.height(at)[0])
        marks.setdefault(name, (x, y, ground_m if math.isnan(level_m) else level_m))
    return marks


def _roofs_over(found: Footprints, mesh: Mesh, ground_m: float) -> tuple[Roof, ...]:
    origin = shapely.Point(0, 0)
    over = [b for b in found.buildings if b.outline.covers(origin)]
    if not over:
        return ()
    top = _top_at_origin(mesh)
    roofs = []
    for b in over:
        low = b.ground_m + b.standing.low_m - ground_m if b.standing.low_m > 0 else 0.0
        high = b.standing.top_m
        if b.roof is None:
            high = b.standing.eaves_m
        else:
            high = b.standing.eaves_m + float(b.roof.height(np.zeros((1, 2)))[0])
        roofs.append(Roof(low, min(b.ground_m + high - ground_m, top - ground_m), b.name))
    return tuple(roofs)


def _top_at_origin(mesh: Mesh) -> float:
    """Height of the highest face over the origin."""
    p = mesh.xyz[..., :2]
    low, high = p.min(axis=1), p.max(axis=1)
    near = np.flatnonzero(np.all((low <= 0) & (high >= 0), axis=1))
    best = 0.0
    for k in near:
        a, b, c = mesh.xyz[k]
        (px, py), (qx, qy) = b[:2] - a[:2], c[:2] - a[:2]
        area = px * qy - py * qx
        if abs(area) < 1e-9:
            continue
        v = (a[1] * qx - a[0] * qy) / area
        w = (a[0] * py - a[1] * px) / area
        if v >= -1e-9 and w >= -1e-9 and v + w <= 1 + 1e-9:
            best = max(best, float(a[2] + v * (b[2] - a[2]) + w * (c[2] - a[2])))
    return best
