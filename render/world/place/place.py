"""Open map data round a point as a scene that can be seen from there."""

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace

import numpy as np
import shapely
from numpy.typing import NDArray
from scipy.ndimage import distance_transform_edt
from shapely.geometry.base import BaseGeometry

from render.errors import InputError
from render.units import round_metres
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
from render.world.place.bridges import add_bridges, raised_ways
from render.world.place.buildings import Building, add_building
from render.world.place.cover import Cover, cover_of, named_grounds
from render.world.place.doors import add_doors
from render.world.place.footprints import Counts, Footprints, footprints
from render.world.place.living import life_of
from render.world.place.looks import place_materials
from render.world.place.mapdata import Feature, MapData
from render.world.place.planting import Planted, planted
from render.world.place.projection import LocalFrame
from render.world.place.soup import Soup
from render.world.place.uprights import add_barriers, tower_meshes
from render.world.place.wagons import wagons_on
from render.world.place.waters import Waters, add_piers, land_mesh, piers_of, water_mesh, waters_of
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
    taken = [outlines.buffer(2.5), waters.shape.buffer(1.0)]
    raised, gone, bridges = raised_ways(features, reach_m, waters, height)
    taken += [shapely.LineString(w.points).buffer(w.width_m / 2 + 1.5) for w in raised]
    taken += [
        cover.shapes[layer].buffer(1.0)
        for layer in ("street", "pavement", "track", "path", "parking", "gravel bed")
        if layer in cover.shapes
    ]
    trees = planted(
        features,
        frame,
        reach_m,
        cover.shapes.get("wood"),
        cover.shapes.get("scrub"),
        shapely.union_all(taken),
    )
    on_ground = [feature for number, feature in enumerate(features) if number not in gone]
    life = life_of(
        on_ground, frame, reach_m, cover.shapes, waters, outlines, height, as_mapped=as_mapped
    )
    wagons: tuple[Thing, ...] = ()
    if not as_mapped:
        over = [shapely.LineString(w.points).buffer(w.width_m / 2) for w in raised]
        clear_of = shapely.union_all([outlines, *over])
        wagons = wagons_on(on_ground, frame, min(reach_m, _WAGONS_M), clear_of)
    soup = Soup()
    for building in found.buildings:
        add_building(soup, building)
    doors = 0 if as_mapped else add_doors(soup, found.buildings, cover.shapes.get("street"))
    walls = Soup()
    add_barriers(walls, features, disc, height)
    towers, _ = tower_meshes(features, reach_m, height, outlines)
    decks = Soup()
    add_piers(decks, piers, waters, height)
    passed = [cover.shapes[k] for k in ("street", "gravel bed", "pavement") if k in cover.shapes]
    spans = Soup()
    add_bridges(spans, raised, shapely.union_all(passed))
    paved = _is_town(found)
    sheets = draped(cover.mesh("town ground" if paved else "garden ground"), ground)
    meshes = {
        "building": soup.mesh(),
        "tower": towers or join([]),
        "wall": walls.mesh(),
        "ground": sheets,
        "water": water_mesh(ground, waters, height),
        "pier": decks.mesh(),
        "bridge": spans.mesh(),
    }
    land = land_mesh(ground, waters)
    ground = replace(ground, material="town ground" if paved else "grass", land=land)
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
        marks=_marks(found, named_grounds(features, disc), waters, height),
        credit=data.credit,
    )
    notes = _notes(
        data,
        found.counts,
        cover,
        trees,
        life.mapped,
        {
            **life.made_up,
            "front door": doors,
            "wagon": sum(len(thing.places) for thing in wagons),
        },
        bridges,
        terrain is None,
    )
    roofs = _roofs_over(found, meshes["building"], height(np.zeros((1, 2)))[0])
    return Place(description, frame, found.counts, roofs, found.buildings, notes)


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


def _marks(
    found: Footprints,
    grounds: Mapping[str, tuple[float, float]],
    waters: Waters,
    height: Callable[[Floats], Floats],
) -> dict[str, tuple[float, float, float]]:
    """What has a name: buildings by the middle at half their height, grounds where they lie."""
    marks: dict[str, tuple[float, float, float]] = {}
    for b in found.buildings:
        if b.name and b.name not in marks:
            point = b.outline.centroid
            marks[b.name] = (point.x, point.y, b.ground_m + b.standing.top_m / 2)
    for name, (x, y) in grounds.items():
        at = np.array([[x, y]])
        level_m, ground_m = float(waters.level_m(at, height)[0]), float(height(at)[0])
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


def _notes(
    data: MapData,
    counts: Counts,
    cover: Cover,
    trees: Planted,
    furniture: int,
    made_up: Mapping[str, int],
    bridges: int,
    flat: bool,
) -> tuple[str, ...]:
    notes = [counts_words(counts)]
    if counts.refused:
        were = "was" if counts.refused == 1 else "were"
        notes.append(
            f"{_many(counts.refused, 'height')} of the file {were} not understood or cannot be: "
            "taken from storeys or guessed instead"
        )
    if counts.roofs_guessed:
        notes.append(
            f"{_many(counts.roofs_guessed, 'roof')} that nothing is said of: guessed to be gables"
        )
    if trees.mapped or trees.strewn:
        mapped = _many(trees.mapped, "tree")
        notes.append(f"{mapped} of the map, {trees.strewn} strewn over its woods by rule")
    if furniture:
        stand = "stands" if furniture == 1 else "stand"
        notes.append(f"{_many(furniture, 'piece')} of street furniture {stand} where the map says")
    made = ", ".join(_many(n, name) for name, n in made_up.items() if n)
    if made:
        notes.append(f"made up by rule, as maps leave them out (--as-mapped does too): {made}")
    notes.append(
        "no terrain was given: the ground is level" if flat else "the ground is the terrain's"
    )
    if bridges:
        notes.append(f"{_many(bridges, 'bridge')} at the height that what they cross asks for")
    if cover.coastlines and not cover.sea_drawn:
        notes.append("no sea is drawn: the coastline of the map does not come within reach")
    if cover.coast_carried_on:
        notes.append("the coastline of the map ends within reach: it was drawn straight on")
    if counts.mended:
        notes.append(f"{_many(counts.mended, 'outline')} mended (lines that crossed)")
    return (*notes, *data.remarks)


def counts_words(counts: Counts) -> str:
    """How the buildings' heights came about, in one phrase."""
    if not counts.total:
        return "no buildings within reach"
    least, most = counts.guessed_m
    at = f" at {round_metres(most)}"
    if most - least >= 0.05:
        low, high = round_metres(least), round_metres(most)
        same = low.split()[1] == high.split()[1]
        at = f" at {low.split()[0] if same else low} to {high}"
    storeys = f"{counts.storeys} from storeys of {round_metres(3.0)}"
    given, guessed = _many(counts.given, "height"), f"{counts.guessed} guessed"
    return (
        f"{_many(counts.total, 'building')}: {given} given, {storeys}, "
        f"{guessed}{at if counts.guessed else ''}"
    )


def _many(count: int, noun: str) -> str:
    plural = "people" if noun == "person" else f"{noun}s"
    return f"{count} {noun if count == 1 else plural}"
