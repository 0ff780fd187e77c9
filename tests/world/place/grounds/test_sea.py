"""Sea by the side of its coastline."""

import math

import pytest
import shapely

from render.world.place.grounds.sea import sea_of

DISC = shapely.Point(0, 0).buffer(1000, quad_segs=16)


def _area(*lines: list[tuple[float, float]]) -> tuple[float, bool]:
    sea, carried_on = sea_of([shapely.LineString(line) for line in lines], DISC)
    return sea.area, carried_on


def test_water_lies_on_the_right_of_a_coast() -> None:
    """A coast that runs east has land north of it and sea south; turned round, the other way."""
    south, _ = sea_of([shapely.LineString([(-2000, 100), (2000, 100)])], DISC)
    north, _ = sea_of([shapely.LineString([(2000, 100), (-2000, 100)])], DISC)

    assert south.contains(shapely.Point(0, -500))
    assert not south.contains(shapely.Point(0, 500))
    assert north.contains(shapely.Point(0, 500))
    assert south.area + north.area == pytest.approx(DISC.area)


def test_an_island_lies_in_the_sea_and_a_lagoon_in_the_land() -> None:
    """A ring drawn anticlockwise has land inside; drawn clockwise, water."""
    ring = [(100 * math.cos(a), 100 * math.sin(a)) for a in (0, 1.5, 3.0, 4.5)]
    ring.append(ring[0])

    island, _ = _area(ring)
    lagoon, _ = _area(ring[::-1])

    assert island == pytest.approx(DISC.area - shapely.Polygon(ring).area)
    assert lagoon == pytest.approx(shapely.Polygon(ring).area)


def test_a_coast_in_pieces_is_one_coast() -> None:
    """As maps hold it: several lines, each going on where the last one ended."""
    whole, _ = _area([(-2000, 0), (2000, 0)])
    pieces, _ = _area([(-2000, 0), (-300, 0)], [(300, 0), (2000, 0)], [(-300, 0), (300, 0)])

    assert pieces == pytest.approx(whole)


def test_a_coast_that_ends_within_reach_is_carried_straight_on_and_said() -> None:
    """The file was cut off there; half of the reach is still sea."""
    area, carried_on = _area([(-400, 0), (400, 0)])

    assert carried_on
    assert area == pytest.approx(DISC.area / 2, rel=1e-3)


def test_without_a_coast_there_is_no_sea() -> None:
    """Nor with one that lies out of reach."""
    assert _area()[0] == 0
    assert _area([(5000, 5000), (6000, 5000)]) == (0, False)
