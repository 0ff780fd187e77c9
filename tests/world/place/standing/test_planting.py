"""Trees: as mapped, or strewn by latitude and longitude, never on what must stay free."""

import numpy as np
import pytest
import shapely
from shapely.geometry import LineString, Point, Polygon

from render.world.place.mapdata import Feature
from render.world.place.projection import LocalFrame
from render.world.place.standing.planting import planted
from tests.townlet import AT

_FRAME = LocalFrame(*AT)
_NONE = Polygon()


def _places(features: list[Feature], woods: Polygon | None = None, free: Polygon = _NONE):  # type: ignore[no-untyped-def]
    found = planted(features, _FRAME, 600, woods, None, free)
    return found, np.array([p for thing in found.things for p in thing.places])


def test_a_tree_stands_where_and_as_high_as_the_map_says() -> None:
    """18 m at its spot; the shape is 10 m high and scaled."""
    tree = Feature({"natural": "tree", "height": "18", "leaf_type": "needleleaved"}, Point(12, -7))

    found, places = _places([tree])

    assert (found.mapped, found.strewn) == (1, 0)
    assert places[0, :2] == pytest.approx([12, -7])
    assert places[0, 4] == pytest.approx(1.8)
    assert found.things[0].values["species"] == "conifer"


def test_a_row_of_trees_is_spaced_along_its_line() -> None:
    """90 m hold 11, from end to end."""
    row = Feature({"natural": "tree_row"}, LineString([(0, 10), (90, 10)]))

    found, places = _places([row])

    assert found.mapped == 11
    assert np.sort(places[:, 0]) == pytest.approx(np.arange(0, 91, 9))


def test_woods_are_strewn_inside_and_not_on_what_is_free() -> None:
    """About one tree for every 6.5 m square, none outside, none on the clearing."""
    wood, clearing = shapely.box(-100, -100, 100, 100), shapely.box(-30, -30, 30, 30)

    found, places = _places([], wood, clearing)

    inside = shapely.contains_xy(wood, places[:, 0], places[:, 1])
    on_clearing = shapely.contains_xy(clearing, places[:, 0], places[:, 1])
    assert np.all(inside)
    assert not np.any(on_clearing)
    assert found.strewn == pytest.approx((200**2 - 60**2) / 6.5**2, rel=0.08)


def test_trees_stay_where_they_are_when_the_camera_moves() -> None:
    """From 40 m farther east the same trees stand at the same longitudes."""
    other = LocalFrame(*_FRAME.to_degrees(np.array([[40.0, 0.0]]))[0][::-1])
    wood = shapely.box(-100, -100, 100, 100)
    moved = shapely.transform(wood, lambda p: other.to_metres(_FRAME.to_degrees(p)))

    here = planted([], _FRAME, 600, wood, None, _NONE)
    there = planted([], other, 600, moved, None, _NONE)

    def spots(found, frame):  # type: ignore[no-untyped-def]
        xy = np.array([p[:2] for thing in found.things for p in thing.places])
        return {(round(a, 7), round(b, 7)) for a, b in frame.to_degrees(xy)}

    a, b = spots(here, _FRAME), spots(there, other)
    assert len(a & b) > 0.97 * len(a)


def test_far_woods_are_thinner() -> None:
    """Beyond 250 m trees stand farther apart, so that a forest does not take all memory."""
    found = planted([], _FRAME, 600, shapely.Point(0, 0).buffer(600), None, _NONE)

    xy = np.array([p[:2] for thing in found.things for p in thing.places])
    away = np.hypot(xy[:, 0], xy[:, 1])
    near = np.sum(away < 250) / (np.pi * 250**2)
    far = np.sum(away > 250) / (np.pi * (600**2 - 250**2))
    assert near > 1.6 * far
    assert found.strewn < 10_000


def test_leaves_of_near_trees_are_small_and_crowns_as_dense_as_far_ones() -> None:
    """7 cm beside the camera, 27 cm in the distance; together the same area of leaves."""
    trees = [
        Feature({"natural": "tree", "leaf_type": "needleleaved"}, Point(x, 0)) for x in (9, 300)
    ]

    near, far = _places(trees)[0].things

    assert (near.values["leaf_m"], far.values["leaf_m"]) == (0.07, 0.27)
    area = [thing.values["leaves"] * thing.values["leaf_m"] ** 2 for thing in (near, far)]
    assert area[0] == pytest.approx(area[1], rel=0.01)
