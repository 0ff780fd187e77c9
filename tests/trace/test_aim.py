"""What a view can be focused on, and the margin that blur needs."""

import numpy as np
import pytest

from render.errors import SettingError
from render.optics.lens import FocusDistance, LensSetting
from render.trace.aim import in_camera, margin_for, spot_at, spot_on, spot_shown, surface_shown
from render.trace.build import build
from tests.world.worlds import described, eye_level


def test_a_point_of_the_scene_in_the_camera_frame() -> None:
    """East is right, up is negative y, ahead is z; turned by 90 degrees north is left."""
    np.testing.assert_allclose(in_camera(eye_level(), (3, 10, 5)), (3, -3, 10), atol=1e-12)
    np.testing.assert_allclose(
        in_camera(eye_level(heading_deg=90.0), (10, 3, 2)), (-3, 0, 10), atol=1e-12
    )


def test_a_spot_on_a_thing_is_its_ray_and_depth() -> None:
    """What lies behind the camera is refused by name."""
    spot = spot_on(eye_level(), (1, 20, 2), "door")

    assert (spot.slope_x, spot.slope_y, spot.depth_m) == pytest.approx((0.05, 0, 20))
    with pytest.raises(SettingError, match='"door" lies behind'):
        spot_on(eye_level(), (0, -3, 2), "door")


def test_a_spot_in_the_picture_takes_the_depth_there() -> None:
    """The wall in the middle, the sky at the top."""
    built = build(described([{"kind": "box", "at_m": [0, 11], "size_m": [4, 2, 3]}]))

    assert spot_at(built, eye_level(margin_px=7), 50, 33.5).depth_m == pytest.approx(10)
    assert spot_at(built, eye_level(), 50, 1).depth_m == np.inf


def test_a_spot_that_its_thing_does_not_show_moves_to_where_it_does() -> None:
    """Between two posts the middle is air: the spot moves on to a post; a wall's middle stays."""
    posts = [
        {"kind": "box", "at_m": [x, 20], "size_m": [0.6, 0.6, 6], "name": f"post {x}"}
        for x in (-1.5, 1.5)
    ]
    wall = {"kind": "box", "at_m": [0, 60], "size_m": [60, 1, 30]}
    built, view = build(described([*posts, wall])), eye_level()
    between = spot_on(view, (0, 20, 2), "gate")
    shown = spot_shown(built, view, between)

    assert spot_at(built, view, 50, 33.5).depth_m == pytest.approx(59.5)
    assert shown.depth_m == pytest.approx(20, abs=0.31)
    assert abs(shown.slope_x) * shown.depth_m == pytest.approx(1.5, abs=0.31)
    on_wall = spot_on(view, (0, 59.5, 2), "wall")
    assert spot_shown(built, view, on_wall) == on_wall
    indoors = spot_on(view, (0, 60, 2), "wall")  # what is lit is its front, not its inside
    assert surface_shown(built, view, indoors).depth_m == pytest.approx(59.5)
    assert surface_shown(built, view, between) == between


def test_the_margin_is_as_wide_as_blur_that_reaches_in() -> None:
    """Ground 2 m below a level lens at f/1 focused far away: no wider than asked, wide enough."""
    built, view = build(described([])), eye_level(width_px=400)
    near = LensSetting(focal_mm=36.0, f_number=1.0, focus=FocusDistance(3.0))
    sharp = LensSetting(focal_mm=36.0, f_number=64.0, focus=FocusDistance(6.0))

    # the sky's blur radius is R v / (v - f) per focus: (f/2N) * f / (z - f) px / mm = 2.4 px
    sky_px = 18.0 * (36.0 / (3000.0 - 36.0)) * 400 / 36.0
    assert sky_px <= margin_for(built, view, near) <= 4 * sky_px + 8
    assert margin_for(built, view, sharp) < 8
