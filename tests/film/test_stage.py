"""Frames from their moments."""

from collections.abc import Iterator
from dataclasses import replace
from fractions import Fraction

import numpy as np
import pytest
from scipy import ndimage

from render.engine.held import hold_lens
from render.engine.photograph import photograph
from render.film.ramps import Ramps, ramps_of, setting_at
from render.film.stage import PictureStage, SceneStage, straight
from render.film.timing import Moment
from render.optics.camera import Camera, Window
from render.optics.lens import FocusDistance, FocusSpot, LensSetting
from render.scene.scene import Scene
from render.shot.keyframes import KeyFrame
from tests.engine import rays

SETTING = LensSetting(focal_mm=90, f_number=2.0, focus=FocusDistance(6.0), tilt_deg=-5.0)
STILL = Ramps({})


def _lights() -> list[np.ndarray]:
    rng = np.random.default_rng(3)
    return [rng.uniform(0, 1, (40, 60, 3)).astype(np.float32) for _ in range(4)]


def _scene(light: np.ndarray, depth_m: float = 9.0) -> Scene:
    depth = np.full(light.shape[:2], depth_m, np.float32)
    depth[15:30, 20:40] = 3.0
    return Scene(light, depth, Camera(60, 40, 200.0))


def _stage(lights: list[np.ndarray], **more: object) -> PictureStage:
    def read(start: int, stop: int) -> Iterator[np.ndarray]:
        yield from lights[start:stop]

    return PictureStage(_scene(lights[0]), SETTING, STILL, read, **more)  # type: ignore[arg-type]


def _moment(*picks: int, at: int = 0) -> Moment:
    return Moment(Fraction(at), Fraction(at), picks)


def test_a_frame_is_the_photograph_of_its_light() -> None:
    """A pick gives that frame's photograph, several the photograph of their mean; gains hold."""
    lights = _lights()
    stage = _stage(lights, gains=(1.0, 0.5))

    for number, picks, light in (
        (0, (2,), lights[2]),
        (1, (1, 2, 3), 0.5 * np.mean(lights[1:], 0)),
    ):
        moment = _moment(*picks)
        got = stage.taken(stage.seen(moment, number), moment)
        want = photograph(_scene(light.astype(np.float32)), SETTING).light
        np.testing.assert_allclose(got, want, atol=2e-6)


def test_side_by_side_shows_the_straight_lens_first() -> None:
    """Left the lens without tilt, right as it is set."""
    lights = _lights()
    stage = _stage(lights, side_by_side=True)
    got = stage.taken(stage.seen(_moment(0), 0), _moment(0))

    np.testing.assert_array_equal(
        got[:, :60], photograph(_scene(lights[0]), straight(SETTING)).light
    )
    np.testing.assert_array_equal(got[:, 60:], photograph(_scene(lights[0]), SETTING).light)


def test_a_lens_that_moves_is_set_anew_for_every_frame() -> None:
    """Between key frames each frame has its own setting."""
    lights = _lights()
    keys = [KeyFrame(0.0, (("tilt", "0"),)), KeyFrame(2.0, (("tilt", "up 6"),))]
    ramps = ramps_of(keys, lambda wish: wish, SETTING)  # type: ignore[arg-type, return-value]
    stage = _stage(lights)
    stage.ramps = ramps
    moment = _moment(0, at=1)

    got = stage.taken(stage.seen(moment, 0), moment)
    want = photograph(_scene(lights[0]), setting_at(SETTING, ramps, 1.0)).light
    np.testing.assert_array_equal(got, want)


