"""A survey seen from a map position."""

import numpy as np
import pytest

from render.depth.ground import ground_depth, level_axes
from render.depth.survey import (
    HeightField,
    View,
    eye_height,
    field_of_points,
    seen_from,
    vantage_over,
    view_from_pairs,
)
from render.errors import InputError
from render.optics.camera import Camera, Vantage
from render.optics.terrain import meets_ground, rise_m

CAMERA = Camera(60, 40, 50.0)
FLAT = HeightField(np.full((400, 400), 5.0, np.float32), 1000.0, 2000.0, 0.5)


def test_flat_land_is_the_ground():
    """From any heading flat land has the depth of level ground, as far as the survey reaches."""
    for heading in (0.0, 77.0):
        view = View(1100.0, 2100.0, 17.0, heading, 25.0, 3.0)
        found = seen_from(FLAT, CAMERA, view).depth_m
        expected = ground_depth(CAMERA, Vantage(12.0, 25.0, 3.0))
        near = expected < 70
        np.testing.assert_allclose(found[near], expected[near], rtol=2e-3)


def test_a_tower_north_is_seen_looking_north_and_right_looking_west():
    """Headings go clockwise from north: the tower is ahead at 0 and on the right at 300."""
    heights = FLAT.heights_m.copy()
    heights[300:304, 198:203] = 40.0  # 50 m north of the eye
    field = HeightField(heights, 1000.0, 2000.0, 0.5)

    ahead = seen_from(field, CAMERA, View(1100.0, 2100.0, 17.0, 0.0)).depth_m
    right = seen_from(field, CAMERA, View(1100.0, 2100.0, 17.0, 340.0)).depth_m

    assert ahead[15, 30] == pytest.approx(50, abs=1)
    column = int(np.argmin(right[10]))
    assert column > 40


def test_a_point_cloud_becomes_its_top_surface():
    """Points of a plateau under scattered noise-free samples give its heights and its edges."""
    rng = np.random.default_rng(8)
    place = rng.uniform(0, 50, (20000, 2))
    high = np.where((place[:, 0] > 20) & (place[:, 0] < 30), 12.0, 3.0)

    field = field_of_points(np.column_stack([place + np.array([500, 700]), high]))

    assert eye_height(field, 510, 720, 0) == pytest.approx(3)
    assert eye_height(field, 525, 720, 1.6) == pytest.approx(13.6)
    with pytest.raises(InputError, match="outside the survey"):
        eye_height(field, 100, 100, 1.6)


def test_three_pairs_give_heading_pitch_and_roll():
    """Three places seen in the picture and known on the map give the direction back."""
    view = View(10.0, 20.0, 30.0, 305.0, 18.0, -2.0)
    pairs = []
    for x, y, depth in ((10, 10, 60.0), (50, 15, 90.0), (30, 35, 40.0)):
        ray = np.append(CAMERA.slopes(x, y), 1.0) * depth
        pairs.append(((x, y), tuple(view.axes() @ ray + (10.0, 20.0, 30.0))))

    found = view_from_pairs(CAMERA, pairs, 10.0, 20.0, 30.0)

    assert found.heading_deg == pytest.approx(305, abs=1e-3)
    assert found.pitch_deg == pytest.approx(18, abs=1e-3)
    assert found.roll_deg == pytest.approx(-2, abs=1e-3)
    wrong = [pairs[0], ((50, 15), pairs[2][1]), ((30, 35), pairs[1][1])]
    with pytest.raises(InputError, match="no direction of the camera explains"):
        view_from_pairs(CAMERA, wrong, 10.0, 20.0, 30.0)


def test_axes_of_a_level_view_north():
    """Looking north, the camera's right is east, its down is down, and the axes are a rotation."""
    axes = View(0, 0, 0, 0.0).axes()

    np.testing.assert_allclose(axes[:, 0], [1, 0, 0], atol=1e-12)
    np.testing.assert_allclose(axes[:, 1], [0, 0, -1], atol=1e-12)
    np.testing.assert_allclose(axes[:, 2], [0, 1, 0], atol=1e-12)
    turned = View(0, 0, 0, 40.0, 20.0, 5.0).axes()
    np.testing.assert_allclose(turned.T @ turned, np.eye(3), atol=1e-12)
    assert level_axes(Vantage(1.0)).shape == (3, 3)


def test_views_that_show_nothing_are_refused():
    """Looking away from the survey, and standing inside it, are refused."""
    with pytest.raises(InputError, match="nothing of the survey is in view"):
        seen_from(FLAT, CAMERA, View(1100.0, 1900.0, 17.0, 180.0, 5.0))
    with pytest.raises(InputError, match="lies inside the survey"):
        seen_from(FLAT, CAMERA, View(1100.0, 2100.0, 1.0, 0.0))
    with pytest.raises(InputError, match="at least 100 points"):
        field_of_points(np.zeros((5, 3)))


def test_another_place_altogether_is_refused() -> None:
    """A lens a thousand kilometres off is no view of this survey."""
    field = HeightField(np.zeros((50, 50), np.float32), 100.0, 100.0, 1.0)

    with pytest.raises(InputError, match="outside the survey"):
        seen_from(field, Camera(60, 40, 60.0), View(1_000_000.0, 120.0, 10.0, 0.0, 20.0))


def test_beyond_the_survey_level_ground_stands_in_and_only_rising_rays_are_sky() -> None:
    """A flat survey ends 25 m ahead; what falls beyond it is ground, and says how unsure it is."""
    field = HeightField(np.zeros((50, 50), np.float32), 100.0, 100.0, 1.0)
    camera = Camera(60, 40, 60.0)

    made = seen_from(field, camera, View(125.0, 125.0, 10.0, 0.0, 10.0))

    flat = ground_depth(camera, Vantage(10.0, 10.0))
    seen = np.isfinite(made.depth_m)
    np.testing.assert_allclose(made.depth_m[seen], flat[seen], rtol=0.02)
    assert np.isinf(made.depth_m[0, 30])
    assert np.ptp(made.uncertainty) > 0.3
    assert "stands in" in made.remarks[0]


def test_height_is_counted_from_the_ground_and_distances_follow_it() -> None:
    """On a slope at 300 m with a house of 12 m on it: from its roof one stands 13.6 m high."""
    north = np.mgrid[0:200, 0:200][0] * 1.0
    heights = 300 + 0.2 * north
    heights[40:52, 94:106] = 300 + 0.2 * 46 + 12
    field = HeightField(heights.astype(np.float32), 0.0, 0.0, 1.0)
    roof = float(heights[46, 100])

    stands = vantage_over(field, View(100.0, 46.0, roof + 1.6, 0.0, 5.0))
    seen = seen_from(field, Camera(60, 40, 60.0), View(100.0, 46.0, roof + 1.6, 0.0, 5.0))

    assert stands.height_m == pytest.approx(13.6, abs=0.3)
    assert rise_m(stands, 0.0, 100.0) == pytest.approx(20.0, abs=0.3)
    assert rise_m(stands, 30.0, 0.0) == pytest.approx(0.0, abs=0.3)
    met = 1 / meets_ground(stands, np.zeros((1, 2)))[0]
    assert seen.depth_m[20, 30] == pytest.approx(met, rel=0.03)
    assert "13.6 m over its ground" in seen.how
    assert vantage_over(FLAT, View(1100.0, 2100.0, 17.0, 0.0)).terrain is None
