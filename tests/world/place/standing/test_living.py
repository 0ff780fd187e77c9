"""Street life: where people would be, never in a house, counted, and off on request."""

import math

import numpy as np
import pytest
import shapely
from shapely.geometry import LineString, Point, Polygon

from render.world.place.grounds.waters import Waters, waters_of
from render.world.place.mapdata import Feature
from render.world.place.projection import LocalFrame
from render.world.place.standing.living import Life, life_of
from tests.townlet import AT

_FRAME = LocalFrame(*AT)
_STREET = Feature({"highway": "residential"}, LineString([(-150, 30), (150, 30)]))


_DRY = Waters(Polygon(), ())


def _flat(points: np.ndarray) -> np.ndarray:
    return np.zeros(len(points))


def _life(
    features: list[Feature],
    buildings: Polygon = _DRY.shape,  # type: ignore[assignment]
    water: Waters = _DRY,
    **shapes: Polygon,
) -> Life:
    return life_of(features, _FRAME, 500, shapes, water, buildings, _flat, as_mapped=False)


def _spots(life: Life, name: str) -> np.ndarray:
    return np.array(
        [p for t in life.things if t.kind.name == name and t.motion is None for p in t.places]
    )


def test_cars_stand_along_the_kerb_and_leave_the_middle_free() -> None:
    """5.5 m wide: each car's middle 2.9 m beside the line, along it, on both sides."""
    cars = _spots(_life([_STREET]), "car")

    assert len(cars) > 20
    assert np.abs(cars[:, 1] - 30) == pytest.approx(np.full(len(cars), 2.9), abs=1e-6)
    assert {round(math.cos(math.radians(turn - 90))) for turn in cars[:, 3]} == {-1, 1}
    assert np.diff(np.sort(cars[cars[:, 1] > 30][:, 0])).min() > 5.0


def test_no_car_stands_where_another_street_comes_in() -> None:
    """A crossing street keeps 7 m clear on both sides of its line."""
    crossing = Feature({"highway": "residential"}, LineString([(40, -100), (40, 200)]))
    cars = _spots(_life([_STREET, crossing]), "car")
    on_first = cars[np.abs(np.abs(cars[:, 1] - 30) - 2.9) < 1e-6]

    assert len(on_first) > 10
    assert np.abs(on_first[:, 0] - 40).min() > 6.0


def test_nobody_stands_in_a_house_or_before_the_lens() -> None:
    """A house over a square, the camera on it: everyone is on what is left, 12 m away."""
    square, house = shapely.box(-60, -60, 60, 60), shapely.box(0, 0, 40, 40)
    people = _spots(_life([], house, square=square), "person")

    assert len(people) > 60
    assert not np.any(shapely.contains_xy(house, people[:, 0], people[:, 1]))
    assert np.all(shapely.contains_xy(square, people[:, 0], people[:, 1]))
    assert np.hypot(people[:, 0], people[:, 1]).min() > 12.0


def test_cars_park_inside_the_bays_of_a_car_park() -> None:
    """Whole cars inside the outline, rows a car and an aisle apart."""
    park = shapely.box(50, 50, 110, 90)
    cars = _spots(_life([], parking=park), "car")

    bodies = [
        shapely.affinity.rotate(shapely.box(x - 0.9, y - 2.1, x + 0.9, y + 2.1), turn, "center")
        for x, y, _, turn, _ in cars
    ]
    assert len(cars) > 30
    assert all(park.contains(body) for body in bodies)
    assert shapely.union_all(bodies).area == pytest.approx(sum(b.area for b in bodies), rel=1e-6)


def test_boats_lie_on_water_that_is_large_enough() -> None:
    """None on a pond of 900 m2; some on a lake, in it and at its level."""
    pond, lake = shapely.box(20, 20, 50, 50), shapely.box(-450, 50, 350, 450)

    def floating(shape: Polygon) -> np.ndarray:
        disc = shapely.Point(0, 0).buffer(500)
        water = waters_of({"water": shape}, [], disc, [], Polygon(), _flat)
        return _spots(_life([], water=water), "boat")

    assert not len(floating(pond))
    boats = floating(lake)
    assert boats[:, 2] == pytest.approx(-0.5)
    assert len(boats) > 15
    assert np.all(shapely.contains_xy(lake.buffer(-5), boats[:, 0], boats[:, 1]))


