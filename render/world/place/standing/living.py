"""What gives a street its scale and maps leave out: cars, walkers, boats, lamps, front doors.

Everything here is strewn by rule, from chance that belongs to the place on Earth; usual distances
and shares are common practice, no source. Cars keep to the right.
"""

import math
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np
import shapely
import shapely.ops
from numpy.typing import NDArray
from shapely.geometry import LineString
from shapely.geometry.base import BaseGeometry

from render.world.description import Motion, Thing
from render.world.place.buildings.roofs import outline_axes
from render.world.place.chance import hashed, lattice, place_seed
from render.world.place.grounds.cover import lift_m, polygons, strip_of, within
from render.world.place.grounds.waters import Waters
from render.world.place.mapdata import Feature
from render.world.place.projection import LocalFrame
from render.world.things import load_kinds
from render.world.things.kind import KINDS

__all__ = ["Life", "life_of"]

Floats = NDArray[np.float64]
#: Where a thing stands: x, y, height above ground, turn in degrees, scale.
Spot = tuple[float, float, float, float, float]

#: Farther away than this nobody is drawn; nearer to the camera nothing made up stands, m.
_FAR_M, _FREE_M = 600.0, 12.0
_MOST = {"car": 1200, "driven": 200, "person": 500, "lamp": 600, "boat": 120}
#: Streets with cars along the kerb, and those that cars drive on, with their speed, m/s.
_PARKED = {"residential": 0.45, "living_street": 0.35, "unclassified": 0.3, "tertiary": 0.25}
_DRIVEN = {
    "motorway": 30.0,
    "trunk": 22.0,
    "primary": 13.0,
    "secondary": 13.0,
    "tertiary": 12.0,
    "residential": 8.0,
    "unclassified": 10.0,
}
_SLOT_M, _GAP_M = 6.2, 90.0
#: A bay of a car park, and the way between two rows of them.
_BAY_M, _DEEP_M, _AISLE_M = 2.5, 5.0, 6.0
_BAYS_TAKEN = 0.62
#: Walkers: one for so many metres of a street's side or of a way; on squares so far apart.
_WALKED_M, _STOOD_M = 34.0, 9.5
_WALKED = {"residential", "living_street", "unclassified", "tertiary", "secondary", "primary"}
_WAYS = {"footway", "pedestrian", "path"}
_LAMPS_M = 30.0
#: Boats at anchor lie so far apart; smaller waters have none.
_ANCHORED_M, _LEAST_WATER_M2 = 78.0, 1500.0

#: Sorts of cars on the move; of parked ones, up to which share each.
_DRIVEN_SORTS = ("car", "hatch", "estate", "van", "small van", "hatch")
_PARKED_SORTS = {"car": 0.30, "estate": 0.48, "hatch": 0.88, "small van": 0.94, "van": 1.0}
_PAINT = ("#d8d9d8", "#3a3d40", "#8f8f92", "#35618c", "#8f2f2a", "#e4e2dd", "#466a52", "#5a5d63")
_TOPS = ("#b8433a", "#e8e4da", "#2f4f74", "#d8a23e", "#5d7f66", "#8c8f93", "#24262b", "#6a4a5c")
_CLOTHES = {
    "top": _TOPS,
    "bottom": ("#2c3442", "#4a4038", "#6f7278", "#24262b"),
    "hair": ("#2a1d14", "#5a3c22", "#8d6b3f", "#8a8680"),
    "skin": ("#e8bd9a", "#d9a27a", "#b97e55", "#8a5a3c"),
}
#: What a map has of a street's furniture: tag, kind of thing and its values.
_FURNITURE: tuple[tuple[str, str, str, dict[str, object]], ...] = (
    ("highway", "street_lamp", "lamp post", {"style": "arm", "height_m": 6.0}),
    ("amenity", "bench", "bench", {}),
    ("amenity", "waste_basket", "bin", {}),
    ("amenity", "fountain", "fountain", {}),
    ("barrier", "bollard", "bollard", {}),
)


