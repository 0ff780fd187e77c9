"""The laws that every photograph keeps, and photographs traced ray by ray."""

import math

import numba
import numpy as np
import pytest
from scipy import signal

from render.engine.photograph import photograph
from render.engine.quality import FINAL, PREVIEW
from render.optics.blur import blur_field, spots
from render.optics.camera import Camera, Window
from render.optics.lens import FocusDistance, Iris, LensSetting
from render.optics.plane import focus_lens
from render.scene.scene import Scene
from tests.engine import rays

OPEN = LensSetting(focal_mm=180, f_number=2.0, focus=FocusDistance(7.0))
TILTED = LensSetting(
    focal_mm=180, f_number=2.0, focus=FocusDistance(4.0), tilt_deg=-6.0, swing_deg=2.0
)


def noise(height: int, width: int, seed: int = 1) -> np.ndarray:
    return np.random.default_rng(seed).uniform(0, 1, (height, width, 3)).astype(np.float32)


def flat_scene(picture: np.ndarray, depth_m: float, focal_px: float = 640.0) -> Scene:
    height, width = picture.shape[:2]
    depth = np.full((height, width), depth_m, np.float32)
    return Scene(picture, depth, Camera(width, height, focal_px))


def dot(setting: LensSetting, depth_m: float, row: int = 60, column: int = 130) -> np.ndarray:
    """A lone bright pixel on black, through the lens."""
    picture = np.zeros((121, 161, 3), np.float32)
    picture[row, column] = 100.0
    return photograph(flat_scene(picture, depth_m), setting).light[..., 0].astype(float)


def moments(image: np.ndarray) -> tuple[float, float, np.ndarray]:
    """Centre (x, y) and second moments about it, px."""
    y, x = np.indices(image.shape) + 0.5
    total = image.sum()
    cx, cy = (image * x).sum() / total, (image * y).sum() / total
    xx, xy, yy = (
        ((image * a * b).sum() / total)
        for a, b in ((x - cx, x - cx), (x - cx, y - cy), (y - cy, y - cy))
    )
    return cx, cy, np.array([[xx, xy], [xy, yy]])


@pytest.mark.parametrize("tilt_deg", [0.0, -8.0])
def test_a_constant_picture_stays_constant(tilt_deg):
    """One colour everywhere stays that colour, whatever the depth does."""
    rng = np.random.default_rng(1)
    depth_m = rng.choice(np.array([2.0, 5.0, 60.0, np.inf], np.float32), (61, 83))
    picture = np.full((61, 83, 3), (0.7, 0.2, 0.4), np.float32)
    scene = Scene(picture, depth_m, Camera(83, 61, 120.0))
    setting = LensSetting(focal_mm=90, f_number=2.8, focus=FocusDistance(5.0), tilt_deg=tilt_deg)

    light = photograph(scene, setting).light

    np.testing.assert_allclose(light, picture, rtol=2e-4)


@pytest.mark.parametrize("setting", [OPEN, TILTED])
def test_light_is_neither_made_nor_lost(setting):
    """Away from the borders all light of a bright patch arrives, spread."""
    picture = np.zeros((151, 161, 3), np.float32)
    picture[60:90, 70:95] = noise(30, 25)

    light = photograph(flat_scene(picture, 4.5), setting).light

    assert light.sum(dtype=float) == pytest.approx(picture.sum(dtype=float), rel=2e-3)


def test_what_is_in_focus_stays_untouched():
    """On the plane of sharp focus the photograph is the picture."""
    picture = noise(40, 50)

    light = photograph(flat_scene(picture, 7.0), OPEN).light

    np.testing.assert_allclose(light, picture, atol=2e-4)


def test_a_mirrored_scene_gives_the_mirrored_photograph():
    """Left and right swapped, with the swing turned round, nothing else changes."""
    picture, rng = noise(64, 96), np.random.default_rng(3)
    depth_m = np.repeat(np.repeat(rng.uniform(2, 30, (4, 6)), 16, 0), 16, 1).astype(np.float32)
    camera = Camera(96, 64, 640.0)
    other = LensSetting(
        focal_mm=180, f_number=2.0, focus=FocusDistance(4.0), tilt_deg=-6.0, swing_deg=-2.0
    )

    light = photograph(Scene(picture, depth_m, camera), TILTED).light
    mirrored = photograph(Scene(picture[:, ::-1], depth_m[:, ::-1], camera), other).light

    np.testing.assert_allclose(mirrored[:, ::-1], light, atol=2e-3)


