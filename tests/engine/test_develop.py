"""What may be done to light before and after the lens."""

import math

import numpy as np
import pytest

from render.engine.develop import add_grain, fall_off, lift_highlights
from render.engine.photograph import Photograph, photograph
from render.errors import SettingError
from render.optics.camera import Camera
from render.optics.lens import FocusDistance, LensSetting
from render.scene.scene import Scene

SETTING = LensSetting(focal_mm=45, f_number=2.8, focus=FocusDistance(10.0))


def _scene(picture: np.ndarray) -> Scene:
    height, width = picture.shape[:2]
    depth_m = np.full((height, width), 10.0, np.float32)
    return Scene(picture.astype(np.float32), depth_m, Camera(width, height, 100.0))


def _shot(light: float = 0.5) -> Photograph:
    return photograph(_scene(np.full((60, 80, 3), light)), SETTING)


def test_small_clipped_spots_get_more_light_and_a_white_sky_does_not() -> None:
    """Three stops are eight times the light, for the lamp alone; the rest keeps its bytes."""
    picture = np.full((120, 160, 3), 0.3, np.float32)
    picture[:30] = 1.0
    picture[80:82, 50:52] = (1.0, 0.9, 0.4)
    lifted = lift_highlights(picture, 3.0)

    np.testing.assert_allclose(lifted[80:82, 50:52], 8 * picture[80:82, 50:52])
    lifted = lifted.copy()
    lifted[80:82, 50:52] = picture[80:82, 50:52]
    np.testing.assert_array_equal(lifted, picture)


def test_no_stops_change_nothing() -> None:
    """Lifting by 0 stops is the scene itself."""
    picture = np.random.default_rng(1).uniform(0, 1, (20, 30, 3)).astype(np.float32)

    np.testing.assert_array_equal(lift_highlights(picture, 0.0), picture)


def test_fall_off_is_the_cosine_to_the_fourth() -> None:
    """Without tilt: cos^4 of the angle off the axis (textbooks)."""
    light = fall_off(_shot()).light[:, :, 0]

    for row, column in ((0, 0), (10, 70), (30, 40)):
        angle = math.atan(math.hypot(column + 0.5 - 40, row + 0.5 - 30) / 100.0)
        assert light[row, column] == pytest.approx(0.5 * math.cos(angle) ** 4, rel=1e-5)


def test_grain_is_seeded_and_grows_with_the_root_of_light() -> None:
    """Same seed, same bytes; four times the light, twice the grain; the mean stays."""
    once, again = add_grain(_shot(), 0.02, 7), add_grain(_shot(), 0.02, 7)
    other, dark = add_grain(_shot(), 0.02, 8), add_grain(_shot(0.125), 0.02, 7)

    assert once.light.tobytes() == again.light.tobytes() != other.light.tobytes()
    assert once.light.std() == pytest.approx(2 * dark.light.std(), rel=0.02)
    assert once.light.mean() == pytest.approx(0.5, abs=1e-3)


@pytest.mark.parametrize("value", [-1.0, 11.0, math.nan])
def test_wishes_out_of_range_are_refused(value: float) -> None:
    """With the range in the sentence."""
    with pytest.raises(SettingError, match="0 to 10 stops"):
        lift_highlights(np.ones((4, 4, 3), np.float32), value)
    if not value > 0:
        with pytest.raises(SettingError, match="0 or more"):
            add_grain(_shot(), value, 1)


def test_specks_of_a_bright_sky_are_not_lamps():
    """The same clipped speck is lifted on a dark wall and left alone in a pale sky."""
    picture = np.full((200, 300, 3), 0.8, np.float32)
    picture[:, 150:] = 0.1
    picture[100:102, 60:62] = picture[100:102, 240:242] = 1.0
    lifted = lift_highlights(picture, 3.0)

    assert np.all(lifted[100:102, 240:242] == 8.0)
    assert np.all(lifted[100:102, 60:62] == 1.0)
    assert lifted.sum() == pytest.approx(picture.sum() + 2 * 2 * 3 * 7.0, rel=1e-5)
