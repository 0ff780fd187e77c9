"""Axis, extension, plane of sharp focus and hinge line."""

import math

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from render.errors import SettingError
from render.optics.lens import FocusDistance, FocusExtension, FocusSpot, LensSetting
from render.optics.plane import (
    FocusedLens,
    extension_for,
    focus_lens,
    hinge_distance_mm,
    lens_axis,
    sharp_plane,
)
from tests.optics.rays import turned_axis
from tests.strategies import focal_mm, lenses, movement_deg, slope


@given(movement_deg, movement_deg)
def test_axis_is_the_one_of_rotation_matrices(tilt: float, swing: float) -> None:
    """The axis is (0, 0, 1) turned down about x, then right about the fixed y."""
    np.testing.assert_allclose(lens_axis(tilt, swing), turned_axis(tilt, swing), atol=1e-15)


@given(lenses(), slope, slope)
def test_points_of_the_plane_image_on_the_sensor(lens: FocusedLens, x: float, y: float) -> None:
    """Any point of the plane of sharp focus has its image in the sensor's plane."""
    normal = np.array(sharp_plane(lens).normal_per_m)
    ray = np.array([x, y, 1.0])
    assume(abs(normal @ ray) > 1e-3)
    point = ray / (normal @ ray)

    along_mm = 1000.0 * (point @ np.asarray(lens.axis))  # conjugate: 1/f = 1/object + 1/image
    image = -1000.0 * point * lens.focal_mm / (along_mm - lens.focal_mm)

    np.testing.assert_allclose(image[2], -lens.extension_mm, rtol=1e-6)


@given(lenses(tilted=True), st.floats(1.001, 1.5))
def test_focusing_turns_the_plane_about_one_hinge(lens: FocusedLens, stretch: float) -> None:
    """Whatever the extension, the plane meets z = 0 in the same line."""
    other = FocusedLens(
        lens.focal_mm, lens.aperture_radius_mm, lens.extension_mm * stretch, lens.axis
    )
    one, two = sharp_plane(lens), sharp_plane(other)
    foot = np.array(one.hinge_m)

    assert one.hinge_m == two.hinge_m
    for plane in (one, two):
        np.testing.assert_allclose(np.array(plane.normal_per_m) @ foot, 1.0, rtol=1e-9)
    np.testing.assert_allclose(np.linalg.norm(foot), one.hinge_distance_m, rtol=1e-9)


@given(focal_mm, st.floats(0.2, 12.0), st.sampled_from([-1.0, 1.0]))
def test_hinge_lies_on_the_side_the_lens_leans_to(focal: float, angle: float, sign: float) -> None:
    """Lens down: hinge below; lens right: hinge to the right; f / sin(tilt) away."""
    tilted, swung = (
        sharp_plane(
            focus_lens(
                LensSetting(
                    focal_mm=focal,
                    f_number=4,
                    focus=FocusDistance(50),
                    tilt_deg=tilt,
                    swing_deg=swing,
                )
            )
        )
        for tilt, swing in ((sign * angle, 0.0), (0.0, sign * angle))
    )
    signed_m = float(hinge_distance_mm(focal, sign * angle)) / 1000.0

    np.testing.assert_allclose(tilted.hinge_m, (0.0, signed_m, 0.0), rtol=1e-9, atol=1e-12)
    np.testing.assert_allclose(swung.hinge_m, (signed_m, 0.0, 0.0), rtol=1e-9, atol=1e-12)


@given(focal_mm, movement_deg, movement_deg, slope, slope, st.floats(1.0, 1e4))
def test_a_focus_spot_is_sharp(
    focal: float, tilt: float, swing: float, x: float, y: float, depth: float
) -> None:
    """The extension of a spot makes exactly that spot sharp."""
    lens = focus_lens(
        LensSetting(
            focal_mm=focal,
            f_number=2.8,
            focus=FocusSpot(x, y, depth),
            tilt_deg=tilt,
            swing_deg=swing,
        )
    )

    np.testing.assert_allclose(lens.sharp_inverse_depth([x, y]), 1.0 / depth, atol=1e-9)


def test_no_tilt_has_its_hinge_at_infinity() -> None:
    """Without tilt the plane is parallel to the sensor and the hinge infinitely far."""
    plane = sharp_plane(focus_lens(LensSetting(focal_mm=50, f_number=2, focus=FocusDistance(4))))

    assert plane.hinge_distance_m == plane.scheimpflug_distance_mm == math.inf
    assert plane.angle_deg == 0
    np.testing.assert_allclose(plane.normal_per_m, (0, 0, 1 / 4), atol=1e-12)


def test_an_extension_is_taken_as_it_is() -> None:
    """Focus given as an extension is that extension."""
    assert extension_for(90, lens_axis(5, 0), FocusExtension(93.5)) == 93.5


@pytest.mark.parametrize("focus", [FocusDistance(0.05), FocusSpot(0.0, -3.0, 5.0)])
def test_focus_that_no_extension_reaches_is_refused(focus: FocusDistance | FocusSpot) -> None:
    """Nearer than the focal length, or behind the tilted lens: one sentence, no number."""
    with pytest.raises(SettingError, match="cannot focus"):
        extension_for(90, lens_axis(40, 0), focus)


@pytest.mark.parametrize("tilt", [90.0, -95.0, math.nan])
def test_hinge_distance_refuses_impossible_tilts(tilt: float) -> None:
    """A tilt of 90 degrees or more, or none at all, has no hinge distance."""
    with pytest.raises(SettingError, match="between -90 and 90"):
        hinge_distance_mm(90, tilt)
