"""The rim that cuts slanting light, against rays and plane geometry."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from render.errors import SettingError
from render.optics.lens import CatsEye, FocusDistance, LensSetting
from render.optics.plane import focus_lens
from render.optics.rim import common_share, rim_circles, rim_for


def _lens(f_number: float = 1.4, tilt_deg: float = 0.0):
    eye = CatsEye(light_left=0.45, corner_mm=21.6, widest_f_number=1.4)
    return focus_lens(
        LensSetting(
            focal_mm=60, f_number=f_number, focus=FocusDistance(4), tilt_deg=tilt_deg, cats_eye=eye
        )
    )


def test_two_unit_circles_at_distance_one() -> None:
    """Each passes through the other's centre: 2 pi/3 - sqrt(3)/2 in common (plane geometry)."""
    share = common_share(1.0, 1.0)

    assert share == pytest.approx((2 * math.pi / 3 - math.sqrt(3) / 2) / math.pi)


@given(st.floats(0, 3), st.floats(0.1, 3))
def test_the_common_share_counts_points(distance: float, radius: float) -> None:
    """As many points of a fine grid over the disc lie in the other circle."""
    t = (np.arange(400) + 0.5) / 200 - 1
    x, y = np.meshgrid(t, t)
    disc = x * x + y * y <= 1
    both = disc & (np.hypot(x - distance, y) <= radius)

    assert float(common_share(distance, radius)) == pytest.approx(both.sum() / disc.sum(), abs=5e-3)


@given(st.floats(0.2, 0.99), st.floats(0.9, 8), st.floats(15, 200))
def test_the_rim_leaves_the_stated_light(light_left: float, widest: float, focal: float) -> None:
    """At the corner, from far away, wide open; and everything on the axis."""
    eye = CatsEye(light_left=light_left, corner_mm=21.6, widest_f_number=widest)
    rim = rim_for(focal, eye)
    slopes = np.array([[21.6 / focal, 0.0], [0.0, 0.0]])

    centre, radius = rim_circles(rim, focal / 2 / widest, (0.0, 0.0, 1.0), slopes, 0.0)

    share = common_share(np.hypot(centre[:, 0], centre[:, 1]), radius)
    np.testing.assert_allclose(share, [light_left, 1.0], atol=1e-9)


def test_stopping_down_opens_the_eye() -> None:
    """A smaller iris loses less, and from some stop on nothing."""
    left = []
    for f_number in (1.4, 2.0, 2.8, 16.0):
        lens = _lens(f_number)
        assert lens.rim is not None
        centre, radius = rim_circles(lens.rim, lens.aperture_radius_mm, lens.axis, (0.3, 0.15), 0.0)
        left.append(float(common_share(np.hypot(*centre), radius)))

    assert left[0] < left[1] < left[2] <= left[3] == 1.0


@pytest.mark.parametrize("tilt_deg", [0.0, -8.0, 5.0])
@pytest.mark.parametrize("depth_m", [0.4, 3.0, 500.0])
def test_what_passes_is_what_rays_say(tilt_deg: float, depth_m: float) -> None:
    """Rays from a point through the lens pass the rim exactly where the circle says."""
    lens = _lens(tilt_deg=tilt_deg)
    assert lens.rim is not None
    slopes = np.array([0.31, -0.17])
    n = np.array(lens.axis)
    sine = math.hypot(n[0], n[1])
    hx, hy = (n[0] / sine, n[1] / sine) if sine else (0.0, 1.0)
    u1, u2 = np.array([hy, -hx, 0.0]), np.array([hx * n[2], hy * n[2], -sine])
    spots = np.random.default_rng(2).uniform(-1, 1, (2000, 2))
    start = lens.aperture_radius_mm * (spots[:, :1] * u1 + spots[:, 1:] * u2)
    way = np.append(slopes, 1.0) * depth_m * 1000 - start
    crossing = start + (lens.rim.before_mm / (way @ n))[:, None] * way
    passes = np.linalg.norm(crossing - lens.rim.before_mm * n, axis=1) <= lens.rim.radius_mm

    centre, radius = rim_circles(lens.rim, lens.aperture_radius_mm, lens.axis, slopes, 1 / depth_m)

    np.testing.assert_array_equal(np.linalg.norm(spots - centre, axis=1) <= radius, passes)
    assert 0.05 < passes.mean() < 0.9


@pytest.mark.parametrize(
    ("light_left", "corner_mm", "widest"),
    [(0.1, 21.6, 2.8), (1.0, 21.6, 2.8), (math.nan, 21.6, 2.8), (0.5, 0, 2.8), (0.5, 21.6, -1)],
)
def test_what_no_rim_can_be_is_refused(light_left: float, corner_mm: float, widest: float) -> None:
    """Light outside its range, no corner, no aperture."""
    with pytest.raises(SettingError):
        CatsEye(light_left=light_left, corner_mm=corner_mm, widest_f_number=widest)


def test_a_stop_wider_than_the_widest_is_refused() -> None:
    """Both stops are named."""
    eye = CatsEye(light_left=0.5, corner_mm=21.6, widest_f_number=2.8)
    with pytest.raises(SettingError, match=r"f/2:.*f/2\.8"):
        LensSetting(focal_mm=45, f_number=2.0, focus=FocusDistance(4), cats_eye=eye)
