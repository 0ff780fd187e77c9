"""Boards, walls, and their depth."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from render.depth.ground import ground_depth, ground_plane
from render.depth.outline import box_outline, inside_outline
from render.depth.standing import Standing, facing_plane, flat_plane, foot_point, stand, wall
from render.errors import InputError
from render.optics.camera import Camera, Vantage
from render.optics.terrain import level_axes

CAMERA = Camera(120, 80, 100.0)
VANTAGE = Vantage(8.0, 15.0, 2.0)
GROUND = ground_plane(VANTAGE)
PLUMB = level_axes(VANTAGE)[1]


def _seen(level: np.ndarray) -> tuple[float, float]:
    inside = np.asarray(level, float) @ level_axes(VANTAGE)
    x, y = CAMERA.positions(inside[:2] / inside[2])
    return float(x), float(y)


@given(st.floats(-10, 10), st.floats(15, 60))
def test_a_facing_board_stands_upright_over_its_foot(across, away):
    """Straight above the foot the board has the depth that a plumb line there has."""
    foot = foot_point(CAMERA, GROUND, _seen([across, 8.0, away]), "it")

    plane = facing_plane(foot, PLUMB)

    for up in (0.0, 1.0, 5.0):
        assert plane @ (foot - up * PLUMB) == pytest.approx(1.0, abs=1e-9)
    assert foot @ PLUMB == pytest.approx(8.0, rel=1e-9)


def test_a_wall_ends_where_it_was_said_to():
    """A wall of 6 m between two feet covers the pixels of that rectangle, at its depth."""
    feet = [_seen([-6, 8, 25]), _seen([6, 8, 35])]
    ends = tuple(foot_point(CAMERA, GROUND, foot, "the wall") for foot in feet)

    built = wall(CAMERA, ends, PLUMB, height_m=6.0, name="the wall")

    corners = [feet[0], feet[1], _seen([6, 2, 35]), _seen([-6, 2, 25])]
    np.testing.assert_array_equal(built.region, inside_outline(80, 120, corners))
    middle = np.array([0.0, 5.0, 30.0])
    x, y = _seen(middle)
    depth = stand(ground_depth(CAMERA, VANTAGE), CAMERA, [built], rule="nearer")
    assert depth[int(y), int(x)] == pytest.approx((middle @ level_axes(VANTAGE))[2], rel=0.02)


def test_a_wall_without_a_height_reaches_up_to_the_top():
    """Without a height everything over the foot line is wall, and nothing below it."""
    feet = [_seen([-6, 8, 30]), _seen([6, 8, 30])]
    ends = tuple(foot_point(CAMERA, GROUND, foot, "the wall") for foot in feet)

    region = wall(CAMERA, ends, PLUMB, height_m=None, name="the wall").region

    assert region[0].any()
    assert not region[int(max(feet[0][1], feet[1][1])) + 2 :].any()


def test_the_nearest_of_overlapping_things_is_seen():
    """Where two outlines overlap, the nearer thing is in front, whatever the order."""
    boxes = [box_outline(20, 10, 70, 60), box_outline(50, 20, 100, 70)]
    regions = [inside_outline(80, 120, box) for box in boxes]
    things = [
        Standing(region, flat_plane(depth), name)
        for region, depth, name in zip(regions, (9.0, 5.0), "ab", strict=True)
    ]

    depth = stand(np.full((80, 120), 50.0, np.float32), CAMERA, things)

    assert depth[40, 60] == pytest.approx(5.0)
    assert depth[40, 30] == pytest.approx(9.0)
    assert depth[5, 5] == 50.0
    np.testing.assert_array_equal(
        depth, stand(np.full((80, 120), 50.0, np.float32), CAMERA, things[::-1])
    )


def test_a_foot_above_the_horizon_is_refused():
    """A thing cannot stand on the sky; its name and foot are said."""
    with pytest.raises(InputError, match=r"foot of the mast at 50%,2.5% lies on or above"):
        foot_point(CAMERA, GROUND, (60, 2), "the mast")


def test_impossible_walls_are_refused():
    """Feet in one place, and a wall seen edge on, are refused with what to do."""
    foot = foot_point(CAMERA, GROUND, (60, 70), "it")
    beyond = foot + 0.5 * (foot - 8.0 * PLUMB)

    with pytest.raises(InputError, match="two different places"):
        wall(CAMERA, (foot, foot), PLUMB, height_m=None, name="the fence")
    with pytest.raises(InputError, match="edge on"):
        wall(CAMERA, (foot, beyond), PLUMB, height_m=None, name="the fence")
    with pytest.raises(InputError, match="above 0 m"):
        flat_plane(0.0)
