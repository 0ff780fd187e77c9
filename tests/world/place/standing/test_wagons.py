"""Wagons on the yards and sidings of a map: on their tracks, apart, and none elsewhere."""

import numpy as np
import shapely
import shapely.affinity
from shapely.geometry import LineString, Polygon

from render.world.place.grounds.cover import cover_of
from render.world.place.mapdata import Feature
from render.world.place.projection import LocalFrame
from render.world.place.standing.wagons import wagons_on
from render.world.things import load_kinds
from tests.townlet import AT

_FRAME = LocalFrame(*AT)
_YARD = {"railway": "rail", "service": "yard"}


def _places(*features: Feature, taken: Polygon | None = None) -> np.ndarray:
    load_kinds()
    things = wagons_on(features, _FRAME, 600.0, taken or Polygon())
    return np.array([place for thing in things for place in thing.places]).reshape(-1, 5)


def test_wagons_stand_on_yard_tracks_and_on_no_main_line() -> None:
    """Along the track, turned with it, about half of it taken; a line without `service` is free."""
    track = LineString([(-300, 40), (100, 120), (400, 120)])

    places = _places(Feature(_YARD, track))

    away = shapely.distance(track, shapely.points(places[:, :2]))
    assert 12 < len(places) < 50
    assert away.max() < 0.5
    level = places[:, 0] > 120
    assert np.all(np.abs(np.sin(np.radians(places[level, 3]))) > 0.999), "their length lies east"
    assert len(_places(Feature({"railway": "rail"}, track))) == 0


def test_no_two_stand_in_one_place_and_none_under_a_bridge_pier() -> None:
    """Two tracks that join, and a road over both."""
    ladder = (
        LineString([(-200, 30), (0, 30), (300, 30)]),
        LineString([(-200, 36), (0, 30.5), (300, 30)]),
    )
    bridge = shapely.box(-60, -10, -40, 60)

    places = _places(*(Feature(_YARD, line) for line in ladder), taken=bridge)

    boxes = [
        shapely.affinity.translate(
            shapely.affinity.rotate(shapely.box(-1.4, -6.25, 1.4, 6.25), p[3], (0, 0)), p[0], p[1]
        )
        for p in places
    ]
    assert len(boxes) > 5
    assert not any(a.intersects(b) for k, a in enumerate(boxes) for b in boxes[:k])
    assert not any(box.intersects(bridge) for box in boxes)


def test_tracks_side_by_side_lie_in_one_bed() -> None:
    """Five metres apart there is no grass between them; thirty metres apart there is."""
    lines = [LineString([(-100, y), (100, y)]) for y in (0.0, 5.0, 35.0)]
    disc = shapely.Point(0, 0).buffer(500)

    bed = cover_of([Feature(_YARD, line) for line in lines], disc).shapes["gravel bed"]

    assert bed.covers(shapely.Point(0, 2.5))
    assert not bed.intersects(shapely.Point(0, 18))
