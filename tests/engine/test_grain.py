"""Noise of a picture, measured and given back; the noise that was put in is known."""

import numpy as np
import pytest
from scipy import ndimage

from render.engine.grain import coded, match_grain, measure_grain
from render.engine.photograph import photograph
from render.optics.camera import Camera
from render.optics.lens import FocusDistance, LensSetting
from render.scene.colour import SRGB
from render.scene.field import frame_field
from render.scene.scene import Scene

SETTING = LensSetting(focal_mm=45, f_number=2.8, focus=FocusDistance(10.0))
HEIGHT, WIDTH = 320, 480


def _noisy(sigma: float, alike_px: float = 0.0) -> np.ndarray:
    """An even slope of grey in 8 bits, with noise that grows with the code, half to 1.4 sigma."""
    slope = np.linspace(40, 230, WIDTH)[None, :, None] * np.ones((HEIGHT, 1, 3))
    noise = np.random.default_rng(5).standard_normal(slope.shape)
    if alike_px:
        noise = ndimage.gaussian_filter(noise, (alike_px, alike_px, 0), mode="wrap")
        noise /= noise.std()
    codes = np.rint(slope + sigma * (0.5 + slope / 255) * noise)
    return SRGB.light(np.clip(codes, 0, 255).astype(np.uint8))


def _scene(light: np.ndarray, depth_m: float = 3.0) -> Scene:
    depth = np.full(light.shape[:2], depth_m, np.float32)
    return Scene(light, depth, Camera(light.shape[1], light.shape[0], 480.0))


@pytest.mark.parametrize(("sigma", "alike_px"), [(0.6, 0.0), (3.0, 0.7)])
def test_noise_is_found_by_brightness_with_its_correlation(sigma: float, alike_px: float) -> None:
    """Within 8 % at every brightness, rounding (1/12 code squared) counted in."""
    grain = measure_grain(_noisy(sigma, alike_px), SRGB)
    assert grain is not None
    true = np.sqrt((sigma * (0.5 + grain.codes / 255)) ** 2 + 1 / 12)
    neighbour = np.exp(-1 / (4 * alike_px**2)) if alike_px else 0.0

    np.testing.assert_allclose(grain.sigma.mean(axis=1)[1:-1], true[1:-1], rtol=0.08)
    assert grain.correlation[3, 4] == pytest.approx(neighbour, abs=0.06)


def test_texture_in_one_brightness_is_not_noise() -> None:
    """Dark leaves beside a calm wall: the dark steps read no more than the wall allows."""
    light = _noisy(0.8)
    codes = coded(light, SRGB)
    leaves = np.random.default_rng(2).normal(0, 30, (HEIGHT, 160, 1))
    codes[:, :160] = np.clip(codes[:, :160] + ndimage.uniform_filter(leaves, (2, 2, 1)), 0, 255)
    grain = measure_grain(SRGB.light(codes.astype(np.uint8)), SRGB)

    assert grain is not None
    assert grain.sigma.max() < 2.6 * grain.sigma.min()


def test_what_is_all_structure_or_clips_has_no_grain_to_match() -> None:
    """Wide waves everywhere, and plain white: None, so nothing is added."""
    rng = np.random.default_rng(4)
    waves = ndimage.gaussian_filter(rng.standard_normal((HEIGHT, WIDTH, 1)), (3, 3, 0))
    codes = np.clip(128 + 40 * waves / waves.std(), 0, 255).astype(np.uint8)

    assert measure_grain(SRGB.light(np.repeat(codes, 3, axis=2)), SRGB) is None
    assert measure_grain(np.ones((HEIGHT, WIDTH, 3), np.float32), SRGB) is None


@pytest.mark.parametrize(("sigma", "alike_px"), [(0.6, 0.0), (1.5, 0.7)])
def test_blur_gets_the_grain_that_it_took(sigma: float, alike_px: float) -> None:
    """Written in 8 bits, a blurred slope has the noise and the correlation of its source."""
    scene = _scene(_noisy(sigma, alike_px), 2.0)
    grain = measure_grain(scene.picture, SRGB)
    assert grain is not None
    field = frame_field(scene, SETTING)
    photo = photograph(scene, SETTING)
    matched = match_grain(photo, field, grain, SRGB, 1, bits=8)
    inner = (slice(24, -24), slice(24, -24))
    plain, after = (
        measure_grain(SRGB.light(SRGB.codes(one.light, 8))[inner], SRGB) for one in (photo, matched)
    )

    assert plain is not None
    assert after is not None
    assert plain.sigma.mean() < 0.8 * grain.sigma.mean()
    assert after.sigma.mean() == pytest.approx(grain.sigma.mean(), rel=0.05)
    assert after.correlation[3, 4] == pytest.approx(grain.correlation[3, 4], abs=0.08)
    assert matched.light.mean() == pytest.approx(photo.light.mean(), rel=1e-3)


def test_in_focus_no_grain_is_added_and_a_seed_holds() -> None:
    """A sharp plane keeps its bytes; blurred, one seed gives one picture, another another."""
    light = _noisy(2.0)
    grain = measure_grain(light, SRGB)
    assert grain is not None
    sharp, soft = _scene(light, 10.0), _scene(light)

    def matched(scene: Scene, seed: int) -> np.ndarray:
        field = frame_field(scene, SETTING)
        return match_grain(photograph(scene, SETTING), field, grain, SRGB, seed, bits=8).light

    np.testing.assert_array_equal(matched(sharp, 1), photograph(sharp, SETTING).light)
    once = matched(soft, 1).tobytes()
    assert once == matched(soft, 1).tobytes() != matched(soft, 2).tobytes()
