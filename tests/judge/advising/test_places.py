"""Places for a focus: the same in any number of pixels, and on what is really seen there."""

import dataclasses

import pytest

from render.judge.advising.places import ground_inverse, open_place
from render.judge.case import look


def test_a_place_is_the_same_in_any_number_of_pixels_and_never_on_a_post(roof, front):
    """A post 6 px wide covers the middle of every row: the ground beside it is taken, and seen."""
    found = []
    for size in ((480, 320), (641, 427), (962, 641), (1280, 853)):
        here = dataclasses.replace(roof(), size_px=size)
        scene = here.scene([front(here.foot_m - 20.0, 18.0, -0.11, 0.1)])
        case = look(scene)
        places = [open_place(case, 0.5, row) for row in (0.35, 0.5, 0.65)]
        for place in places:
            x, y = (int(part) for part in scene.camera.positions((place.slope_x, place.slope_y)))
            assert scene.depth_m[y, x] == pytest.approx(place.depth_m, rel=0.01)
            ground = ground_inverse(case, place.slope_x, place.slope_y)
            assert 1.0 / place.depth_m == pytest.approx(ground, rel=1e-3)
        found.append([part for place in places for part in (place.slope_x, place.depth_m)])

    assert all(one == pytest.approx(found[0], rel=3e-3) for one in found)


def test_a_wall_is_a_place_and_the_sky_is_none(roof, front):
    """Where no ground is seen a plane does; in the sky there is nothing to focus on."""
    wall = look(roof().scene([front(25.0, 40.0, -30.0, 30.0)]))
    seen = wall.samples.depth_towards(0.0, 0.0)

    assert open_place(wall, 0.5, 0.5).depth_m == pytest.approx(seen, rel=0.01)
    assert open_place(look(roof(pitch_deg=2.0).scene()), 0.5, 0.05) is None