def test_a_scene_is_asked_for_its_moments() -> None:
    """An exposure is the mean of photographs over its time; focus may follow something."""
    light = _lights()[0]
    asked: list[float] = []

    def scene_at(seconds: float, height_m: float | None) -> Scene:
        asked.append(seconds)
        return _scene(light, 9.0 + seconds)

    stage = SceneStage(scene_at, SETTING, STILL, open_s=0.8)
    got = stage.taken(stage.seen(_moment(at=2), 0), _moment(at=2))
    want = np.mean([photograph(_scene(light, 9.0 + s), SETTING).light for s in asked], axis=0)

    assert np.allclose(asked, 2.05 + 0.1 * np.arange(8))
    np.testing.assert_allclose(got, want, atol=1e-6)

    spot = FocusSpot(0.0, 0.0, 3.0)
    followed = SceneStage(scene_at, SETTING, STILL, spot_at=lambda s, h: spot)
    got = followed.taken(followed.seen(_moment(at=0), 0), _moment(at=0))
    want = photograph(
        _scene(light), LensSetting(focal_mm=90, f_number=2.0, focus=spot, tilt_deg=-5)
    )
    np.testing.assert_array_equal(got, want.light)


def test_no_flicker_that_the_source_does_not_have() -> None:
    """Noise in time is at most the source's, and that of the source under one constant kernel.

    The kernel is a Gaussian with the second moment of the blur's disc (sigma = radius / 2); at
    depth edges, where parting pixels is no linear sum, a seventh more is allowed.
    """
    rng = np.random.default_rng(1)
    still = ndimage.gaussian_filter(rng.uniform(0, 1, (120, 180, 3)), (1, 1, 0))
    still = (0.1 + 0.8 * (still - still.min()) / np.ptp(still)).astype(np.float32)
    depth = np.full((120, 180), 12.0, np.float32)
    depth[30:90, 40:120] = 5.0
    setting = LensSetting(focal_mm=60, f_number=2.0, focus=FocusDistance(12.0), tilt_deg=-2)
    held = hold_lens(Scene(still, depth, Camera(180, 120, 500.0)), setting)
    source = np.array([still + rng.normal(0, 0.01, still.shape) for _ in range(16)])
    source = np.maximum(source, 0).astype(np.float32)
    film = np.array([held.photograph(frame).light for frame in source])
    radius = np.abs(held.field.radius_px())
    edges = ndimage.binary_dilation(held.edges.flags > 0, iterations=4)

    for place in (edges, ~edges):
        for low, high in ((0.5, 1.0), (1.0, 2.0), (2.0, 4.0)):
            here = place & (radius >= low) & (radius < high)
            if np.count_nonzero(here) < 300:
                continue
            sigma = float(np.median(radius[here])) / 2
            steady = ndimage.gaussian_filter(source, (0, sigma, sigma, 0))
            in_time = [np.sqrt((each.std(0)[here] ** 2).mean()) for each in (film, steady, source)]
            assert in_time[0] <= 1.15 * in_time[1]
            assert in_time[0] <= in_time[2]


def test_a_moving_thing_is_filmed_as_light_makes_it(monkeypatch: pytest.MonkeyPatch) -> None:
    """A sign that moves by a third of a metre while the shutter is open, through a tilted lens.

    Truth: rays through the iris, each at its own moment of the exposure, by the tests' own tracer.
    Frozen in the middle of the exposure it would be far off.
    """
    setting = LensSetting(
        focal_mm=180, f_number=1.4, focus=FocusDistance(4.0), tilt_deg=-6.0, swing_deg=2.0
    )
    camera, window = Camera(128, 96, 267.0), Window(16, 16, 96, 64)
    still = rays.CARDS

    def move(seconds: float) -> None:
        moved = replace(still[3], left=still[3].left + 0.42 * seconds,
                        right=still[3].right + 0.42 * seconds)  # fmt: skip
        monkeypatch.setattr(rays, "CARDS", (*still[:3], moved, *still[4:]))

    def scene_at(seconds: float, height_m: float | None) -> Scene:
        move(seconds)
        return rays.pinhole_scene(camera, window=window, behind=True)

    truth = np.zeros((64, 96, 3))
    for k in range(12):
        move((k + 0.5) / 12 * 0.8)
        truth += rays.traced_photograph(camera.cropped(window), setting, 24) / 12
    stage = SceneStage(scene_at, setting, STILL, open_s=0.8)
    filmed = stage.taken(stage.seen(_moment(at=0), 0), _moment(at=0))
    frozen = photograph(scene_at(0.4, None), setting).light

    assert rays.psnr(filmed, truth) > 44.0
    assert rays.psnr(frozen, truth) < rays.psnr(filmed, truth) - 3
