"""A whole place: what stands over the point, names, notes, ground, and pixels by hand."""

import math

import numpy as np
import pytest
import shapely

from render.errors import InputError
from render.optics.camera import Sensor
from render.trace.build import build
from render.trace.trace import View, trace_built
from render.world.place.mapdata import Feature, MapData
from render.world.place.place import Place, describe_place
from render.world.things.kind import Values
from tests.townlet import AT, box, degrees


def _feature(points: list[tuple[float, float]], **tags: str) -> Feature:
    named = {key.replace("__", ":"): value for key, value in tags.items()}
    return Feature(named, shapely.Polygon([degrees(*p) for p in points]))


def _place(*features: Feature, **more: object) -> Place:
    data = MapData("test", features, (-31, 46, -29, 48), "the testers", ("one remark",))
    return describe_place(data, *AT, 400.0, **more)  # type: ignore[arg-type]


_TOWER = _feature(box(-10, 30, 20, 20), building="yes", height="16", name="The Tower")


def test_corners_of_a_building_are_seen_where_perspective_puts_them() -> None:
    """A front 30 m ahead, 20 m wide, 16 m high, from 6 m up, level, with 24 mm on 36 mm.

    By hand: focal length 240 px on 360 px; the upper corners lie 240 * 10 / 30 = 80 px to either
    side of the middle and 240 * (16 - 6) / 30 = 80 px above it.
    """
    place = _place(_TOWER)
    view = View(
        at_m=(0, 0, 6),
        height_m=6,
        heading_deg=0,
        pitch_deg=0,
        focal_mm=24,
        sensor=Sensor(36, 24),
        width_px=360,
    )

    scene = trace_built(place.description, build(place.description), view, samples=1)

    depth = scene.depth_m
    for column in (180 - 78, 180 + 77):
        assert depth[44, column] == pytest.approx(30, abs=0.01)
    for column in (180 - 82, 180 + 81):
        assert depth[44, column] > 45
    assert depth[41, 180] == pytest.approx(30, abs=0.01)
    assert depth[38, 180] > 30.2  # over the parapet


def test_what_stands_over_the_point_is_known() -> None:
    """A roof of 9 m (its deck, behind the parapet), or none beside the building."""
    over = _place(_feature(box(-8, -8, 16, 16), building="yes", height="9", name="Inn"))
    beside = _place(_TOWER)

    assert [(r.low_m, r.name) for r in over.roofs] == [(0.0, "Inn")]
    assert over.roofs[0].top_m == pytest.approx(9 - 0.35)
    assert beside.roofs == ()
    found = beside.nearest_building()
    assert found is not None
    assert found[0] == pytest.approx(30, abs=0.01)


def test_the_roof_over_a_gabled_house_is_its_slope() -> None:
    """2 m beside the ridge of a roof that rises 4 m over 4 m."""
    house = _feature(
        box(-8, -6, 16, 8), building="house", height="10", roof__shape="gabled", roof__height="4"
    )

    top = _place(house).roofs[0].top_m

    assert top == pytest.approx(6 + 2, abs=0.05)


def test_the_way_out_leads_through_the_wall_that_is_faced() -> None:
    """To the east the wall is 8 m away: half a metre farther is outside."""
    place = _place(_feature(box(-8, -8, 16, 16), building="yes", height="9"))

    out = place.way_out(90.0)

    assert out is not None
    x, y = place.frame.to_metres(np.array([[out[1], out[0]]]))[0]
    assert (x, y) == pytest.approx((8.5, 0), abs=0.01)


def test_what_has_a_name_can_be_focused_on() -> None:
    """A building by its middle at half its height, water at its level, a wood inside itself."""
    pond = _feature(box(40, 40, 30, 30), natural="water", name="Mill Pond")
    wood = _feature(box(-90, 40, 30, 30), natural="wood", name="Long Copse")
    other = _feature(box(90, 40, 10, 10), landuse="grass", name="The Tower")
    river = Feature(
        {"waterway": "river", "width": "10", "name": "Quill"},
        shapely.LineString([degrees(-300, -60), degrees(300, -60)]),
    )
    marks = _place(_TOWER, pond, wood, other, river).description.marks

    assert marks["The Tower"] == pytest.approx((0, 40, 8), abs=0.01)
    x, y, level = marks["Mill Pond"]
    assert (40 < x < 70, 40 < y < 70, level) == (True, True, pytest.approx(-0.5))
    assert marks["Long Copse"][2] == 0
    assert marks["Quill"] == pytest.approx((0, -60, -0.5), abs=0.2)


