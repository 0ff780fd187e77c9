"""Depth mended by its picture."""

import numpy as np
import pytest

from render.depth.depthmap import DepthMap
from render.depth.mending import mend
from render.errors import InputError


def _board() -> tuple[np.ndarray, np.ndarray]:
    """A red board at 5 m in front of a grey wall at 20 m."""
    rng = np.random.default_rng(6)
    picture = rng.uniform(0.2, 0.3, (80, 120, 1)) * np.ones(3)
    depth = np.full((80, 120), 20.0, np.float32)
    picture[20:60, 30:80] = rng.uniform(0.5, 0.6, (40, 50, 1)) * np.array([1.0, 0.2, 0.2])
    depth[20:60, 30:80] = 5.0
    return picture.astype(np.float32), depth


def test_flying_pixels_go_to_one_side():
    """A soft step between near and far leaves nothing between them."""
    picture, true = _board()
    soft = true.copy()
    for row in (20, 59):
        soft[row, 30:80] = 9.0
    soft[20:60, 30] = soft[20:60, 79] = 11.0

    mended = mend(DepthMap(soft, "it", 0.1), picture).depth_m

    np.testing.assert_allclose(mended, true, rtol=0.01)


def test_edges_move_on_to_the_pictures_edges():
    """Depth shifted by two pixels comes back on to the board's edge in nine of ten pixels."""
    picture, true = _board()
    shifted = np.roll(true, 2, axis=1)

    mended = mend(DepthMap(shifted, "it", 0.1), picture).depth_m

    wrong = np.abs(mended / true - 1) > 0.05
    assert wrong.sum() < 0.1 * (np.abs(shifted / true - 1) > 0.05).sum()


def test_holes_are_filled_from_what_they_look_like():
    """A hole across the board's edge is filled on both sides; a hole wider than the reach too."""
    picture, true = _board()
    holed = true.copy()
    holed[30:45, 20:45] = np.nan
    holed[62:80, 0:120] = np.nan

    mended = mend(DepthMap(holed, "it", 0.1), picture)

    assert np.isfinite(mended.depth_m).all()
    assert np.mean(np.abs(mended.depth_m / true - 1) > 0.05) < 0.005
    assert np.asarray(mended.uncertainty)[35, 30] > np.asarray(mended.uncertainty)[5, 5]


def test_a_thin_pole_and_a_true_depth_are_left_alone():
    """A two-pixel pole with clean depth keeps it, and a ramp to the horizon is no edge."""
    picture, true = _board()
    picture[:, 100:102], true[:, 100:102] = (0.02, 0.02, 0.05), 3.0

    np.testing.assert_allclose(mend(DepthMap(true, "it", 0.1), picture).depth_m, true, rtol=1e-3)
    rows = np.linspace(-0.02, 0.3, 80, dtype=np.float32)
    with np.errstate(divide="ignore"):
        ramp = np.repeat(np.where(rows > 0, 1 / np.maximum(rows, 0), np.inf)[:, None], 120, 1)
    mended = mend(DepthMap(ramp.astype(np.float32), "it", 0.1), picture).depth_m
    np.testing.assert_allclose(mended, ramp, rtol=1e-3)


def test_sky_goes_to_infinity():
    """What is named as sky is infinitely far in the mended depth."""
    picture, true = _board()
    sky = np.zeros(true.shape, bool)
    sky[:10] = True

    assert np.isinf(mend(DepthMap(true, "it", 0.1), picture, sky=sky).depth_m[:10]).all()


def test_another_size_is_refused():
    """A depth of another size than its picture cannot be mended by it."""
    picture, true = _board()

    with pytest.raises(InputError, match="as large as"):
        mend(DepthMap(true[:-1], "it", 0.1), picture)


def test_a_hole_at_a_step_belongs_to_the_far_side() -> None:
    """Between a near post and a far wall of one colour, what stereo hides is wall."""
    depth_m = np.full((60, 80), 20.0, np.float32)
    depth_m[:, 30:40] = 4.0
    depth_m[:, 40:46] = np.nan
    picture = np.full((60, 80, 3), 0.3, np.float32)

    made = mend(DepthMap(depth_m, "stereo", 0.0), picture)

    assert np.mean(made.depth_m[5:-5, 40:46] > 15) > 0.95
