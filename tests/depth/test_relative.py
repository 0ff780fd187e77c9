"""Relative depth made metric."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from render.depth.ground import ground_depth
from render.depth.mark import Mark
from render.depth.relative import (
    by_distances,
    by_ground,
    made_metric,
    nearness_of,
    refuse_swapped,
)
from render.errors import InputError
from render.optics.camera import Camera

from .real import (
    RIVERSIDE_CAMERA,
    RIVERSIDE_VANTAGE,
    cones_disparity,
    inverse_error,
    riverside_depth,
)

SPOTS = ((150, 120), (60, 110), (40, 170), (150, 75), (220, 30))


def _relative(scale: float, shift: float) -> tuple[np.ndarray, np.ndarray]:
    true = riverside_depth()
    return ((1 / true - shift) / scale).astype(np.float32), true


def _marks(true: np.ndarray, spots: tuple[tuple[int, int], ...]) -> list[Mark]:
    return [Mark(x + 0.5, y + 0.5, float(true[y, x])) for x, y in spots]


@given(st.floats(0.01, 50), st.floats(-0.005, 0.005))
def test_two_distances_undo_any_scale_and_shift(scale, shift):
    """Whatever scale and shift a relative depth has, two true distances give z back."""
    nearness, true = _relative(scale, shift)

    fit = by_distances(nearness, RIVERSIDE_CAMERA, _marks(true, SPOTS[2:4]))

    assert inverse_error(made_metric(nearness, fit, "it").depth_m, true) < 0.02


def test_one_wrong_distance_among_five_is_left_out_and_named():
    """A mark at twice its distance does not bend the fit, and is named."""
    nearness, true = _relative(3.0, 0.002)
    marks = _marks(true, SPOTS)
    marks[1] = Mark(marks[1].x_px, marks[1].y_px, 2 * marks[1].distance_m)

    fit = by_distances(nearness, RIVERSIDE_CAMERA, marks)

    assert inverse_error(made_metric(nearness, fit, "it").depth_m, true) < 0.02
    assert any("(60, 110)" in remark and "left out" in remark for remark in fit.remarks)


def test_the_ground_makes_it_metric():
    """The camera's height over the park's lawn is enough, trees and all, within 5 %."""
    nearness, true = _relative(0.2, -0.01)
    ground = ground_depth(RIVERSIDE_CAMERA, RIVERSIDE_VANTAGE)

    fit = by_ground(nearness, ground)

    assert inverse_error(made_metric(nearness, fit, "it").depth_m, true) < 0.05


def test_swapped_near_and_far_are_refused():
    """Depth given as nearness is told by its marks and by the ground."""
    _, true = _relative(1.0, 0.0)
    swapped = np.where(np.isfinite(true), true, 400).astype(np.float32)

    with pytest.raises(InputError, match="near and far look swapped"):
        by_distances(swapped, RIVERSIDE_CAMERA, _marks(true, SPOTS))
    with pytest.raises(InputError, match="near and far look swapped"):
        by_ground(swapped, ground_depth(RIVERSIDE_CAMERA, RIVERSIDE_VANTAGE))


def test_relative_distance_is_turned_over():
    """A file that grows with distance becomes nearness, with the sky at 0."""
    turned = nearness_of(np.array([[2.0, 4.0, np.inf]], np.float32), "relative")

    np.testing.assert_array_equal(turned, [[0.5, 0.25, 0.0]])


def test_real_disparity_without_calibration():
    """Two distances make a real disparity map metric (up to the set's own unit), exactly."""
    disparity = cones_disparity()
    camera = Camera(225, 187, 300.0)
    true = np.where(np.isnan(disparity), np.nan, 40 / disparity).astype(np.float32)
    rows, columns = np.array([150, 40]), np.array([60, 120])
    marks = [Mark(x + 0.5, y + 0.5, float(true[y, x])) for x, y in zip(columns, rows, strict=True)]

    fit = by_distances(disparity, camera, marks)

    known = np.isfinite(true)
    found = made_metric(disparity, fit, "it").depth_m
    np.testing.assert_allclose(found[known], true[known], rtol=0.05)
    assert np.isnan(found[~known]).all()


def test_marks_that_cannot_tell_are_refused():
    """One mark, marks equally near, and marks on holes are refused."""
    plain = np.full((20, 20), 0.5, np.float32)
    camera = Camera(20, 20, 20.0)
    marks = [Mark(3, 3, 5.0), Mark(15, 15, 9.0)]

    with pytest.raises(InputError, match="two known distances"):
        by_distances(plain, camera, marks[:1])
    with pytest.raises(InputError, match="equally near"):
        by_distances(plain, camera, marks)
    with pytest.raises(InputError, match="fewer than two marks"):
        by_distances(np.full((20, 20), np.nan, np.float32), camera, marks)


def test_metric_depth_that_runs_against_the_ground_is_refused():
    """The park's true depth passes, the same with near and far swapped does not."""
    true = riverside_depth()
    ground = ground_depth(RIVERSIDE_CAMERA, RIVERSIDE_VANTAGE)
    swapped = np.where(np.isfinite(true), 300 - np.minimum(true, 290), 5).astype(np.float32)

    refuse_swapped(true, ground)
    refuse_swapped(np.full_like(true, 7.0), ground)
    with pytest.raises(InputError, match="near and far look swapped"):
        refuse_swapped(swapped, ground)
