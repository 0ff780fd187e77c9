"""The places that stand for a thing, by name."""

import pytest

from render.load.asked.standing import nearest_and_farthest, standing_for
from render.load.asked.wish import parse_wish
from render.optics.solving.arrangements import face_m
from render.optics.solving.targets import Target
from tests.load.asked.test_site import STANDING, VIEW


def test_a_face_is_looked_at_in_its_middle() -> None:
    """Not at a corner, beside the head: and its nearest and farthest are corners."""
    corners = [Target.at(*map(float, place)) for place in face_m(1.2, 20.0, 10.0)]
    ((name, eyes),) = standing_for(parse_wish("face", "eyes=1.2 m"), corners, (), VIEW)
    near, far = nearest_and_farthest(corners)

    assert name == "eyes"
    assert (eyes.slope_x, eyes.slope_y) == pytest.approx((0, 0), abs=1e-12)
    assert eyes.depth_m == pytest.approx(1.2)
    assert near.depth_m < 1.2 < far.depth_m


def test_a_wall_is_looked_at_within_the_frame() -> None:
    """Of one that reaches above and beside the frame, places are taken that the frame shows."""
    wish = parse_wish("wall", "front=4 m to 12 m, 30 m high")
    places = standing_for(wish, STANDING.targets(wish), (), VIEW)
    left, top, right, bottom = VIEW

    assert [name for name, _ in places] == ["front, near", "front, middle", "front, far"]
    assert all(left < at.slope_x < right and top < at.slope_y < bottom for _, at in places)
    assert 4 < places[0][1].depth_m < places[1][1].depth_m < places[2][1].depth_m < 12
