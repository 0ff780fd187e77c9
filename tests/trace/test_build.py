"""From words to arrays: shared shapes, names, solids, light."""

import numpy as np
import pytest

from render.errors import InputError
from render.trace.build import at_moment, build, light_numbers
from render.trace.trace import trace_built
from render.world.description import Lamp, LightWords
from tests.world.worlds import described, eye_level


def test_copies_share_their_shape() -> None:
    """A hundred boxes cost the triangles of one, and as many placements."""
    one = build(described([{"kind": "cylinder"}]))
    row = {"kind": "cylinder", "array": {"count": [10, 10], "step_m": [3, 3]}}
    many = build(described([row]))

    assert len(many.world.tri) == len(one.world.tri)
    assert len(many.names) == 101  # and the ground


def test_named_things_can_be_found() -> None:
    """The middle of the first copy, wherever the ground lies; marks as they are."""
    tower = {"kind": "box", "name": "tower", "at_m": [3, 4, 1], "size_m": [2, 2, 10]}
    d = described([tower], ground={"level_m": 5}, marks={"door": [1, 2, 3]})
    spots = build(d).spots

    assert spots["tower"] == pytest.approx((3, 4, 11), abs=1e-5)
    assert spots["door"] == (1, 2, 3)


def test_parts_of_named_things_have_names() -> None:
    """The bare name while one thing has such a part, else the thing's name before it."""
    ann = {
        "kind": "bust",
        "name": "ann",
        "at_m": [5, 0],
        "turn_deg": 90,
        "cut": "bald",
        "who": "man",
    }
    alone = build(described([ann])).spots
    both = build(described([ann, {**ann, "name": "bob", "at_m": [0, 3]}])).spots

    # half of the 64.5 mm between a man's pupils to the left of who looks along +x
    assert alone["left eye"] == pytest.approx((5.08418, 0.03225, 1.2), abs=1e-5)
    assert both["ann left eye"] == alone["left eye"]
    assert both["bob left eye"] == pytest.approx((0.08418, 3.03225, 1.2), abs=1e-5)
    assert "left eye" not in both


def test_an_empty_scene_is_refused() -> None:
    """Neither things nor ground."""
    with pytest.raises(InputError, match="holds nothing"):
        build(described([], ground={"none": True}))


def test_colours_differ_from_copy_to_copy() -> None:
    """Each copy draws from the list that the file gives."""
    row = {"kind": "box", "array": {"count": [30, 1], "step_m": [3, 3]}}
    row["colours"] = {"side": ["#ff0000", "#00ff00"]}
    built = build(described([row], ground={"none": True}))

    rows = built.surfaces.row[np.unique(built.surfaces.pick)]
    assert {(1.0, 0.0), (0.0, 1.0)} <= {(float(r[1]), float(r[2])) for r in rows}


def test_the_sun_stands_at_its_heading_and_height() -> None:
    """East at 30 degrees: (cos 30, 0, sin 30); below the horizon it gives no light."""
    light = light_numbers(LightWords(sun_heading_deg=90.0, sun_height_deg=30.0))

    np.testing.assert_allclose(light.sun_to, (np.sqrt(0.75), 0, 0.5), atol=1e-12)
    assert light.sun[0] > light.sun[2] > 0.3
    assert not light_numbers(LightWords(sun_height_deg=-5.0)).sun.any()


def test_haze_takes_contrast_down_to_two_percent_at_the_visual_range() -> None:
    """Koschmieder: exp(-k V) = 0.02."""
    light = light_numbers(LightWords(visual_range_km=8.0))

    assert np.exp(-light.haze_per_m * 8000) == pytest.approx(0.02, rel=1e-3)


def test_a_lamp_of_strength_one_lights_like_the_sun_from_one_metre() -> None:
    """Its numbers: place, colour times strength, radius, aim."""
    lamp = Lamp(at_m=(1, 2, 3), colour="#ffffff", strength=2.0, toward_m=(1, 2, 0), cone_deg=60)
    row = light_numbers(LightWords(lamps=(lamp,))).lamp[0]

    np.testing.assert_allclose(row[:10], (1, 2, 3, 2, 2, 2, 0.1, 0, 0, -1))
    assert row[10] == pytest.approx(np.cos(np.radians(30)))


def test_another_moment_is_what_building_anew_gives() -> None:
    """Moving things are moved, their spots with them; shapes are those that were there."""
    cars = {
        "kind": "car",
        "name": "cars",
        "moves": {"path_m": [[-30, 0], [30, 0]], "speed_m_s": 8, "spread_m": 12},
        "array": {"count": [2, 1], "step_m": [1, 0]},
    }
    scene = described([cars, {"kind": "house", "name": "house", "at_m": [0, 25]}])
    moved, anew = at_moment(build(scene, 0.0), scene, 2.5), build(scene, 2.5)

    for name in anew.world._fields:
        assert getattr(moved.world, name).tobytes() == getattr(anew.world, name).tobytes()
    assert list(moved.spots) == list(anew.spots)
    np.testing.assert_allclose([*moved.spots.values()], [*anew.spots.values()], atol=1e-9)
    assert moved.spots["cars"] != build(scene, 0.0).spots["cars"]


def test_parts_are_where_their_thing_and_the_time_put_them() -> None:
    """A wheel that turns, children on a seesaw, a flag, a boat with its wake, a skier, a stroller.

    A build for all moments shows at each what a build for that moment does.
    """
    strewn = {"outline_m": [[-4, 24], [4, 24], [4, 30], [-4, 30]], "count": 3, "stroll_m": 3}
    scene = described(
        [
            {"kind": "big wheel", "name": "wheel", "at_m": [0, 40], "radius_m": 6, "cabins": 6},
            {"kind": "seesaw", "at_m": [-3, 12], "turn_deg": 70, "riders": True},
            {"kind": "flag", "at_m": [2, 12], "height_m": 3},
            {"kind": "boat", "moves": {"path_m": [[-20, 20], [20, 20]], "speed_m_s": 3}},
            {"kind": "skier", "at_m": [4, 15]},
            {"kind": "person", "scatter": strewn},
        ]
    )
    every, anew = build(scene, 0.0, moving=True), build(scene, 7.3)
    moved = at_moment(every, scene, 7.3)
    now, then = (trace_built(scene, b, eye_level(), samples=1) for b in (moved, anew))

    np.testing.assert_array_equal(now.depth_m, then.depth_m)
    np.testing.assert_array_equal(now.picture, then.picture)
    assert every.spots["wheel"] == moved.spots["wheel"] == anew.spots["wheel"]
    first = trace_built(scene, at_moment(moved, scene, 0.0), eye_level(), samples=1)
    assert np.mean(first.depth_m != now.depth_m) > 0.01


def test_a_wake_follows_only_what_goes() -> None:
    """A boat at its moorings has none."""
    moored = {"kind": "boat", "type": "rowing"}
    going = {**moored, "moves": {"path_m": [[0, 0], [9, 0]], "speed_m_s": 2}}

    assert len(build(described([going])).placed) == len(build(described([moored])).placed) + 1