def test_notes_say_what_was_assumed() -> None:
    """Counts, level ground, and the file's own remarks; the credit goes along."""
    bench = Feature({"amenity": "bench"}, shapely.Point(degrees(5, 12)))
    place = _place(_TOWER, bench)

    assert place.notes[0] == "1 building: 1 height given, 0 from storeys of 3 m, 0 guessed"
    assert "1 piece of street furniture stands where the map says" in place.notes
    assert "no terrain was given: the ground is level" in place.notes
    assert place.notes[-1] == "one remark"
    assert place.description.credit == "the testers"


def test_terrain_lifts_ground_and_buildings() -> None:
    """On a slope of 1 in 10 to the north the tower stands on its southern wall's ground."""

    def slope(lonlat: np.ndarray) -> np.ndarray:
        return 250.0 + (lonlat[:, 1] - AT[0]) * math.radians(1) * 6_367_000 * 0.1

    place = _place(_TOWER, terrain=slope)

    assert place.ground_m(0, 0) == pytest.approx(0, abs=1e-6)
    assert place.ground_m(0, 100) == pytest.approx(10, abs=0.1)
    assert place.buildings[0].ground_m == pytest.approx(3, abs=0.1)
    assert not any(note.startswith("no terrain") for note in place.notes)


def test_a_point_off_the_terrain_is_refused() -> None:
    """The sentence names it; holes elsewhere take the nearest height."""
    with pytest.raises(InputError, match=r"does not cover 47\.00000, -30\.00000"):
        _place(_TOWER, terrain=lambda p: np.full(len(p), np.nan))

    half = _place(_TOWER, terrain=lambda p: np.where(p[:, 0] > AT[1] + 1e-3, np.nan, 5.0))
    assert half.ground_m(300, 0) == pytest.approx(0)


def test_the_same_map_makes_the_same_scene() -> None:
    """Byte for byte, and from another vantage the same colours."""
    one, two = (_place(_TOWER).description.things[0].kind.make for _ in range(2))

    a, b = (make({}, np.random.default_rng(0)) for make in (one, two))  # type: ignore[arg-type]
    assert np.array_equal(a.xyz, b.xyz)
    assert a.slots == b.slots


def test_a_shore_before_houses_is_paved_where_the_map_says_nothing() -> None:
    """Stone 5 m from the edge of a basin among houses, grass where it is mapped, none by a pond."""
    basin = _feature(box(-20, 20, 40, 40), natural="water")
    houses = [
        _feature(box(x, y, 8, 8), building="house")
        for x, y in [(s, 20 + 12 * k) for s in (-36, 28) for k in range(4)]
    ]
    lawn = _feature(box(-20, 60, 40, 12), landuse="grass")

    def stuff(place: Place, x: float, y: float) -> str:
        """Material of the topmost sheet there."""
        sheets = [t for t in place.description.things if t.kind.name == "ground"]
        over = [
            (mesh.xyz[k, 0, 2], mesh.slots[mesh.slot[k]])
            for mesh in (t.kind.make(Values(), np.random.default_rng(1)) for t in sheets)
            for k in range(len(mesh.xyz))
            if shapely.Polygon(mesh.xyz[k, :, :2]).contains(shapely.Point(x, y))
        ]
        return max(over, default=(0.0, "bare"))[1]

    walled = _place(basin, lawn, *houses)

    assert stuff(walled, -25.0, 40.0) == "yard ground"
    assert stuff(walled, 0.0, 65.0) == "grass"
    assert stuff(_place(basin, houses[0]), 25.0, 40.0) == "bare"
