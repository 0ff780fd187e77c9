"""What moves across a still picture, where the truth is known."""

from typing import Any

import numpy as np
import pytest

from render.depth.ground import LEVEL, ground_depth
from render.film.movers import clean_plate, mover_mask, standing_depth, with_movers
from render.optics.camera import Camera, Vantage
from render.scene.scene import Scene

CAMERA = Camera(160, 100, 260.0)
GROUND = ground_depth(CAMERA, Vantage(8.0, 20.0), LEVEL).astype(np.float32)
FOOT = 69  # last row of the walkers


def _frames(
    count: int = 9, coat: tuple[float, float, float] = (0.5, 0.08, 0.06), stands: int = 0
) -> list[np.ndarray]:
    """A paved square that a man crosses, his shadow to the left; each frame has noise.

    In the first `stands` frames he stands where he is in the fifth.
    """
    rng = np.random.default_rng(2)
    paving = np.repeat(rng.uniform(0.25, 0.5, (100, 160, 1)), 3, axis=2)
    made = []
    for k in range(count):
        frame = paving.copy()
        left = 10 + 15 * (4 if k < stands else k)
        frame[FOOT - 6 : FOOT + 1, left - 9 : left] *= (0.3, 0.33, 0.4)
        frame[FOOT - 25 : FOOT + 1, left : left + 8] = coat
        noisy = frame + rng.normal(0, 0.004, frame.shape)
        made.append(np.maximum(noisy, 0).astype(np.float32))
    return made


@pytest.fixture(scope="module")
def frames() -> list[np.ndarray]:
    """Nine moments."""
    return _frames()


def test_the_plate_is_the_place_without_him(frames: list[np.ndarray]) -> None:
    """The median holds nothing red anywhere, and knows the noise."""
    plate = clean_plate(frames)

    assert (plate.light[..., 0] / plate.light[..., 1]).max() < 1.1
    assert plate.noise.min() > 0.0
    assert plate.noise.max() < 0.02


@pytest.mark.parametrize(
    "made",
    [{"coat": (0.13, 0.13, 0.13)}, {"stands": 6}],
    ids=["grey on grey", "standing in most frames"],
)
def test_he_is_found_where_he_looks_like_shade_or_like_the_place(
    made: dict[str, Any],
) -> None:
    """A grey coat is no shadow; who stands in most frames is not part of the place."""
    frames = _frames(**made)
    mask = mover_mask(frames[4], clean_plate(frames))
    true = np.zeros_like(mask)
    true[FOOT - 25 : FOOT + 1, 70:78] = True

    assert mask[true].mean() > 0.9
    assert (mask & ~true).sum() < 0.35 * true.sum()
    if made.get("stands"):
        left = mover_mask(frames[8], clean_plate(frames))
        assert left[true].mean() < 0.1


@pytest.mark.parametrize("gain", [1.0, 1.15])
def test_he_is_found_and_his_shadow_is_not(frames: list[np.ndarray], gain: float) -> None:
    """All of him, little else; also where the exposure has changed by a seventh."""
    mask = mover_mask(frames[4] * np.float32(gain), clean_plate(frames))
    true = np.zeros_like(mask)
    true[FOOT - 25 : FOOT + 1, 70:78] = True

    assert mask[true].mean() > 0.98
    assert (mask & ~true).sum() < 0.1 * true.sum()


def test_he_stands_upright_at_his_foot() -> None:
    """From foot to head the depth of the ground at his foot; behind nearer things he stays."""
    mask = np.zeros((100, 160), bool)
    mask[FOOT - 25 : FOOT + 1, 70:78] = True
    depth = standing_depth(mask, GROUND, 260.0)

    assert np.allclose(depth[mask], GROUND[FOOT, 74])
    np.testing.assert_array_equal(depth[~mask], GROUND[~mask])
    near = np.full_like(GROUND, 3.0)
    near[FOOT + 1 :] = 9.0
    np.testing.assert_array_equal(standing_depth(mask, near, 260.0), near)


def test_his_scene_knows_the_place_behind_him(frames: list[np.ndarray]) -> None:
    """Behind him lie the plate's light and the ground's depth; where he is not, nothing changes."""
    plate = clean_plate(frames)
    scene = Scene(plate.light, GROUND, CAMERA)
    found = with_movers(scene, plate, frames[4])

    assert found.behind is not None
    inside = (slice(FOOT - 20, FOOT - 5), slice(71, 77))
    np.testing.assert_allclose(found.behind.picture[inside], plate.light[inside], rtol=0.02)
    np.testing.assert_array_equal(found.behind.depth_m[inside], GROUND[inside])
    assert (found.depth_m[inside] < GROUND[inside]).all()
    empty = with_movers(scene, plate, plate.light)
    np.testing.assert_array_equal(empty.depth_m, GROUND)
    assert empty.behind is None