@dataclass(frozen=True, slots=True, eq=False)
class Life:
    """Things of a scene, and how many there are of each.

    Attributes
    ----------
    things : tuple of Thing
    mapped : int
        Lamps, benches and the like that the map has itself.
    made_up : mapping of str to int
        What was strewn by rule, in the singular: "parked car", "person", "boat", "lamp".
    """

    things: tuple[Thing, ...]
    mapped: int = 0
    made_up: Mapping[str, int] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, eq=False)
class _Street:
    """A piece of a street or way, with what its side is strewn by."""

    line: LineString
    tags: Mapping[str, str]
    width_m: float
    seed: int

    @property
    def use(self) -> str:
        return self.tags.get("highway", "")


def life_of(
    features: Sequence[Feature],
    frame: LocalFrame,
    reach_m: float,
    shapes: Mapping[str, BaseGeometry],
    water: Waters,
    buildings: BaseGeometry,
    ground: Callable[[Floats], Floats],
    *,
    as_mapped: bool,
) -> Life:
    """Furniture of the map, and, unless `as_mapped`, what is strewn.

    Parameters
    ----------
    features : sequence of Feature
        Metres.
    shapes : mapping of layer to geometry
        What covers the ground (`cover.Cover.shapes`).
    water : Waters
        Boats float on it.
    buildings : geometry
        Nothing stands in them.
    ground : callable
        Heights of the ground at points, shape (n, 2).
    """
    load_kinds()
    reach = min(reach_m, _FAR_M)
    furniture = list(_mapped(features, reach))
    count = sum(len(thing.places) for thing in furniture)
    if as_mapped:
        return Life(tuple(furniture), count)
    streets = list(_streets(features, frame, reach))
    taken = buildings.buffer(0.4)
    shapely.prepare(taken)
    crossed = shapely.STRtree([s.line for s in streets])
    parked = [*_kerbside(streets, crossed), *_car_parks(shapes.get("parking"), frame, reach)]
    parked = _free(parked, taken, 1.4, reach)[: _MOST["car"]]
    driven = list(_driven(streets))
    stood = _free(list(_standing(shapes.get("square"), frame, reach)), buildings, 0.4, reach)
    stood = stood[: _MOST["person"]]
    walked = list(_walking(streets, taken))
    boats = _free(list(_boats(water, ground, frame, reach)), buildings, 3.0, reach)
    boats = boats[: _MOST["boat"]]
    lamps: list[Spot] = []
    if not any(thing.kind.name == "lamp post" for thing in furniture):
        lamps = _free(list(_lamps(streets)), buildings, 0.4, reach)[: _MOST["lamp"]]
    things = [
        *furniture,
        *_cars(parked),
        *driven,
        *_people(stood),
        *walked,
        *_afloat(boats),
        *_posts(lamps),
    ]
    made_up = {
        "parked car": len(parked),
        "moving car": sum(len(thing.places) for thing in driven),
        "person": len(stood) + sum(len(t.places) for t in walked),
        "boat": len(boats),
        "lamp": len(lamps),
    }
    return Life(tuple(things), count, {name: n for name, n in made_up.items() if n})


def _mapped(features: Iterable[Feature], reach: float) -> Iterator[Thing]:
    found: dict[int, list[Spot]] = {}
    for feature in features:
        if (
            feature.shape.geom_type != "Point"
            or math.hypot(feature.shape.x, feature.shape.y) > reach
        ):
            continue
        for number, (key, value, _, _) in enumerate(_FURNITURE):
            if feature.tags.get(key) == value:
                turn = _direction(feature.tags)
                found.setdefault(number, []).append(
                    (feature.shape.x, feature.shape.y, 0.0, turn, 1.0)
                )
    for number, spots in sorted(found.items()):
        _, _, name, values = _FURNITURE[number]
        yield _thing(name, values, spots)


def _direction(tags: Mapping[str, str]) -> float:
    """Turn of a thing that looks towards -y, from the compass direction it looks to."""
    try:
        heading = float(tags.get("direction", ""))
    except ValueError:
        return 0.0
    return 180.0 - heading if math.isfinite(heading) else 0.0