@pytest.mark.parametrize("depth_m", [5.5, 3.5, 1.9])
def test_uniform_blur_is_the_convolution_by_a_disc(depth_m):
    """At one depth without tilt the picture is convolved by the textbook circle's disc.

    Blur's diameter: f^2 |z - s| / (N z (s - f)) (Potmesil & Chakravarty 1981, from memory).
    The disc is drawn with 16 x 16 points to a pixel and loses the box that a pixel already has.
    """
    picture = signal.convolve(noise(200, 220), np.full((5, 5, 1), 1 / 25), mode="same")
    f, n, s = 0.18, 2.0, 7.0
    extension = f * s / (s - f)
    radius_px = f * f * abs(depth_m - s) / (n * depth_m * (s - f)) / 2 * 640.0 / extension
    reach = math.ceil(radius_px) + 1
    fine = (np.arange(16 * (2 * reach + 1)) + 0.5) / 16 - reach - 0.5
    shrunk = radius_px * radius_px - 1 / 3
    disc = (fine[:, None] ** 2 + fine[None, :] ** 2 <= shrunk).astype(float)
    disc = disc.reshape(2 * reach + 1, 16, 2 * reach + 1, 16).sum((1, 3))
    disc /= disc.sum()

    light = photograph(flat_scene(picture.astype(np.float32), depth_m), OPEN).light

    wanted = np.stack(
        [signal.fftconvolve(picture[..., c], disc, mode="same") for c in range(3)], -1
    )
    inner = slice(reach + 2, -reach - 2)
    assert np.abs(light - wanted)[inner, inner].max() < 0.006


@pytest.mark.parametrize("setting", [OPEN, TILTED])
@pytest.mark.parametrize("depth_m", [2.2, 3.1, 60.0])
def test_a_lone_dot_opens_into_the_exact_ellipse(setting, depth_m):
    """Centre and axes of the optics' own ellipse, within a tenth of a pixel."""
    lens, camera = focus_lens(setting), Camera(161, 121, 640.0)
    spot = spots(lens, camera.slopes(130.5, 60.5), 1 / depth_m)
    px_per_mm = 640.0 / lens.extension_mm
    wanted = spot.matrix_mm @ spot.matrix_mm.T * px_per_mm**2 / 4
    ox, oy = spot.offset_mm * px_per_mm

    cx, cy, second = moments(dot(setting, depth_m))

    assert (cx, cy) == pytest.approx((130.5 + ox, 60.5 + oy), abs=0.1)
    axes, turned = np.linalg.eigh(second)
    np.testing.assert_allclose(np.sqrt(axes), np.sqrt(np.linalg.eigvalsh(wanted)), atol=0.05)
    if setting is TILTED:
        np.testing.assert_allclose(turned @ np.diag(axes) @ turned.T, wanted, atol=0.1)


@pytest.mark.parametrize("blades", [5, 6, 7])
@pytest.mark.parametrize("depth_m", [2.2, 60.0])
def test_an_odd_iris_lies_as_traced_rays_say(blades, depth_m):
    """The bladed dot has the shape that rays through the iris draw, mirrored beyond the focus."""
    setting = LensSetting(
        focal_mm=180,
        f_number=1.0,
        focus=FocusDistance(4.0),
        tilt_deg=-6.0,
        swing_deg=2.0,
        iris=Iris(blades, 20.0),
    )
    lens, camera = focus_lens(setting), Camera(161, 121, 640.0)
    aim = np.append(camera.slopes(130.5, 60.5), 1.0) * depth_m
    f, n = setting.focal_mm / 1000, np.array(lens.axis)
    image = -aim * f / (aim @ n - f)
    start = rays.iris_points(setting.iris, lens, 60_000)
    v = lens.extension_mm / 1000
    along = (-v - start[:, 2]) / (image[2] - start[:, 2])
    landed = -(start + along[:, None] * (image - start))[:, :2] * 640.0 / v
    drawn, _, _ = np.histogram2d(
        landed[:, 1] + 60.5, landed[:, 0] + 80.5, bins=(np.arange(122), np.arange(162))
    )
    light = dot(setting, depth_m)
    other = dot(
        LensSetting(
            focal_mm=180,
            f_number=1.0,
            focus=FocusDistance(4.0),
            tilt_deg=-6.0,
            swing_deg=2.0,
            iris=Iris(blades, 200.0),
        ),
        depth_m,
    )

    def apart(image: np.ndarray) -> float:
        return float(np.abs(image / image.sum() - drawn / drawn.sum()).sum())

    assert apart(light) < 0.12
    if blades % 2:
        assert apart(other) > 2 * apart(light)


