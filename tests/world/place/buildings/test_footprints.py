"""From outlines to buildings: parts, mending, counting."""

import numpy as np
import pytest
import shapely
from shapely.geometry import Polygon

from render.world.place.buildings.footprints import Footprints, footprints
from render.world.place.mapdata import Feature
from render.world.place.projection import LocalFrame
from tests.townlet import AT


def _flat(xy: np.ndarray) -> np.ndarray:
    return np.zeros(len(xy))


def _made(*features: Feature, reach: float = 500.0, ground=_flat) -> Footprints:  # type: ignore[no-untyped-def]
    return footprints(features, LocalFrame(*AT), reach, ground)


def _building(shape: Polygon, **tags: str) -> Feature:
    named = {key.replace("__", ":"): value for key, value in tags.items()}
    return Feature({"building": "yes", **named}, shape)


def test_heights_are_counted_by_how_they_came_about() -> None:
    """One given, one from storeys, two guessed with their span."""
    made = _made(
        _building(shapely.box(0, 0, 10, 10), height="14"),
        _building(shapely.box(20, 0, 30, 10), building__levels="3"),
        _building(shapely.box(40, 0, 60, 40), building="garage"),
        _building(shapely.box(80, 0, 120, 40)),
    )

    c = made.counts
    assert (c.given, c.storeys, c.guessed, c.total) == (1, 1, 2, 4)
    assert c.guessed_m == (2.8, 10.0)


def test_parts_stand_for_their_building() -> None:
    """A hall of 10 m with a tower of 30 m: the outline's own 30 m is not drawn, and counts once."""
    made = _made(
        _building(shapely.box(0, 0, 30, 20), height="30", building__colour="#aabbcc"),
        Feature({"building:part": "yes", "height": "10"}, shapely.box(0, 0, 24, 20)),
        Feature({"building:part": "yes", "height": "30"}, shapely.box(24, 0, 30, 20)),
    )

    heights = {b.outline.bounds[0]: b.standing.top_m for b in made.buildings}
    assert heights == {0.0: 10.0, 24.0: 30.0}
    assert (made.counts.given, made.counts.total) == (1, 1)
    assert all("#aabbcc" in b.look.plain for b in made.buildings)


def test_few_parts_leave_the_rest_of_the_building() -> None:
    """A turret on a corner: what is left of the outline stands at the building's own height."""
    made = _made(
        _building(shapely.box(0, 0, 30, 20), height="12"),
        Feature({"building:part": "yes", "height": "25"}, shapely.box(0, 0, 5, 5)),
    )

    areas = {b.standing.top_m: b.outline.area for b in made.buildings}
    assert areas[25.0] == 25
    assert areas[12.0] == pytest.approx(600 - 25, abs=1)


def test_a_part_without_a_building_is_one() -> None:
    """It is drawn, and counted."""
    made = _made(Feature({"building:part": "yes", "height": "9"}, shapely.box(0, 0, 9, 9)))

    assert (len(made.buildings), made.counts.total) == (1, 1)


def test_an_outline_that_crosses_itself_is_mended_and_counted() -> None:
    """Both halves of an hourglass stand."""
    made = _made(_building(Polygon([(0, 0), (10, 10), (10, 0), (0, 10)]), height="5"))

    assert made.counts.mended == 1
    assert sum(b.outline.area for b in made.buildings) == pytest.approx(50)


def test_what_is_too_far_underground_or_no_building_is_left_out() -> None:
    """Reach, layer below the ground, demolished, and points."""
    made = _made(
        _building(shapely.box(600, 0, 610, 10)),
        _building(shapely.box(0, 0, 10, 10), layer="-1"),
        _building(shapely.box(0, 0, 10, 10), building="demolished"),
        _building(shapely.Point(0, 0)),
    )

    assert made.buildings == ()
    assert made.counts.total == 0


def test_a_building_stands_on_its_lowest_ground() -> None:
    """On a slope of 1 in 10 that rises to the east, its foot is its western wall's."""
    made = _made(
        _building(shapely.box(50, 0, 70, 10), height="8"), ground=lambda xy: 0.1 * xy[:, 0]
    )

    assert made.buildings[0].ground_m == pytest.approx(5.0)


def test_neighbours_know_each_other() -> None:
    """Houses in a row touch, one across the street is alone."""
    made = _made(
        _building(shapely.box(0, 0, 8, 10)),
        _building(shapely.box(8, 0, 16, 10)),
        _building(shapely.box(30, 0, 38, 10)),
    )

    assert [b.alone for b in made.buildings] == [False, False, True]