def _streets(features: Iterable[Feature], frame: LocalFrame, reach: float) -> Iterator[_Street]:
    """Streets and ways on the ground, in pieces as the map has them, the nearest first."""
    origin = shapely.Point(0, 0)
    disc = origin.buffer(reach)
    found = []
    for feature in features:
        strip = strip_of(feature.tags)
        on_ground = all(feature.tags.get(k, "no") == "no" for k in ("bridge", "tunnel"))
        if strip is None or not on_ground or "highway" not in feature.tags:
            continue
        for part in shapely.get_parts(within(feature.shape, disc)):
            away = part.distance(origin)
            if isinstance(part, LineString) and away < reach and part.length > 1.0:
                x, y = part.coords[0]
                found.append((away, _Street(part, feature.tags, strip[1], place_seed(frame, x, y))))
    yield from (street for _, street in sorted(found, key=lambda pair: pair[0]))


def _along(line: LineString, at: Floats, aside_m: float | Floats) -> tuple[Floats, Floats]:
    """Points beside a line, `aside_m` to the right of its way, and the way there in degrees."""
    here = shapely.get_coordinates(shapely.line_interpolate_point(line, at))
    back = shapely.get_coordinates(shapely.line_interpolate_point(line, np.maximum(at - 0.3, 0)))
    on = shapely.get_coordinates(
        shapely.line_interpolate_point(line, np.minimum(at + 0.3, line.length))
    )
    way = on - back
    way /= np.maximum(np.hypot(way[:, 0], way[:, 1]), 1e-9)[:, None]
    right = np.stack([way[:, 1], -way[:, 0]], axis=1)
    aside = np.broadcast_to(np.asarray(aside_m, float), at.shape)[:, None]
    return here + aside * right, np.degrees(np.arctan2(way[:, 1], way[:, 0]))


def _kerbside(streets: Sequence[_Street], crossed: shapely.STRtree) -> Iterator[Spot]:
    """Cars parked along the kerb, clear of what crosses the street."""
    for number, street in enumerate(streets):
        share = _PARKED.get(street.use, 0.0)
        at = np.arange(4.0 + _SLOT_M / 2, street.line.length - 4.0 - _SLOT_M / 2, _SLOT_M)
        if not share or not len(at):
            continue
        aside = street.width_m / 2 + (0.15 if street.width_m < 7 else -1.05)
        for side in (1.0, -1.0):
            luck = hashed(street.seed, np.arange(len(at)), 1 if side > 0 else 2)
            points, way = _along(street.line, at, side * aside)
            good = luck[:, 0] < share
            for k in np.flatnonzero(good):
                spot = shapely.Point(points[k])
                others = crossed.query(spot.buffer(7.0), predicate="intersects")
                if all(o == number for o in others.tolist()):
                    turn = way[k] + 90.0 + (0.0 if side > 0 else 180.0) + 2.0 * (luck[k, 1] - 0.5)
                    yield (
                        float(points[k, 0]),
                        float(points[k, 1]),
                        lift_m("street"),
                        float(turn),
                        1.0,
                    )


def _car_parks(shape: BaseGeometry | None, frame: LocalFrame, reach: float) -> Iterator[Spot]:
    """Cars in rows of bays along the longer side of each car park."""
    for park in polygons(shape):
        if park.area < 60 or park.distance(shapely.Point(0, 0)) > reach:
            continue
        middle, long, half_u, half_v = outline_axes(park)
        across = np.array([-long[1], long[0]])
        seed = place_seed(frame, *park.exterior.coords[0])
        inside = park.buffer(-0.4)
        shapely.prepare(inside)
        row_at = np.arange(-half_v + _DEEP_M / 2, half_v, _DEEP_M + _AISLE_M)
        u = np.arange(-half_u + _BAY_M / 2 + 0.5, half_u - _BAY_M / 2, _BAY_M)
        way = math.degrees(math.atan2(across[1], across[0])) + 90.0
        for row, v in enumerate(row_at):
            luck = hashed(seed, np.arange(len(u)) + 1000 * row, 3)
            for k in np.flatnonzero(luck[:, 0] < _BAYS_TAKEN):
                x, y = middle + u[k] * long + v * across
                body = shapely.affinity.rotate(
                    shapely.box(x - 0.95, y - 2.2, x + 0.95, y + 2.2), way, "center"
                )
                if inside.contains(body):
                    turn = way + (180.0 if luck[k, 1] < 0.5 else 0.0)
                    yield float(x), float(y), lift_m("parking"), turn, 1.0


