"""Rays through the exact lens meet where it is sharp."""

import numpy as np
import pytest

from render.optics.iris import lens_plane_axes
from render.optics.lens import CatsEye, FocusDistance, LensSetting
from render.optics.plane import FocusedLens, focus_lens
from render.trace.columns import ThinLens
from render.trace.kernels.lens import _even, _refracted
from render.trace.trace import eye_numbers
from tests.steps import opened
from tests.world.worlds import eye_level


def _numbers(lens: FocusedLens) -> ThinLens:
    mm = (lens.extension_mm, lens.focal_mm, lens.aperture_radius_mm)
    rim = (lens.rim.before_mm, lens.rim.radius_mm) if lens.rim else (0.0, 0.0)
    right, down = lens_plane_axes(lens.axis)
    lengths = [m / 1000 for m in mm]
    return ThinLens(*map(float, [*lengths, *lens.axis, *right, *down, *(r / 1000 for r in rim)]))


@pytest.mark.parametrize("tilt_deg", [0.0, -7.0])
def test_all_rays_of_a_place_pass_the_point_that_is_sharp_there(tilt_deg: float) -> None:
    """Whatever point of the aperture they leave from."""
    lens = focus_lens(
        LensSetting(focal_mm=90, f_number=2, focus=FocusDistance(12.0), tilt_deg=tilt_deg)
    )
    view = eye_level()
    eye = eye_numbers(view, view.camera())
    x, y = eye.centre_x + 11.0, eye.centre_y - 7.0
    inverse = lens.sharp_inverse_depth(
        np.array([(x - eye.centre_x), (y - eye.centre_y)]) / eye.focal
    )
    ends = []
    for a, b in ((0.0, 0.0), (0.7, -0.2), (-0.4, 0.9)):
        ox, oy, oz, dx, dy, dz, passes = opened(_refracted)(_numbers(lens), eye, x, y, a, b)
        ends.append(np.array([ox, oy, oz]) + np.array([dx, dy, dz]) / inverse)
        assert passes

    np.testing.assert_allclose(ends[1:], [ends[0]] * 2, rtol=1e-9, atol=1e-9)


def test_a_rim_stops_slanting_rays_only() -> None:
    """Through the middle of the iris straight ahead, but not from its edge far aside."""
    eye_words = CatsEye(light_left=0.4, corner_mm=18.0, widest_f_number=2.0)
    lens = focus_lens(
        LensSetting(focal_mm=90, f_number=2, focus=FocusDistance(12.0), cats_eye=eye_words)
    )
    view = eye_level()
    eye, numbers = eye_numbers(view, view.camera()), _numbers(lens)
    aside = eye.centre_x + 0.3 * eye.focal

    assert opened(_refracted)(numbers, eye, eye.centre_x, eye.centre_y, 0.0, 0.0)[-1]
    stopped = [opened(_refracted)(numbers, eye, aside, eye.centre_y, a, 0.0)[-1] for a in (-1, 1)]
    assert sorted(map(bool, stopped)) == [False, True]


def test_half_of_all_samples_carry_soft_light() -> None:
    """One of each pair."""
    even = [bool(opened(_even)(n)) for n in range(256)]

    assert all(a != b for a, b in zip(even[::2], even[1::2], strict=True))
