"""Cat's-eyes towards the corners, against rays that pass iris and rim."""

from dataclasses import replace

import numpy as np
import pytest

from render.engine.develop import fall_off
from render.engine.photograph import photograph
from render.optics.camera import Camera, Window
from render.optics.lens import CatsEye, FocusDistance, Iris, LensSetting
from render.optics.plane import focus_lens
from render.scene.scene import Scene
from tests.engine import rays

EYE = CatsEye(light_left=0.45, corner_mm=21.6, widest_f_number=1.4)
OPEN = LensSetting(focal_mm=60, f_number=1.4, focus=FocusDistance(4.0), cats_eye=EYE)
TILTED = replace(OPEN, tilt_deg=-6.0, swing_deg=2.0)
#: Right of and below the foot of the straight axis.
CORNER = Camera(161, 121, 2400.0, -560.0, -330.0)
ROW, COLUMN = 60, 90


def _dot(setting: LensSetting, depth_m: float) -> np.ndarray:
    picture = np.zeros((121, 161, 3), np.float32)
    picture[ROW, COLUMN] = 100.0
    depth = np.full((121, 161), depth_m, np.float32)
    return photograph(Scene(picture, depth, CORNER), setting).light[..., 0].astype(float)


def _landed(setting: LensSetting, depth_m: float) -> np.ndarray:
    """Where rays from that pixel through iris and rim meet the picture, px."""
    lens = focus_lens(setting)
    aim = np.append(CORNER.slopes(COLUMN + 0.5, ROW + 0.5), 1.0) * depth_m
    start = rays.iris_points(setting.iris, lens, 60_000)
    start = start[rays.passes_rim(lens, start, aim - start)]
    f, v, n = setting.focal_mm / 1000, lens.extension_mm / 1000, np.array(lens.axis)
    image = -aim * f / (aim @ n - f)
    along = (-v - start[:, 2]) / (image[2] - start[:, 2])
    landed = -(start + along[:, None] * (image - start))[:, :2]
    return landed * CORNER.focal_px / v + (CORNER.centre_x_px, CORNER.centre_y_px)


SWUNG = replace(OPEN, swing_deg=5.0)


@pytest.mark.parametrize("setting", [OPEN, TILTED, SWUNG, replace(OPEN, f_number=2.0)])
@pytest.mark.parametrize("blades", [0, 5])
@pytest.mark.parametrize("depth_m", [2.5, 60.0])
def test_a_dot_opens_into_the_eye_that_rays_draw(
    setting: LensSetting, blades: int, depth_m: float
) -> None:
    """Centre and axes within a tenth of a pixel, before and behind the plane of sharp focus."""
    setting = replace(setting, iris=Iris(blades, 20.0))
    landed, light = _landed(setting, depth_m), _dot(setting, depth_m)
    y, x = np.indices(light.shape) + 0.5
    centre = np.array([(light * x).sum(), (light * y).sum()]) / light.sum()
    dx, dy = x - centre[0], y - centre[1]
    second = np.array([[(light * a * b).sum() / light.sum() for a in (dx, dy)] for b in (dx, dy)])
    wanted = np.cov(landed.T)

    np.testing.assert_allclose(centre, landed.mean(axis=0), atol=0.1)
    np.testing.assert_allclose(
        np.sqrt(np.linalg.eigvalsh(second)), np.sqrt(np.linalg.eigvalsh(wanted)), atol=0.1
    )
    plain = np.cov(_landed(replace(setting, cats_eye=None), depth_m).T)
    assert np.linalg.det(wanted) < 0.8 * np.linalg.det(plain)  # the eye is really cut


def test_the_cut_side_flips_with_the_side_of_focus() -> None:
    """Before the plane of sharp focus light leans outwards, behind it inwards."""
    outwards = np.array([COLUMN + 560.0, ROW + 330.0])
    near, far = (
        (_landed(OPEN, depth_m).mean(axis=0) - (COLUMN + 0.5, ROW + 0.5)) @ outwards
        for depth_m in (3.0, 60.0)
    )
    drawn = []
    for depth_m in (3.0, 60.0):
        light = _dot(OPEN, depth_m)
        y, x = np.indices(light.shape) + 0.5
        centre = np.array([(light * x).sum(), (light * y).sum()]) / light.sum()
        drawn.append((centre - (COLUMN + 0.5, ROW + 0.5)) @ outwards)

    assert near > 0 > far
    assert drawn[0] > 0 > drawn[1]


def test_stopped_down_the_rim_changes_no_byte() -> None:
    """Where the iris lies inside the rim for the whole frame, it is the plain photograph."""
    setting = replace(OPEN, f_number=16.0)

    with_rim, without = _dot(setting, 1.0), _dot(replace(setting, cats_eye=None), 1.0)

    assert with_rim.tobytes() == without.tobytes()


def test_light_is_kept_unless_it_is_asked_to_fall_off() -> None:
    """A grey wall stays grey; with fall-off the corner has the stated share of the plain lens'."""
    camera = Camera(120, 80, 200.0)
    wall = Scene(np.full((80, 120, 3), 0.5, np.float32), np.full((80, 120), 9.0), camera)
    half_mm = np.hypot(60 - 0.5, 40 - 0.5) / 200 * 60
    setting = replace(OPEN, cats_eye=replace(EYE, corner_mm=float(half_mm)))

    kept = photograph(wall, setting)
    cut = fall_off(kept).light
    plain = fall_off(photograph(wall, replace(OPEN, cats_eye=None))).light

    np.testing.assert_allclose(kept.light, 0.5, atol=2e-4)
    assert cut[0, 0, 0] / plain[0, 0, 0] == pytest.approx(EYE.light_left, abs=2e-3)
    assert cut[40, 60, 0] == pytest.approx(plain[40, 60, 0], rel=0.01)


@pytest.mark.parametrize(("blades", "setting"), [(0, OPEN), (5, TILTED)])
def test_cards_in_a_corner_are_as_true_as_traced_light(blades: int, setting: LensSetting) -> None:
    """Photographs through iris and rim; without the rim they are clearly worse."""
    window = Window(24, 24, 120, 80)
    scene = rays.pinhole_scene(Camera(168, 128, 400.0, 40.0, 20.0), window=window, behind=True)
    setting = replace(
        setting,
        focal_mm=180,
        focus=FocusDistance(7.0 if blades == 0 else 4.0),
        iris=Iris(blades, 20.0),
        cats_eye=replace(EYE, corner_mm=60.0),
    )
    truth = rays.traced_photograph(scene.frame_camera, setting, 300)

    eye_db, plain_db = (
        rays.psnr(photograph(scene, one).light, truth)
        for one in (setting, replace(setting, cats_eye=None))
    )

    assert eye_db > 45.0
    assert eye_db > plain_db + 3
