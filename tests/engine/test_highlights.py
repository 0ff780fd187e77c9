"""Lamps of a picture that clips, and what is none."""

import math

import numpy as np
import pytest

from render.engine.highlights import lift_highlights, where_blurred
from render.engine.photograph import photograph
from render.errors import SettingError
from render.optics.camera import Camera
from render.optics.lens import FocusDistance, LensSetting
from render.scene.colour import SRGB
from render.scene.field import scene_field
from render.scene.scene import Scene

SETTING = LensSetting(focal_mm=45, f_number=2.8, focus=FocusDistance(10.0))


def _wall(light: float = 0.1) -> np.ndarray:
    return np.full((200, 300, 3), light, np.float32)


def test_a_lamp_gets_the_light_and_the_hue_of_its_rim() -> None:
    """Three stops: 8 times full light in red; a mixed rim pixel holds lamp less wall: its hue."""
    picture = _wall()
    lamp = np.array([8.0, 5.0, 2.0], np.float32)
    picture[99:103, 99:103] = np.minimum(1, 0.9 * picture[99:103, 99:103] + 0.1 * lamp)
    picture[100:102, 100:102] = 1.0
    lifted = lift_highlights(picture, 3.0)

    hue = (lamp - 0.1) / 7.9
    np.testing.assert_allclose(lifted[100:102, 100:102] / (8.0 * hue), 1.0, rtol=1e-5)
    lifted = lifted.copy()
    lifted[100:102, 100:102] = 1.0
    np.testing.assert_array_equal(lifted, picture)


def test_what_clips_in_one_channel_or_is_large_or_long_stays() -> None:
    """A roof tile in the sun, a sunlit ledge, a white wall: their bytes stay."""
    picture = _wall()
    picture[20:22, 20:22] = (1.0, 0.9, 0.4)
    picture[60:62, 20:90] = 1.0
    picture[100:150, 100:150] = 1.0

    assert lift_highlights(picture, 3.0) is picture


def test_specks_among_sunlit_things_are_not_lamps() -> None:
    """The same clipped speck is lifted on a dark wall, and left alone where a fifth is sunlit."""
    picture = _wall(0.3)
    picture[:, 150:] = 0.1
    picture[::5, :150] = 0.7
    picture[102:104, 60:62] = picture[102:104, 270:272] = 1.0
    lifted = lift_highlights(picture, 3.0)

    assert np.all(lifted[102:104, 270:272] == 8.0)
    assert np.all(lifted[102:104, 60:62] == 1.0)


@pytest.mark.parametrize("power", [1.5, 2.5, 4.0])
def test_a_speck_is_lifted_as_far_as_the_other_bright_ones_make_likely(power: float) -> None:
    """Peaks that thin out as a power of brightness: those that clip are a / (a - 1) on average."""
    picture = np.full((600, 900, 3), 0.05, np.float32)
    count = 149 * 99
    peaks = 0.5 * (1 - (np.arange(count) + 0.5) / count) ** (-1 / power)
    light = np.random.default_rng(2).permutation(peaks).astype(np.float32)
    picture[6:600:6, 6:900:6] = np.minimum(light.reshape(99, 149, 1), 1.0)
    lifted = lift_highlights(picture, 3.0)

    given = lifted[(picture == 1.0) & (lifted > 1.0)]
    assert given.max() == pytest.approx(power / (power - 1), rel=0.05)


def test_of_a_thousand_bright_specks_the_one_that_clips_is_no_lamp() -> None:
    """White things in the sun: the same clipped speck alone is lifted in full."""
    picture = _wall()
    picture[6:200:4, 6:300:4] = 0.7
    picture[102, 42] = 1.0
    alone = np.where(picture == 1.0, picture, _wall())

    assert lift_highlights(picture, 3.0)[102, 42].max() < 1.2
    assert lift_highlights(alone, 3.0)[102, 42].max() == 8.0


def test_no_stops_change_nothing() -> None:
    """Lifting by 0 stops is the picture itself."""
    picture = np.random.default_rng(1).uniform(0, 1, (20, 30, 3)).astype(np.float32)

    assert lift_highlights(picture, 0.0) is picture


@pytest.mark.parametrize("value", [-1.0, 11.0, math.nan])
def test_stops_out_of_range_are_refused(value: float) -> None:
    """With the range in the sentence."""
    with pytest.raises(SettingError, match="0 to 10 stops"):
        lift_highlights(np.ones((4, 4, 3), np.float32), value)


def test_in_focus_a_lamp_stays_as_it_was_recorded() -> None:
    """Of two equal lamps the sharp one keeps its bytes, the blurred one is lifted in full."""
    picture = _wall()
    picture[100:102, 40:42] = picture[100:102, 240:242] = 1.0
    depth_m = np.full((200, 300), 10.0, np.float32)
    depth_m[:, 150:] = 3.0
    scene = Scene(picture, depth_m, Camera(300, 200, 300.0))
    field = scene_field(scene, SETTING)
    mixed = where_blurred(picture, lift_highlights(picture, 3.0), field, scene.frame)

    assert np.all(mixed[100:102, 240:242] == 8.0)
    np.testing.assert_array_equal(mixed[:, :150], picture[:, :150])


def test_an_evening_taken_in_8_bits_comes_nearer_to_its_light() -> None:
    """Lamps 2 to 4 stops above white, clipped and lifted by 3: two thirds of the error at most."""
    rng = np.random.default_rng(3)
    picture = rng.uniform(0.03, 0.12, (200, 300, 3)).astype(np.float32)
    for _ in range(60):
        row, column = rng.integers(8, 190), rng.integers(8, 290)
        lamp = 2 ** rng.uniform(2, 4) * np.array([1.0, 0.65, 0.3], np.float32)
        part = picture[row : row + 4, column : column + 4]
        part += 0.12 * (lamp - part)
        picture[row + 1 : row + 3, column + 1 : column + 3] = lamp
    scene = Scene(picture, np.full((200, 300), 4.0, np.float32), Camera(300, 200, 300.0))
    clipped = SRGB.light(SRGB.codes(np.minimum(picture, 1), 8)).astype(np.float32)

    def error(light: np.ndarray) -> float:
        taken = Scene(light, scene.depth_m, scene.camera)
        codes = [SRGB.codes(photograph(s, SETTING).light, 8).astype(float) for s in (scene, taken)]
        return float(np.mean((codes[0] - codes[1]) ** 2))

    assert error(lift_highlights(clipped, 3.0)) < error(clipped) * 2 / 3
