"""What may be done to light behind the lens."""

import math

import numpy as np
import pytest

from render.engine.develop import add_grain, fall_off
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


@pytest.mark.parametrize("value", [-1.0, math.nan])
def test_wishes_out_of_range_are_refused(value: float) -> None:
    """With the range in the sentence."""
    with pytest.raises(SettingError, match="0 or more"):
        add_grain(_shot(), value, 1)