@pytest.mark.parametrize("quality", [FINAL, PREVIEW])
def test_threads_cannot_change_a_byte(quality):
    """One thread and all of them give the same bytes, run after run."""
    rng = np.random.default_rng(4)
    depth_m = np.repeat(np.repeat(rng.uniform(2, 30, (12, 20)), 25, 0), 25, 1).astype(np.float32)
    scene = Scene(noise(300, 500), depth_m, Camera(500, 300, 640.0))
    most = numba.config.NUMBA_NUM_THREADS
    results = []
    for threads in (1, most, most):
        numba.set_num_threads(threads)
        results.append(photograph(scene, TILTED, quality=quality).light.tobytes())
    numba.set_num_threads(most)

    assert results[0] == results[1] == results[2]


def _awkward() -> dict[str, Scene]:
    sky = np.full((9, 11), np.inf, np.float32)
    near = np.full((9, 11), 0.3, np.float32)
    return {
        "all sky": Scene(noise(9, 11), sky, Camera(11, 9, 640.0)),
        "one pixel": Scene(noise(1, 1), sky[:1, :1], Camera(1, 1, 640.0)),
        "one row": Scene(noise(1, 11), near[:1], Camera(11, 1, 640.0)),
        "one column": Scene(noise(9, 1), near[:, :1], Camera(1, 9, 640.0)),
        "blur far larger than the picture": Scene(noise(9, 11), near, Camera(11, 9, 9000.0)),
        "a frame of one pixel": Scene(noise(9, 11), near, Camera(11, 9, 640.0), Window(5, 4, 1, 1)),
        "light beyond all measure": Scene(1e6 * noise(9, 11), near, Camera(11, 9, 640.0)),
    }


@pytest.mark.parametrize("name", list(_awkward()))
@pytest.mark.parametrize("blades", [0, 5])
def test_awkward_scenes_come_through(name, blades):
    """Light stays finite and between the picture's darkest and brightest."""
    scene = _awkward()[name]
    setting = LensSetting(
        focal_mm=90, f_number=2.0, focus=FocusDistance(4.0), tilt_deg=-6.0, iris=Iris(blades)
    )

    light = photograph(scene, setting).light

    assert light.shape == (scene.frame.height, scene.frame.width, 3)
    assert np.all(light >= 0)
    assert np.all(light <= 1.01 * scene.picture.max())


@pytest.fixture(scope="module")
def cards() -> Scene:
    """Posts, a rail and a sign before a wall, with a margin and with what lies behind."""
    window = Window(24, 24, 144, 96)
    return rays.pinhole_scene(Camera(192, 144, 400.0), window=window, behind=True)


@pytest.mark.parametrize(("blades", "setting"), [(0, TILTED), (5, OPEN), (7, TILTED)])
def test_photographs_are_as_true_as_traced_light(cards, blades, setting):
    """Against rays: blind, with a margin, with margin and second surface, each better."""
    iris = Iris(blades, 20.0)
    setting = LensSetting(
        focal_mm=setting.focal_mm,
        f_number=1.4,
        focus=setting.focus,
        tilt_deg=setting.tilt_deg,
        swing_deg=setting.swing_deg,
        iris=iris,
    )
    rows, columns = cards.frame.rows, cards.frame.columns
    blind = Scene(cards.picture[rows, columns], cards.depth_m[rows, columns], cards.frame_camera)
    beside = Scene(cards.picture, cards.depth_m, cards.camera, cards.window)
    truth = rays.traced_photograph(cards.frame_camera, setting, 200)

    blind_db, beside_db, known_db = (
        rays.psnr(photograph(scene, setting).light, truth) for scene in (blind, beside, cards)
    )

    assert blind_db > 44.0
    assert beside_db >= blind_db
    assert known_db > max(beside_db, 47.0)


def test_preview_is_close_to_final(cards):
    """PREVIEW is at most a little softer."""
    final, preview = (photograph(cards, TILTED, quality=q).light for q in (FINAL, PREVIEW))

    assert rays.psnr(preview, final) > 40


def test_the_sign_of_defocus_orders_near_before_far(cards):
    """Signed defocus is above 0 in front of the plane of sharp focus: what bins are sorted by."""
    field = blur_field(focus_lens(OPEN), cards.camera, cards.depth_m)

    assert np.all(field.defocus[cards.depth_m < 6.9] > 0)
    assert np.all(field.defocus[cards.depth_m > 7.1] < 0)
