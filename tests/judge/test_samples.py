"""The grid the judgement looks at."""

from dataclasses import replace

import numpy as np
import pytest

from render.errors import InputError
from render.judge.samples import grid_step, sample
from render.optics.camera import Camera, Vantage, Window
from render.scene.scene import Scene


def _scene(picture, depth, window=None):
    height, width = depth.shape
    return Scene(picture, depth, Camera(width, height, 100.0), window=window)


def test_small_frames_are_looked_at_whole_and_large_ones_on_the_stated_grid():
    """Every pixel up to half a million, every k-th beyond."""
    assert grid_step(800, 600) == 1
    assert grid_step(4242, 2828) == 5


def test_only_the_frame_is_taken_with_its_own_rays():
    """The margin is left out, and the rays are those of the whole picture's camera."""
    depth = np.full((40, 60), 5.0, np.float32)
    depth[10:30, 15:45] = 7.0
    taken = sample(_scene(np.full((40, 60, 3), 0.3, np.float32), depth, Window(15, 10, 30, 20)))

    assert taken.shape == (20, 30)
    np.testing.assert_allclose(taken.inverse, 1 / 7, rtol=1e-6)
    assert taken.slope_x[0] == pytest.approx((15.5 - 30) / 100)
    assert taken.slope_y[0] == pytest.approx((10.5 - 20) / 100)


def test_detail_is_where_the_texture_is():
    """A textured half outweighs a blank half, and the sky weighs nothing."""
    rng = np.random.default_rng(0)
    picture = np.full((60, 60, 3), 0.3, np.float32)
    picture[:, 30:] += rng.random((60, 30, 1), dtype=np.float32)
    depth = np.full((60, 60), 5.0, np.float32)
    depth[:10] = np.inf
    detail = sample(_scene(picture, depth)).detail.reshape(60, 60)

    assert detail[20:, 40:].min() > 10 * detail[20:, :20].max()
    assert not detail[:10].any()
    assert detail[20:, :20].min() > 0  # blank things have outlines
    assert detail.max() == 1.0


def test_turning_the_camera_keeps_ground_on_the_ground(roof):
    """Pitched down by 6 degrees, the same ground lies where a camera so pitched sees it."""
    taken = sample(roof().scene())
    turned, covered = taken.reframed(6.0, taken.camera)
    pitch = np.radians(26.0)
    ground = (np.sin(pitch) + turned.slope_y * np.cos(pitch)) / 20.0

    np.testing.assert_allclose(turned.inverse, ground, rtol=1e-6)
    assert 0.3 < covered < 0.9


def test_sky_alone_cannot_be_judged():
    """A frame of nothing but sky is refused in one sentence, with how the camera looks, if up."""
    sky = _scene(np.ones((4, 4, 3), np.float32), np.full((4, 4), np.inf, np.float32))
    with pytest.raises(InputError, match="sky everywhere in the frame, so nothing"):
        sample(sky)
    with pytest.raises(InputError, match="sky everywhere in the frame, the camera looking 12° up"):
        sample(replace(sky, vantage=Vantage(2.0, -12.0)))


def test_depth_towards_a_ray_is_that_of_the_nearest_sample(roof):
    """The ray of the axis meets the ground at the focus distance."""
    here = roof()

    assert sample(here.scene()).depth_towards(0.0, 0.0) == pytest.approx(here.focus_m, rel=0.01)


@pytest.mark.parametrize("noise", [0.0, 0.02, 0.08, 0.2])
def test_noise_of_single_pixels_is_found_and_cleaned(noise):
    """On a plane with a wall before it: what is left is stated, and is a fraction of the noise."""
    rng = np.random.default_rng(0)
    rows = np.arange(160)[:, None]
    true = np.broadcast_to(0.01 + 0.0001 * rows, (160, 240)).copy()
    true[40:120, 60:120] = 0.03
    depth = (1.0 / (true * (1 + noise * rng.standard_normal(true.shape)))).astype(np.float32)
    depth = np.where(depth > 0, depth, 1e3)
    taken = sample(_scene(rng.random((160, 240, 3), dtype=np.float32), depth))
    off = np.abs(taken.inverse.reshape(160, 240) / true - 1)

    assert (taken.noise == 0) == (noise == 0)
    assert taken.noise <= 0.45 * noise
    assert np.median(off) <= 0.3 * noise + 1e-6


def test_thinned_samples_keep_the_view():
    """At most 320 cells along the longer side, spread over the whole frame."""
    rng = np.random.default_rng(0)
    taken = sample(
        _scene(rng.random((500, 750, 3), dtype=np.float32), np.full((500, 750), 5.0, np.float32))
    )
    thin = taken.thinned()

    assert max(thin.shape) <= 320
    assert thin.slope_x.min() == pytest.approx(taken.slope_x.min(), abs=0.05)
    assert thin.slope_y.max() == pytest.approx(taken.slope_y.max(), abs=0.05)
    assert thin.thinned() is thin
