"""Marked distances, however they were measured."""

import numpy as np
import pytest

from render.depth.mark import Mark, marked_depths, passed_over
from render.errors import InputError
from render.optics.camera import Camera, Vantage

CAMERA = Camera(40, 30, 25.0)


def test_straight_and_level_distances_become_depth_along_the_axis():
    """A point's depth comes back from its straight and from its level distance."""
    x, y, z = 3.0, 4.0, 10.0
    vantage = Vantage(12.0, 30.0)
    place = CAMERA.positions([x / z, y / z])
    down = y * np.cos(np.radians(30)) + z * np.sin(np.radians(30))
    straight = float(np.sqrt(x * x + y * y + z * z))
    level = float(np.sqrt(straight**2 - down**2))
    marks = (
        Mark(*place, straight, "range"),
        Mark(*place, level, "map"),
        Mark(*place, z, "axis"),
    )

    np.testing.assert_allclose(marked_depths(CAMERA, marks, vantage), z, rtol=1e-12)


def test_map_distance_without_a_vantage_is_refused():
    """A level distance needs to know which way is down."""
    with pytest.raises(InputError, match="give the pitch"):
        marked_depths(CAMERA, (Mark(3, 3, 10.0, "map"),))


@pytest.mark.parametrize("distance", [0.0, -3.0, float("inf"), float("nan")])
def test_a_distance_must_be_a_number_above_zero(distance):
    """Zero, negative, infinite and missing distances are refused."""
    with pytest.raises(InputError, match="above 0"):
        Mark(3, 3, distance)


def test_a_mark_outside_the_picture_is_named():
    """A mark off the picture is refused by its place."""
    with pytest.raises(InputError, match=r"mark at \(41, 3\)"):
        marked_depths(CAMERA, (Mark(41, 3, 10.0),))


def test_a_typed_distance_that_does_not_hold_is_told():
    """Where something is named over a mark the depth's own distance is told beside the typed."""
    depth_m = np.full((80, 120), 1.5, np.float32)
    depth_m[:40] = 1.46
    marks = Mark(60.0, 20.0, 1.46), Mark(60.0, 60.0, 1.46)

    (said,) = passed_over(depth_m, Camera(120, 80, 100.0), marks)

    assert "(60, 60), 1.46 m, does not hold at its spot: the depth there is 1.50 m" in said
