"""What a view can be focused on, and the margin that blur needs."""

from dataclasses import replace

import numpy as np
import pytest

from render.errors import SettingError
from render.optics.lens import FocusDistance, LensSetting
from render.trace.aim import (
    ThingsSeen,
    in_camera,
    margin_for,
    spot_at,
    spot_on,
    surface_shown,
    thing_spot,
)
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


def test_a_things_name_is_the_place_on_it_that_is_seen() -> None:
    """A wall's front, be it far before its middle; round what hides it; and a mark's wall."""
    post = {"kind": "box", "at_m": [0, 20], "size_m": [0.6, 0.6, 6], "name": "post"}
    deep = {"kind": "box", "at_m": [0, 60], "size_m": [30, 60, 30], "name": "hall"}
    d = described([post, deep])
    built = build(replace(d, marks={"club": (0.0, 60.0, 15.0), "well": (-9.0, 20.0, 0.0)}))
    view = eye_level()
    middle, hall = spot_on(view, (0, 60, 15), "hall"), thing_spot(built, view, "hall")

    assert (hall.depth_m, hall.slope_x) == (pytest.approx(30), middle.slope_x)
    assert thing_spot(built, view, "club") == hall
    assert thing_spot(built, view, "post").depth_m == pytest.approx(19.7)
    assert thing_spot(built, view, "well").depth_m == pytest.approx(20)
    hidden = {"kind": "box", "at_m": [0, 40], "size_m": [3, 2, 3.6], "name": "shed"}
    behind = thing_spot(build(described([post, hidden])), view, "shed")
    assert (behind.depth_m, abs(behind.slope_x) > 0.015) == (pytest.approx(39), True)
    covered = {**hidden, "size_m": [0.2, 2, 1]}
    within = thing_spot(build(described([post, covered])), view, "shed")
    assert (within.depth_m, within.slope_x) == (pytest.approx(39), 0.0)
    tall = build(
        described([{"kind": "box", "at_m": [0, 60], "size_m": [2, 2, 90], "name": "mast"}])
    )
    cut_off = thing_spot(tall, view, "mast")  # its middle is far above the frame
    assert view.camera().shows(cut_off.slope_x, cut_off.slope_y)
    assert (cut_off.depth_m, cut_off.slope_y < -0.3) == (pytest.approx(59), True)
    seen = ThingsSeen(built, view)
    assert seen["hall"] == pytest.approx((0, 30 * middle.slope_y, 30))
    assert surface_shown(built, view, spot_on(view, (0, 31, 15), "hall")).depth_m < 31


def test_the_margin_is_as_wide_as_blur_that_reaches_in() -> None:
    """Ground 2 m below a level lens at f/1 focused far away: no wider than asked, wide enough."""
    built, view = build(described([])), eye_level(width_px=400)
    near = LensSetting(focal_mm=36.0, f_number=1.0, focus=FocusDistance(3.0))
    sharp = LensSetting(focal_mm=36.0, f_number=64.0, focus=FocusDistance(6.0))

    # the sky's blur radius is R v / (v - f) per focus: (f/2N) * f / (z - f) px / mm = 2.4 px
    sky_px = 18.0 * (36.0 / (3000.0 - 36.0)) * 400 / 36.0
    assert sky_px <= margin_for(built, view, near) <= 4 * sky_px + 8
    assert margin_for(built, view, sharp) < 8