def _driven(streets: Sequence[_Street]) -> Iterator[Thing]:
    """Cars on their way, each street's on its right-hand lanes, there and back."""
    left = _MOST["driven"]
    for street in streets:
        speed = _DRIVEN.get(street.use)
        if speed is None or street.line.length < 40 or left <= 0:
            continue
        one_way = street.tags.get("oneway", "no") in ("yes", "1", "true")
        if street.tags.get("oneway") == "-1":
            continue
        for back in (False,) if one_way else (False, True):
            luck = hashed(street.seed, 9, 4 + back)
            lane = LineString(street.line.coords[::-1] if back else street.line.coords)
            path, _ = _along(lane, _steps(lane), 0.0 if one_way else street.width_m / 4 - 0.25)
            run = float(np.hypot(*np.diff(path, axis=0).T).sum())
            count = int(run / _GAP_M + luck[0])
            count = min(count, left)
            if not count:
                continue
            left -= count
            motion = Motion(tuple(map(tuple, path.tolist())), speed, luck[1] * 60, run / count)
            shape = _DRIVEN_SORTS[int(len(_DRIVEN_SORTS) * luck[1])]
            spots = [(0.0, 0.0, lift_m("street"), 0.0, 1.0)] * count
            yield _thing("car", {"shape": shape}, spots, {"body": _PAINT}, motion, street.seed % 97)


def _steps(line: LineString) -> Floats:
    """Places along a line: its corners, and no more than 12 m between."""
    corners = shapely.line_locate_point(line, shapely.points(shapely.get_coordinates(line)))
    between = np.linspace(0, line.length, max(2, math.ceil(line.length / 12)))
    return np.unique(
        np.concatenate([np.round(corners, 3), np.round(between, 3)]).clip(0, line.length)
    )


def _walking(streets: Sequence[_Street], taken: BaseGeometry) -> Iterator[Thing]:
    """Walkers there and back, on the sides of streets and on ways of their own."""
    left = _MOST["person"]
    for street in streets:
        on_way = street.use in _WAYS
        if not on_way and street.use not in _WALKED:
            continue
        for side in (1.0,) if on_way else (1.0, -1.0):
            luck = hashed(street.seed, 5, 6 + int(side))
            count = min(int(street.line.length / _WALKED_M + luck[0]), left)
            if count < 1:
                continue
            aside = 0.25 * street.width_m if on_way else side * (street.width_m / 2 + 1.6)
            path, _ = _along(street.line, _steps(street.line), aside)
            way = LineString(path)
            if (
                way.length < 6
                or taken.intersects(way)
                or way.distance(shapely.Point(0, 0)) < _FREE_M
            ):
                continue
            left -= count
            gap = 2 * way.length / count * (0.8 + 0.4 * luck[1])
            motion = Motion(tuple(map(tuple, path.tolist())), 1.3, 60 * luck[1], gap, True)
            lift = lift_m("pavement" if street.use in _WAYS else "town")
            spots = [(0.0, 0.0, lift, 0.0, 1.0)] * count
            yield _thing("person", {"pose": "walk"}, spots, _CLOTHES, motion, 1 + street.seed % 5)


def _standing(shape: BaseGeometry | None, frame: LocalFrame, reach: float) -> Iterator[Spot]:
    """People on squares and platforms."""
    if shape is not None:
        yield from _scattered(shape.buffer(-0.8), frame, reach, _STOOD_M, lift_m("square"))


