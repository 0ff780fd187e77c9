"""Water below the land: levels, banks, quays, causeways, piers, and the land's hole."""

import numpy as np
import pytest
import shapely
from shapely.geometry import LineString, Polygon

from render.world.description import Ground, Relief
from render.world.ground import FAR_M, ground_mesh, mesh_height
from render.world.place.grounds.waters import (
    Waters,
    add_piers,
    land_mesh,
    piers_of,
    water_mesh,
    waters_of,
)
from render.world.place.mapdata import Feature
from render.world.place.soup import Soup

_DISC = shapely.Point(0, 0).buffer(500)
_LAKE = shapely.box(50, 50, 150, 120)
Floats = np.ndarray


def _flat(points: Floats) -> Floats:
    return np.zeros(len(points))


def _slope(points: Floats) -> Floats:
    """A hillside that climbs 1 m in 20 to the east."""
    return points[:, 0] / 20.0


def _waters(water: Polygon, features: list[Feature] | None = None, **shapes: Polygon) -> Waters:
    piers = piers_of(features or [], _DISC)
    return waters_of({"water": water, **shapes}, features or [], _DISC, piers, Polygon(), _flat)


def _level(waters: Waters, x: float, y: float) -> float:
    return float(waters.level_m(np.array([[x, y]]), _flat)[0])


def test_a_lake_lies_below_its_banks_and_a_walled_basin_lower_still() -> None:
    """Half a metre in the open; 1.6 m where streets run along most of its shore."""
    street = _LAKE.buffer(10).difference(_LAKE.buffer(4))

    assert _level(_waters(_LAKE), 100, 80) == pytest.approx(-0.5)
    assert _level(_waters(_LAKE, street=street), 100, 80) == pytest.approx(-1.6)
    assert np.isnan(_level(_waters(_LAKE), 0, 0))


def test_a_lake_on_a_hillside_is_level_and_a_river_is_not() -> None:
    """The lake takes the low end of its shore; the river follows the slope 0.5 m below it."""
    lake = waters_of({"water": _LAKE}, [], _DISC, [], Polygon(), _slope)
    line = LineString([(-200, -50), (200, -50)])
    river = Feature({"waterway": "river", "width": "16"}, line)
    flows = waters_of({"water": line.buffer(8)}, [river], _DISC, [], Polygon(), _slope)

    along = np.array([[60.0, 80.0], [140.0, 80.0]])
    assert np.ptp(lake.level_m(along, _slope)) == 0
    assert lake.level_m(along, _slope)[0] < 50 / 20
    points = np.array([[-100.0, -50.0], [100.0, -50.0]])
    assert flows.level_m(points, _slope) == pytest.approx(_slope(points) - 0.5)


def test_a_street_without_a_bridge_crosses_on_a_causeway_and_a_pier_needs_none() -> None:
    """The street parts the lake; the way on a pier leaves the water below it."""
    way = shapely.box(98, 0, 102, 200)
    pier = Feature({"man_made": "pier", "width": "6"}, LineString([(100, 0), (100, 200)]))

    assert np.isnan(_level(_waters(_LAKE, street=way), 100, 80))
    assert _level(_waters(_LAKE, [pier], path=way), 100, 80) == pytest.approx(-0.5)


@pytest.mark.parametrize("relief", [False, True])
def test_the_land_has_a_hole_where_the_water_is_and_nowhere_else(relief: bool) -> None:
    """Seen from above the land covers everything but the lake, once, out to the horizon."""
    bumps = Relief(np.random.default_rng(1).random((11, 11)) * 3)
    ground = Ground(extent_m=500, relief=bumps if relief else None)
    waters = _waters(_LAKE)
    land = land_mesh(ground, waters)
    assert land is not None
    p = land.xyz[..., :2]
    a, b = p[:, 1] - p[:, 0], p[:, 2] - p[:, 0]

    area = np.abs(a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0]).sum() / 2
    assert area == pytest.approx((2 * FAR_M) ** 2 - _LAKE.area, rel=1e-9)
    assert not np.any(shapely.contains_xy(_LAKE.buffer(-0.01), *p.mean(axis=1).T))
    assert land.xyz[..., 2] == pytest.approx(mesh_height(ground, p[..., 0], p[..., 1]), abs=1e-6)
    holed = Ground(extent_m=500, relief=ground.relief, land=land)
    assert ground_mesh(holed) is land


def test_banks_close_the_gap_between_land_and_water_and_face_the_water() -> None:
    """Every bank reaches from the land to below the surface; from the lake one sees its front."""
    ground = Ground(extent_m=500)
    mesh = water_mesh(ground, _waters(_LAKE), _flat)
    bank = mesh.xyz[[mesh.slots[s] in ("soil", "stone") for s in mesh.slot]]
    normal = np.cross(bank[:, 1] - bank[:, 0], bank[:, 2] - bank[:, 0])
    inwards = np.array([100.0, 85.0]) - bank.mean(axis=1)[:, :2]

    assert bank[..., 2].max() == 0
    assert bank[..., 2].min() < -0.5
    assert np.all(np.sum(normal[:, :2] * inwards, axis=1) > 0)
    upright = np.hypot(normal[:, 0], normal[:, 1]) / 2
    assert upright.sum() == pytest.approx(_LAKE.length * 1.5)


def test_wide_water_at_the_rim_of_the_reach_goes_on_to_the_horizon() -> None:
    """A sea over the southern half is seen to the horizon; a river of 20 m ends."""
    sea = _waters(_DISC.intersection(shapely.box(-500, -500, 500, 0)))
    river = _waters(_DISC.intersection(shapely.box(-10, -500, 10, 500)))

    assert _level(sea, 0, -0.9 * FAR_M) == pytest.approx(-0.5)
    assert np.isnan(_level(sea, 0, 0.9 * FAR_M))
    assert np.isnan(_level(river, 0, -0.9 * FAR_M))


def test_a_pier_stands_at_the_height_of_the_land_on_piles_and_a_pontoon_floats() -> None:
    """Decks 1 cm above the land, or 0.4 m above the water; no pontoon has piles."""
    for tags, top, piles in (({}, 0.01, True), ({"floating": "yes"}, -0.09, False)):
        pier = Feature({"man_made": "pier", **tags}, LineString([(100, 40), (100, 90)]))
        waters = _waters(_LAKE, [pier])
        soup = Soup()
        add_piers(soup, piers_of([pier], _DISC), waters, _flat)
        mesh = soup.mesh()
        deck = mesh.xyz[[mesh.slots[s] == "planks" for s in mesh.slot]]

        assert deck[..., 2].max() == pytest.approx(top)
        assert ("brown wood" in mesh.slots) == piles


def test_without_water_there_is_nothing() -> None:
    """No hole, no surface."""
    none = waters_of({}, [], _DISC, [], Polygon(), _flat)

    assert land_mesh(Ground(), none) is None
    assert not len(water_mesh(Ground(), none, _flat).xyz)
