"""Depth from two pictures."""

import numpy as np
import pytest

from render.depth.stereo import by_features, by_rectified
from render.errors import InputError
from render.optics.camera import Camera

from .real import cones_disparity, inverse_error, light

cv2 = pytest.importorskip("cv2")

FOCAL_PX, STEP_M = 250.0, 0.16
CAMERA = Camera(225, 187, FOCAL_PX)


def test_a_real_rectified_pair_gives_its_depth():
    """On a real pair the median error of inverse depth is below 2 % (measured: 1.0 %)."""
    true = (FOCAL_PX * STEP_M / cones_disparity()).astype(np.float32)
    pair = light("cones_left.png"), light("cones_right.png")

    found = by_rectified(*pair, CAMERA, STEP_M, offset_px=0.0)

    both = np.isfinite(found.depth_m) & np.isfinite(true)
    assert both.mean() > 0.7
    assert inverse_error(found.depth_m[both], true[both]) < 0.02
    assert found.typical_uncertainty < 0.05


def test_an_offset_that_nobody_said_is_in_the_doubt():
    """A pair cut 9 px apart (4 % of the width, as calibrated sets are) lies within two of it."""
    true = (FOCAL_PX * STEP_M / cones_disparity()).astype(np.float32)[:, 9:]
    left, right = light("cones_left.png")[:, 9:], light("cones_right.png")[:, :-9]
    camera = Camera(216, 187, FOCAL_PX)

    unsaid = by_rectified(left, right, camera, STEP_M)
    said = by_rectified(left, right, camera, STEP_M, offset_px=9.0)

    both = np.isfinite(unsaid.depth_m) & np.isfinite(true)
    doubt = np.asarray(unsaid.uncertainty)[both]
    off = np.abs(unsaid.depth_m[both] / true[both] - 1)
    assert np.median(off) > 0.2
    assert np.mean(off < 2 * doubt) > 0.9
    assert any("no --disparity-offset was given" in remark for remark in unsaid.remarks)
    assert said.typical_uncertainty < 0.2 * unsaid.typical_uncertainty


def _room(place: np.ndarray, turn: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """A picture and its depth: three textured boards in front of a textured wall."""
    camera = Camera(400, 300, 380.0)
    x, y = np.meshgrid(np.arange(400) + 0.5, np.arange(300) + 0.5)
    rays = np.concatenate([camera.slopes(x, y), np.ones((300, 400, 1))], axis=-1) @ turn
    nearest = np.full((300, 400), np.inf)
    picture = np.zeros((300, 400, 3))
    boards = [(9.0, -20, 20, -20, 20), (6.0, -2.2, -0.6, -1.5, 1.6), (4.5, 0.3, 1.4, -1, 1.2)]
    for number, (depth, left, right, top, low) in enumerate(boards):
        scale = (depth - place[2]) / rays[..., 2]
        at = place + rays * scale[..., None]
        seen = (at[..., 0] > left) & (at[..., 0] < right) & (at[..., 1] > top) & (at[..., 1] < low)
        texture = np.random.default_rng(number).uniform(0.05, 0.9, (700, 700, 3))
        row = np.clip(((at[..., 1] + 20) * 14 * 1.2).astype(int), 0, 699)
        column = np.clip(((at[..., 0] + 20) * 14 * 1.2).astype(int), 0, 699)
        front = seen & (scale < nearest)
        picture[front] = texture[row, column][front]
        nearest[front] = scale[front]
    return picture.astype(np.float32), nearest.astype(np.float32)


@pytest.mark.parametrize("side", [1.0, -1.0])
def test_a_hand_held_pair_gives_metres(side):
    """A step to either side with a slightly turned camera gives depth within 6 % (median)."""
    first, true = _room(np.zeros(3), np.eye(3))
    swing = np.radians(1.5)
    turn = np.array(
        [[np.cos(swing), 0, -np.sin(swing)], [0, 1, 0], [np.sin(swing), 0, np.cos(swing)]]
    )
    second, _ = _room(np.array([side * 0.3, 0.01, 0.0]), turn)

    found = by_features(first, second, Camera(400, 300, 380.0), 0.3).depth_m

    both = np.isfinite(found)
    assert both.mean() > 0.5
    assert inverse_error(found[both], true[both]) < 0.06


def test_pairs_that_cannot_work_are_refused():
    """Other sizes, no step, one picture twice and unlike pictures are refused in words."""
    first, _ = _room(np.zeros(3), np.eye(3))
    camera = Camera(400, 300, 380.0)

    with pytest.raises(InputError, match="of one size"):
        by_rectified(first, first[:-1], camera, 0.2)
    with pytest.raises(InputError, match="above 0 m"):
        by_rectified(first, first, camera, 0.0)
    with pytest.raises(InputError, match="nearly the same place"):
        by_features(first, first, camera, 0.2)
    with pytest.raises(InputError, match="too few features"):
        by_features(first, np.full_like(first, 0.4), camera, 0.2)


def test_a_swapped_pair_is_noticed():
    """The real pair named the wrong way round is refused with what to do."""
    with pytest.raises(InputError, match="looks swapped"):
        by_rectified(light("cones_right.png"), light("cones_left.png"), CAMERA, STEP_M)


def test_pictures_that_hardly_match_are_refused():
    """Noise against other noise matches by chance here and there, and is no pair."""
    rng = np.random.default_rng(3)
    one, other = rng.random((2, 187, 225, 3)).astype(np.float32)

    with pytest.raises(InputError, match="matches, less than 40 %"):
        by_rectified(one, other, CAMERA, STEP_M)


def test_a_hand_held_pair_is_as_unsure_as_its_pose():
    """Poses from half of the matches each scatter, and the doubt holds the true depth's error."""
    first, true = _room(np.zeros(3), np.eye(3))
    second, _ = _room(np.array([0.3, 0.01, 0.0]), np.eye(3))

    found = by_features(first, second, Camera(400, 300, 380.0), 0.3)

    both = np.isfinite(found.depth_m)
    off = abs(np.median(np.log(found.depth_m[both] / true[both])))
    assert found.typical_uncertainty > 0.003
    assert off < 2 * found.typical_uncertainty
    assert not any("level already" in remark for remark in found.remarks)


def test_a_pair_that_was_rectified_before_is_noticed():
    """No hand holds so still: the doubt then holds what a calibration's offset may be."""
    first, _ = _room(np.zeros(3), np.eye(3))
    second, _ = _room(np.array([0.3, 0.0, 0.0]), np.eye(3))

    found = by_features(first, second, Camera(400, 300, 380.0), 0.3)

    assert any("level already" in remark for remark in found.remarks)
    assert found.typical_uncertainty > 0.3


def test_a_step_ahead_is_refused():
    """No step to the side explains pictures that grow from the middle."""
    first, _ = _room(np.zeros(3), np.eye(3))
    second, _ = _room(np.array([0.1, 0.0, 1.0]), np.eye(3))

    with pytest.raises(InputError, match="beside"):
        by_features(first, second, Camera(400, 300, 380.0), 1.0)