def _boats(
    water: Waters, ground: Callable[[Floats], Floats], frame: LocalFrame, reach: float
) -> Iterator[Spot]:
    """Boats at anchor, where there is water enough."""
    wide = [part.buffer(-6.0) for part in polygons(water.shape) if part.area > _LEAST_WATER_M2]
    spots = list(_scattered(shapely.union_all(wide), frame, reach, _ANCHORED_M, 0.0))
    if spots:
        xy = np.array([spot[:2] for spot in spots])
        lifts = (water.level_m(xy, ground) - ground(xy)).tolist()
        for (x, y, _, turn, scale), lift in zip(spots, lifts, strict=True):
            yield x, y, lift, turn, scale


def _scattered(
    shape: BaseGeometry, frame: LocalFrame, reach: float, spacing_m: float, lift: float
) -> Iterator[Spot]:
    """Points inside a shape, so far apart on average, turned anyhow."""
    if shape.is_empty:
        return
    points = lattice(shape.bounds, frame, reach, spacing_m)
    points = points[shapely.contains_xy(shape, points[:, 0], points[:, 1])]
    for x, y in points.tolist():
        turn = float(hashed(place_seed(frame, round(x), round(y)), 7)[0])
        yield x, y, lift, 360.0 * turn, 1.0


def _lamps(streets: Sequence[_Street]) -> Iterator[Spot]:
    """Lamps along lit streets, on alternate sides."""
    for street in streets:
        lit = street.tags.get("lit")
        if lit == "no" or (lit is None and street.use not in _WALKED):
            continue
        at = np.arange(6.0, street.line.length - 3.0, _LAMPS_M)
        if not len(at):
            continue
        side = np.where(np.arange(len(at)) % 2 == 0, 1.0, -1.0)
        points, way = _along(street.line, at, side * (street.width_m / 2 + 0.6))
        for k, (x, y) in enumerate(points.tolist()):
            yield x, y, 0.0, float(way[k] + (180.0 if side[k] > 0 else 0.0)), 1.0


def _free(spots: Sequence[Spot], taken: BaseGeometry, clear_m: float, reach: float) -> list[Spot]:
    """Spots in no building, not before the lens and within reach, the nearest first."""
    if not spots:
        return []
    xy = np.array([spot[:2] for spot in spots])
    away = np.hypot(xy[:, 0], xy[:, 1])
    beside = shapely.distance(taken, shapely.points(xy))  # NaN where there is no building at all
    clear = ~(beside <= clear_m)
    good = clear & (away > _FREE_M) & (away < reach)
    order = np.argsort(away, kind="stable")
    return [spots[k] for k in order if good[k]]


def _cars(spots: Sequence[Spot]) -> Iterator[Thing]:
    luck = hashed(np.round(np.array([s[0] * 10 for s in spots])), np.arange(len(spots)), 9)
    kinds: dict[str, list[Spot]] = {}
    for spot, (share, _) in zip(spots, luck, strict=True):
        which = next(sort for sort, most in _PARKED_SORTS.items() if share < most)
        kinds.setdefault(which, []).append(spot)
    for which, found in sorted(kinds.items()):
        yield _thing("car", {"shape": which}, found, {"body": _PAINT})


def _people(spots: Sequence[Spot]) -> Iterator[Thing]:
    if spots:
        yield _thing("person", {"pose": "any"}, spots, _CLOTHES)


def _afloat(spots: Sequence[Spot]) -> Iterator[Thing]:
    for number, which in enumerate(("rowing", "motor", "sailing")):
        found = list(spots[number::3])
        if found:
            yield _thing("boat", {"type": which}, found)


def _posts(spots: Sequence[Spot]) -> Iterator[Thing]:
    if spots:
        yield _thing("lamp post", {"style": "arm", "height_m": 6.0}, spots)


def _thing(
    name: str,
    values: Mapping[str, object],
    spots: Sequence[Spot],
    colours: Mapping[str, tuple[str, ...]] | None = None,
    motion: Motion | None = None,
    seed: int = 1,
) -> Thing:
    kind = KINDS[name]
    return Thing(
        kind,
        kind.read(dict(values)),
        dict(kind.stuff),
        dict(colours or {}),
        tuple(spots),
        "",
        seed,
        motion,
    )
