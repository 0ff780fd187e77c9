"""Between metric depth and what depth files hold."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from render.depth.convert import (
    KINDS,
    depth_from,
    range_inverse,
    range_linear,
    ray_stretch,
    values_of,
)
from render.errors import InputError
from render.optics.camera import Camera

CAMERA = Camera(3, 2, 100.0, 1.5, 0.5)
DEPTH_M = np.array([[0.5, 4.1, 212.0], [20.0, 9000.0, np.inf]], np.float32)


@pytest.mark.parametrize("kind", list(KINDS))
def test_every_kind_comes_back(kind: str) -> None:
    """Depth to each kind and back is the same depth, the sky included where it has a value."""
    values = values_of(DEPTH_M, kind, CAMERA, baseline_m=0.2)
    again = depth_from(values, kind, CAMERA, baseline_m=0.2)
    sky_is_lost = kind == "disparity"  # 0 means "not found" to stereo programs

    np.testing.assert_allclose(again[:, :2], DEPTH_M[:, :2], rtol=1e-5)
    assert np.isnan(again[1, 2]) if sky_is_lost else np.isposinf(again[1, 2])


def test_disparity_by_the_published_rule() -> None:
    """Middlebury 2014 motorcycle: f 994.978 px, baseline 0.193001 m, offset 31.086 px."""
    camera = Camera(1, 1, 994.978)
    depth_m = depth_from(
        np.array([[40.0]]), "disparity", camera, baseline_m=0.193001, offset_px=31.086
    )

    assert depth_m[0, 0] == pytest.approx(994.978 * 0.193001 / 71.086, rel=1e-6)


def test_what_stereo_did_not_find_is_not_known() -> None:
    """Infinite, missing, zero and negative disparity are NaN, never depth 0."""
    found = depth_from(
        np.array([[np.inf, np.nan, 0.0, -3.0]]), "disparity", Camera(4, 1, 10.0), baseline_m=1.0
    )

    assert np.isnan(found).all()


@given(st.integers(1, 40), st.integers(1, 40), st.floats(5, 5000))
def test_ray_length_is_at_least_the_depth(width: int, height: int, focal_px: float) -> None:
    """A ray is as long as its slopes say: 1 on the axis, longer outside (Pythagoras)."""
    camera = Camera(width, height, focal_px)
    x, y = width - 0.5, height - 0.5
    slope_x, slope_y = camera.slopes(x, y)

    assert ray_stretch(camera)[-1, -1] == pytest.approx(
        np.hypot(1, np.hypot(slope_x, slope_y)), rel=1e-5
    )
    assert np.all(ray_stretch(camera) >= 1)


def test_range_inverse_gives_the_files_own_focal_distance() -> None:
    """A phone's file: near 18.8495, far 633.32, and 26.5176 at its own focal point."""
    near, far, distance = 18.849538803100586, 633.323486328125, 26.517597
    share = (1 / near - 1 / distance) / (1 / near - 1 / far)

    assert range_inverse(np.array([[share]]), near, far)[0, 0] == pytest.approx(distance, rel=1e-6)
    n = np.linspace(0, 1, 11)
    np.testing.assert_allclose(
        range_inverse(n, near, far), far * near / (far - n * (far - near)), rtol=1e-6
    )
    np.testing.assert_allclose(range_linear(n, 2, 12), 2 + 10 * n, rtol=1e-6)


def test_swapped_near_and_far_are_named() -> None:
    """A range that ends before it begins is refused in words."""
    with pytest.raises(InputError, match="look swapped"):
        range_inverse(np.zeros((1, 1)), 10.0, 2.0)
    with pytest.raises(InputError, match="makes no sense"):
        range_linear(np.zeros((1, 1)), float("nan"), 2.0)


def test_what_is_missing_is_said() -> None:
    """No baseline, no camera, another size, negative numbers, an unknown kind."""
    ones = np.ones((2, 3), np.float32)
    for kind, camera, words in (
        ("disparity", CAMERA, "distance of the two cameras"),
        ("ray", None, "focal length"),
        ("ray", Camera(5, 5, 10.0), "must be the same"),
        ("feet", CAMERA, "no kind of depth"),
    ):
        with pytest.raises(InputError, match=words):
            depth_from(ones, kind, camera)
    with pytest.raises(InputError, match="negative"):
        depth_from(-ones, "metres")


def test_infinite_nearness_and_negative_shifts() -> None:
    """Infinite inverse depth is not known; a shift below 0 is known if the offset lifts it."""
    assert np.isnan(depth_from(np.array([[np.inf]]), "inverse")[0, 0])
    camera = Camera(2, 1, 100.0)
    found = depth_from(
        np.array([[-5.0, -20.0]]), "disparity", camera, baseline_m=1.0, offset_px=10.0
    )
    assert found[0, 0] == pytest.approx(20.0)
    assert np.isnan(found[0, 1])
