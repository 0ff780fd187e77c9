"""Smooth blur in 8 bits: no bands, and nothing else touched."""

import numpy as np
import pytest

from render.engine.dither import dither
from render.engine.photograph import Photograph, photograph
from render.optics.camera import Camera
from render.optics.lens import FocusDistance, LensSetting
from render.scene.colour import SRGB
from render.scene.field import frame_field
from render.scene.scene import Scene

SETTING = LensSetting(focal_mm=45, f_number=2.8, focus=FocusDistance(10.0))


def _sky(depth_m: float) -> tuple[Scene, Photograph]:
    """A noisy slope of 6 codes down the picture, white on the right."""
    slope = np.linspace(150, 156, 120)[:, None, None] * np.ones((1, 160, 3))
    codes = np.rint(slope + 0.6 * np.random.default_rng(7).standard_normal(slope.shape))
    codes[:, 100:] = 255
    picture = SRGB.light(codes.astype(np.uint8))
    scene = Scene(picture, np.full((120, 160), depth_m, np.float32), Camera(160, 120, 480.0))
    return scene, photograph(scene, SETTING)


def _dithered(scene: Scene, photo: Photograph, *, grey: bool = False) -> np.ndarray:
    return dither(photo, scene.picture, frame_field(scene, SETTING), SRGB, grey=grey).light


def _run(light: np.ndarray) -> float:
    """Mean length of runs of equal codes down the columns of the sky."""
    codes = SRGB.codes(light, 8)[8:-8, 8:70].astype(int)
    return codes.size / (np.count_nonzero(np.diff(codes, axis=0)) + codes[0].size)


def test_runs_of_equal_codes_do_not_grow() -> None:
    """Blur makes the 1.7 px of the source twice as long and more; dithered they are 2.1 px."""
    scene, photo = _sky(2.0)

    assert _run(photo.light) > 2 * _run(scene.picture)
    assert _run(_dithered(scene, photo)) < 1.3 * _run(scene.picture)


def test_the_mean_stays() -> None:
    """Triangular dither has no bias: over the sky the mean code is that of the light."""
    scene, photo = _sky(2.0)
    sky = (slice(8, -8), slice(8, 70))
    true = SRGB.codes(photo.light, 16)[sky].mean() / 257

    assert SRGB.codes(_dithered(scene, photo), 8)[sky].mean() == pytest.approx(true, abs=0.02)


def test_sharp_pixels_and_flat_white_keep_their_bytes() -> None:
    """In focus nothing changes; where the source was one code it stays one."""
    scene, photo = _sky(10.0)
    np.testing.assert_array_equal(_dithered(scene, photo), photo.light)
    scene, photo = _sky(2.0)

    assert np.all(SRGB.codes(_dithered(scene, photo), 8)[:, 140:] == 255)


def test_grey_stays_grey() -> None:
    """A picture of one channel gets one noise, or it could not be written as one."""
    scene, _ = _sky(2.0)
    grey = np.repeat(scene.picture[..., :1], 3, axis=2)
    scene = Scene(grey, scene.depth_m, scene.camera)
    light = _dithered(scene, photograph(scene, SETTING), grey=True)

    np.testing.assert_array_equal(light[..., 0], light[..., 2])