def test_walkers_and_drivers_move_along_their_street() -> None:
    """Walkers there and back beside it, cars one way on each right-hand lane."""
    moving = [t for t in _life([_STREET]).things if t.motion is not None]
    walkers = [t for t in moving if t.kind.name == "person"]
    drivers = [t for t in moving if t.kind.name == "car"]

    assert walkers
    assert all(t.motion.returns for t in walkers if t.motion)
    lanes = {
        np.sign(t.motion.path_m[-1][0] - t.motion.path_m[0][0]): t for t in drivers if t.motion
    }
    assert set(lanes) == {-1.0, 1.0}
    for way, thing in lanes.items():
        assert thing.motion is not None
        y = np.array(thing.motion.path_m)[:, 1]
        assert np.all(np.sign(30 - y) == way)  # eastwards on the southern half


def test_a_bridge_and_a_tunnel_carry_nothing() -> None:
    """What moves follows the ground, so nothing is put on a deck or below ground."""
    ways = [
        Feature({"highway": "residential", kind: "yes"}, LineString([(-150, 30), (150, 30)]))
        for kind in ("bridge", "tunnel")
    ]

    assert _life(ways).things == ()


def test_furniture_of_the_map_is_kept_and_lamps_are_then_not_made_up() -> None:
    """A lamp, a bench and a bin of the map stand where it says, with nothing else asked for."""
    things = [
        Feature({"highway": "street_lamp"}, Point(30, 26)),
        Feature({"amenity": "bench", "direction": "90"}, Point(31, 35)),
        Feature({"amenity": "waste_basket"}, Point(33, 35)),
    ]
    bare = life_of([_STREET, *things], _FRAME, 500, {}, _DRY, Polygon(), _flat, as_mapped=True)
    full = _life([_STREET, *things])

    assert (bare.mapped, dict(bare.made_up)) == (3, {})
    assert sorted(t.kind.name for t in bare.things) == ["bench", "bin", "lamp post"]
    assert "lamp" not in full.made_up
    assert len(_spots(full, "lamp post")) == 1


def test_the_town_is_the_same_from_another_vantage() -> None:
    """From 50 m farther east the same cars stand 50 m farther west."""
    near = LocalFrame(*_FRAME.to_degrees(np.array([[50.0, 0.0]]))[0][::-1])

    def cars(frame: LocalFrame) -> set[tuple[float, float]]:
        points = _FRAME.to_degrees(np.array([[-150.0, 30.0], [150.0, 30.0]])).round(7)
        street = Feature({"highway": "residential"}, LineString(frame.to_metres(points)))
        life = life_of([street], frame, 500, {}, _DRY, Polygon(), _flat, as_mapped=False)
        lonlat = frame.to_degrees(_spots(life, "car")[:, :2])
        return {(round(x, 6), round(y, 6)) for x, y in lonlat.tolist()}

    both = cars(_FRAME) & cars(near)
    assert len(both) > 0.9 * len(cars(_FRAME))


def test_a_way_across_the_globe_is_lived_in_only_where_it_is_seen() -> None:
    """5,000 km of street make no more of a town than the part within reach."""
    long = Feature({"highway": "primary"}, LineString([(-2.5e6, 30), (2.5e6, 30)]))
    short = Feature({"highway": "primary"}, LineString([(-500, 30), (500, 30)]))
    counts = [dict(_life([way]).made_up) for way in (long, short)]

    assert all(n < 2 * counts[1][name] + 10 for name, n in counts[0].items())
    moving = [t.motion for t in _life([long]).things if t.motion is not None]
    assert all(len(motion.path_m) < 400 for motion in moving)
