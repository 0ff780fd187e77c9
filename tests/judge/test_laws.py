"""Laws that the judgement keeps on any stand: the battery of tests/bench in small."""

import dataclasses
from itertools import pairwise, product

import numpy as np
import pytest
from scipy import ndimage

from render.judge.case import assess, look
from render.judge.score import Word
from render.judge.verdict import judge
from render.optics.camera import Camera, Sensor, Vantage
from render.optics.lens import FocusSpot, LensSetting
from render.scene.scene import Scene

STOPS = (2.8, 5.6, 8.0, 11.0, 16.0)


def town(roof, front, **more):
    """A roof over low fronts, textured alike at any size."""
    here = roof(**more)
    fronts = [
        front(k * here.foot_m, 0.15 * here.height_m, x * here.foot_m, (x + 0.08) * here.foot_m)
        for k, x in ((0.8, -0.12), (1.0, 0.02), (1.0, -0.2), (1.25, 0.1), (1.5, -0.05))
    ]
    cells = np.random.default_rng(1).random((60, 90, 3))
    rows, columns = here.size_px[1], here.size_px[0]
    picture = cells[np.ix_(np.arange(rows) * 60 // rows, np.arange(columns) * 90 // columns)]
    return here, here.scene(fronts, picture=picture.astype(np.float32))


STANDS = (
    {},
    {"height_m": 6.0, "pitch_deg": 30.0, "focal_mm": 45.0},
    {"height_m": 60.0, "pitch_deg": 12.0, "focal_mm": 135.0},
    {"height_m": 200.0, "pitch_deg": 40.0, "focal_mm": 35.0},
)


@pytest.mark.parametrize("stand", STANDS)
def test_stopping_down_never_raises_it_once_the_band_is_wide(roof, front, stand):
    """Past a third of the picture every further stop costs."""
    here, scene = town(roof, front, **stand)
    case = look(scene)
    for tilt in (-8.0, -2.0, 0.0, 8.0):
        found = [assess(case, here.setting(stop, tilt)) for stop in STOPS]
        for wide, narrow in pairwise(found):
            if wide.evidence.sharp_share > 1 / 3:
                assert narrow.score.value <= wide.score.value + 1e-6


@pytest.mark.parametrize("stand", STANDS)
def test_what_lowers_agreement_never_raises_it(roof, front, stand):
    """Swing on what the lens does without it, 2 to 8 degrees either way, slanting ground too."""
    here, scene = town(roof, front, **stand)
    slant = 1.0 + 0.6 * here.camera().grid()[0] * here.focal_mm / 36.0
    for place in (scene, dataclasses.replace(scene, depth_m=(scene.depth_m / slant).astype("f4"))):
        case = look(place)
        for stop, tilt, swing in product((2.8, 8.0), (-8.0, 0.0), (2.0, -4.0, 8.0)):
            straight = assess(case, here.setting(stop, tilt))
            swung = assess(case, here.setting(stop, tilt, swing))
            if swung.evidence.correlation <= straight.evidence.correlation:
                assert swung.score.value <= straight.score.value
                assert swung.score.low <= straight.score.low


def _in_another_light(picture, ground, name):
    """The same place: a ramp of light, cast shadows, flat light, a lower sun's colour."""
    rows, columns = (axis / len(axis) for axis in map(np.arange, picture.shape[:2]))
    lit = np.ones_like(picture)
    if name == "ramp":
        lit = lit * (0.3 + 1.4 * columns)[None, :, None]
    if name == "shadows":  # bars of shade that lie on the ground, and one over a third of it
        shade = (np.sin(40.0 * columns)[None, :] > 0.6) | (rows[:, None] > 0.66)
        lit = np.where((shade & ground)[..., None], lit * 0.12, lit)
    if name == "evening":
        lit = lit * np.array([1.0, 0.7, 0.4])
    flat = {"dull": 0.4, "hard": 1.8}.get(name, 1.0)
    mean = picture.mean(axis=(0, 1))
    return (mean * (picture / mean) ** flat * lit).astype(np.float32)


@pytest.mark.parametrize("texture", [0.02, 0.1, 0.9])
@pytest.mark.parametrize("stand", STANDS[:3])
def test_light_does_not_move_the_verdict(roof, front, stand, texture):
    """Same place, other hour: fit and agreement stay, and the score moves by a few points."""
    here, scene = town(roof, front, **stand)
    blank = scene.depth_m > np.quantile(scene.depth_m, 0.7)  # pavement without any detail
    picture = 0.3 * (1.0 - texture + texture * scene.picture)
    picture = np.where(blank[..., None], np.float32(0.2), picture).astype(np.float32)
    ground = here.inverse() * scene.depth_m > 0.999
    found = {}
    for name in ("as it is", "ramp", "shadows", "dull", "hard", "evening"):
        lit = dataclasses.replace(scene, picture=_in_another_light(picture, ground, name))
        found[name] = assess(look(lit), here.setting(4))
    noon = found["as it is"]
    for other in found.values():
        assert other.measures.pupil_m == pytest.approx(noon.measures.pupil_m, rel=0.03)
        assert other.measures.focus_m == pytest.approx(noon.measures.focus_m, rel=0.03)
        assert other.measures.band.from_top == pytest.approx(noon.measures.band.from_top, abs=0.01)
        assert other.measures.correlation == pytest.approx(noon.measures.correlation, abs=0.04)
        assert other.score.value == pytest.approx(noon.score.value, abs=5.0)


@pytest.mark.parametrize("share", [0.01, 0.03])
@pytest.mark.parametrize("nearness", [4.5, 10.0, 40.0])
def test_one_near_post_bends_nothing_and_costs(roof, front, nearness, share):
    """The fitted lens and the band stay with the rest of the picture; the agreement pays."""
    here, scene = town(roof, front)
    width = scene.depth_m.shape[1]
    depth = scene.depth_m.copy()
    depth[:, width // 4 : width // 4 + round(share * width)] = here.focus_m / nearness
    free, behind = (
        assess(look(place), here.setting(4))
        for place in (scene, dataclasses.replace(scene, depth_m=depth))
    )

    assert behind.measures.focus_m == pytest.approx(free.measures.focus_m, rel=0.02)
    assert behind.measures.pupil_m == pytest.approx(free.measures.pupil_m, rel=0.02)
    assert behind.measures.band.from_top == pytest.approx(free.measures.band.from_top, abs=0.01)
    assert behind.picture.band_from_top == pytest.approx(free.picture.band_from_top, abs=0.02)
    assert behind.measures.correlation < free.measures.correlation
    assert behind.score.value < free.score.value


def test_the_more_of_the_picture_is_near_the_more_it_costs(roof, front):
    """A sharp post from a hair to a fifth of the picture."""
    here, scene = town(roof, front)
    width = scene.depth_m.shape[1]
    scores = []
    for share in (0.0, 0.005, 0.02, 0.06, 0.2):
        depth = scene.depth_m.copy()
        depth[:, : round(share * width)] = here.focus_m / 6.0
        near = dataclasses.replace(scene, depth_m=depth)
        scores.append(assess(look(near), here.setting(4)).score.value)

    assert all(more < less - 1.0 for less, more in pairwise(scores))
    assert scores[0] - scores[3] > 25


def test_swing_moves_the_distance_smoothly(roof, front):
    """A third of a degree never makes the scene jump (it did, from 2.7 m to infinity)."""
    here, scene = town(roof, front)
    case = look(scene)
    away = [assess(case, here.setting(4, -2.0, swing)).apparent_m for swing in np.arange(5, 9, 0.3)]

    assert max(abs(np.log(b / a)) for a, b in pairwise(away)) < 0.2


@pytest.mark.parametrize("pitch_deg", [2.0, 8.0, 14.0, 22.0])
@pytest.mark.parametrize("walled", [False, True])
def test_eye_level_with_a_horizon_never_reads(roof, front, pitch_deg, walled):
    """Nor where a wall hides it."""
    here = roof(height_m=1.7, pitch_deg=pitch_deg, focal_mm=24.0)
    fronts = [front(15.0, 60.0, -1e3, 1e3)] if walled else []
    person = front(here.foot_m, 1.6, -0.3, 0.3)
    for stop in (1.4, 2.8, 5.6):
        found = judge(here.scene([*fronts, person]), here.setting(stop))

        assert found.stance.above_share > 0.01
        assert found.word is not Word.READS


def test_a_model_in_front_of_a_macro_lens_reads_at_about_its_own_scale():
    """0.4 m away through 100 mm at f/16 and f/8: 1:1.4 to 1:2.7, a close photograph of itself."""
    camera = Camera.from_lens(240, 160, 100.0, Sensor())
    _, y = np.meshgrid(*camera.grid())
    depth = 0.2 / (np.sin(0.6) + y * np.cos(0.6))
    scene = Scene(np.full((160, 240, 3), 0.2, np.float32), depth.astype(np.float32), camera)
    for stop in (8.0, 16.0):
        spot = FocusSpot(0.0, 0.0, float(depth[80, 120]))
        found = judge(scene, LensSetting(focal_mm=100.0, f_number=stop, focus=spot))

        assert 1.3 < found.reads_as.denominator < 2.8
        assert found.word in (Word.CLOSE, Word.WONT)


@pytest.mark.parametrize(("focal_mm", "stop"), [(200.0, 2.8), (300.0, 2.8)])
def test_an_untilted_fast_tele_from_a_roof_does_not_read(roof, front, focal_mm, stop):
    """Its pupil is a lens's, not a model's."""
    here, scene = town(roof, front, focal_mm=focal_mm)

    assert judge(scene, here.setting(stop, 0.0)).word is not Word.READS


def test_a_wall_seen_straight_never_reads():
    """No depth, so no blur can follow it."""
    camera = Camera.from_lens(120, 80, 90.0, Sensor())
    scene = Scene(np.full((80, 120, 3), 0.2, np.float32), np.full((80, 120), 12.0), camera)
    for tilt in (-8.0, 0.0):
        setting = LensSetting(
            focal_mm=90, f_number=2.8, focus=FocusSpot(0.0, 0.0, 12.0), tilt_deg=tilt
        )
        assert judge(scene, setting).word is Word.WONT


def test_from_nearly_straight_above_it_reads_less_and_less_and_names_no_scale(roof, front):
    """A place is a map then; at 89.9 degrees the blur went with depths that nobody tells apart."""
    values, words, scales = [], [], []
    for pitch_deg in (50.0, 70.0, 80.0, 85.0, 89.0, 89.9):
        here = roof(height_m=30.0, pitch_deg=pitch_deg, focal_mm=24.0)
        found = judge(here.scene([front(here.foot_m, 1.0, -9.0, 9.0)]), here.setting(2.8))
        values.append(found.score.value)
        words.append(found.word)
        scales.append(found.reads_as)

    assert all(steeper < flatter for flatter, steeper in pairwise(values))
    assert words[0] is Word.READS
    assert Word.READS not in words[2:]
    assert scales[0] is not None
    assert scales[2:] == [None] * 4


@pytest.mark.parametrize("stop", [2.8, 8.0])
def test_the_number_of_pixels_does_not_matter(roof, front, stop):
    """Under a point between 120 and 3000 px."""
    scores = []
    for width in (120, 480, 3000):
        here, scene = town(roof, front, size_px=(width, width * 2 // 3))
        scores.append(assess(look(scene), here.setting(stop)).score.value)

    assert max(scores) - min(scores) < 1.0


def test_a_mirrored_picture_is_judged_alike(roof, front):
    """Swing and focus mirrored with it."""
    here, scene = town(roof, front)
    other = dataclasses.replace(
        scene, picture=scene.picture[:, ::-1].copy(), depth_m=scene.depth_m[:, ::-1].copy()
    )
    one = assess(look(scene), here.setting(4, -8, 3)).score.value

    assert assess(look(other), here.setting(4, -8, -3)).score.value == pytest.approx(one, abs=1.0)


@pytest.mark.parametrize("noise", [0.05, 0.1, 0.2])
def test_noise_in_the_depth_is_not_taken_for_a_bad_picture(roof, front, noise):
    """Scale within 10 %, score within 5 points, where plain regression gave half."""
    here, scene = town(roof, front, size_px=(480, 320))
    rng = np.random.default_rng(2)
    depth = scene.depth_m * np.maximum(1 + noise * rng.standard_normal(scene.depth_m.shape), 0.1)
    noisy = dataclasses.replace(scene, depth_m=depth.astype(np.float32))
    true, found = (assess(look(s), here.setting(4)) for s in (scene, noisy))

    assert found.measures.pupil_m == pytest.approx(true.measures.pupil_m, rel=0.1)
    assert found.score.value == pytest.approx(true.score.value, abs=5)
    assert found.score.low <= true.score.value <= found.score.high


def test_the_range_holds_the_score_of_exact_depth(roof, front):
    """In at least 80 % of mistakes in height, horizon, focal length and noise together."""
    rng = np.random.default_rng(3)
    held = []
    for stand in STANDS[:3]:
        here, scene = town(roof, front, **stand)
        vantage = scene.vantage
        assert vantage is not None
        for stop in (2.8, 5.6, 8.0):
            true = assess(look(scene), here.setting(stop)).score.value
            for _ in range(4):
                factor = rng.uniform(0.7, 1.3)
                pitch = vantage.pitch_deg + np.degrees(
                    rng.uniform(-0.03, 0.03) * 24 / here.focal_mm
                )
                camera = dataclasses.replace(
                    scene.camera, focal_px=scene.camera.focal_px * rng.uniform(0.8, 1.2)
                )
                noise = rng.uniform(0, 0.2) * rng.standard_normal(scene.depth_m.shape)
                depth = scene.depth_m * factor * np.maximum(1 + noise, 0.1)
                wrong = dataclasses.replace(
                    scene,
                    depth_m=depth.astype(np.float32),
                    camera=camera,
                    vantage=Vantage(vantage.height_m * factor, pitch),
                )
                setting = here.setting(stop)
                focus = dataclasses.replace(setting.focus, depth_m=here.focus_m * factor)
                found = assess(
                    look(wrong, depth_error=0.15), dataclasses.replace(setting, focus=focus)
                ).score
                held.append(found.low <= true <= found.high)

    assert np.mean(held) >= 0.8


def test_blur_that_is_smooth_is_not_taken_for_noise(roof, front):
    """A depth map that was smoothed has no noise of single pixels."""
    _, scene = town(roof, front)
    smooth = dataclasses.replace(scene, depth_m=ndimage.gaussian_filter(scene.depth_m, 2.0))

    assert look(smooth).samples.noise == 0
