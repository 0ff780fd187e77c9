"""Proposals for another frame."""

import dataclasses
import math

import numpy as np
import pytest

from render.judge.advising.advice import advise
from render.judge.advising.proposals import Situation
from render.judge.advising.vantages import Elsewhere, frame_proposals, unseen
from render.judge.case import assess, look
from render.judge.sharpness import is_no_miniature
from render.optics.camera import Camera, Vantage, Window
from render.optics.lens import FocusSpot, LensSetting
from render.optics.solving.limits import usual_limits
from render.scene.scene import Scene


def _with_margin(size_px=(240, 320), frame_rows=160, top=40):
    """Ground from 12 m, 8 degrees down, in a picture that is higher than the planned frame."""
    camera = Camera(*size_px, 300.0, centre_y_px=top + frame_rows / 2)
    pitch = math.radians(8)
    y = camera.grid()[1][:, None]
    inverse = np.maximum((math.sin(pitch) + y * math.cos(pitch)) / 12.0, 0.0)
    with np.errstate(divide="ignore"):
        depth = (1 / np.broadcast_to(inverse, size_px[::-1])).astype(np.float32)
    picture = np.random.default_rng(1).random((*depth.shape, 3), dtype=np.float32)
    window = Window(0, top, size_px[0], frame_rows)
    return Scene(picture, depth, camera, window=window, vantage=Vantage(12.0, 8.0))


def _setting():
    slope = 0.05
    depth = 12.0 / (math.sin(math.radians(8)) + slope * math.cos(math.radians(8)))
    return LensSetting(focal_mm=45, f_number=2.8, focus=FocusSpot(0, slope, depth), tilt_deg=-8)


def _now(scene, setting):
    case = look(scene)
    return Situation(scene, case, setting, assess(case, setting), usual_limits(setting.focal_mm))


def test_margin_below_lets_a_fall_be_judged():
    """The sky leaves the frame, the new score is run on the picture, and the fall is in words."""
    line = next(a for a in advise_all(_with_margin()) if a.text.startswith("fall"))

    assert "so that the horizon leaves the picture" in line.text
    assert line.tested == "run on this picture, reframed"
    assert line.setting.rise_mm < 0
    assert line.after > line.before


def test_no_advice_aims_at_what_stands_in_the_way():
    """Past a rail before the focus one focuses on the place; getting past it is said, and judged.

    A plan for a model stays one where the focus falls on the rail.
    """
    scene = _with_margin()
    rail = np.zeros(scene.depth_m.shape, bool)
    rail[120:145] = rail[170:195] = True
    scene = dataclasses.replace(scene, depth_m=np.where(rail, np.float32(1.5), scene.depth_m))
    case, lines = look(scene), advise_all(scene)

    trials = [t for t in frame_proposals(_now(scene, _setting())) if t.refocused]
    assert trials
    assert all(trial.setting.focus.depth_m > 10 for trial in trials)
    past = next(line for line in lines if line.text.startswith("get in front of"))
    assert past.after > past.before + 3
    slope_x, slope_y = (float(s) for s in scene.camera.slopes(160.5, 130.5))
    on_it = dataclasses.replace(_setting(), focus=FocusSpot(slope_x, slope_y, 1.5))
    assert not is_no_miniature(case, on_it, assess(case, on_it))
    straight = dataclasses.replace(on_it, tilt_deg=0.0)
    assert is_no_miniature(case, straight, assess(case, straight))


def advise_all(scene):
    """Advice for the usual setting."""
    return advise(scene, look(scene), _setting())


def test_a_fall_judged_on_the_margin_is_what_that_frame_gives():
    """Judging the picture with its window moved down by the fall gives the same sky and score."""
    scene = _with_margin()
    line = next(a for a in advise_all(scene) if a.text.startswith("fall"))
    extension = 45 / (math.cos(math.radians(8)) * 1 - 0.05 * math.sin(math.radians(8)) - 0.0007)
    moved = round(-line.setting.rise_mm / extension * scene.camera.focal_px)
    window = dataclasses.replace(scene.window, top=scene.window.top + moved)
    found = assess(look(dataclasses.replace(scene, window=window)), line.setting)

    assert found.stance.sky_share == 0
    assert found.score.value == pytest.approx(line.after, abs=1.5)


def test_pitching_down_is_what_a_camera_so_pitched_sees(roof):
    """Run on the reframed picture, and on a scene built from there: nearly the same score."""
    here = roof(height_m=6.0, pitch_deg=16.7, focal_mm=45.0)
    setting = here.setting(4)

    def rebuild(vantage):
        return dataclasses.replace(here, pitch_deg=vantage.pitch_deg).scene()

    photo = next(t for t in frame_proposals(_now(here.scene(), setting)) if "pitch" in t.text)
    demo = next(
        t
        for t in frame_proposals(_now(here.scene(), setting), Elsewhere(rebuild))
        if "pitch" in t.text
    )

    assert photo.text == demo.text
    assert assess(photo.case, photo.setting).score.value == pytest.approx(
        assess(demo.case, demo.setting).score.value, abs=3
    )


def test_what_a_photo_cannot_show_is_listed_apart(roof):
    """A far steeper pitch, another height and another distance."""
    firsts = []
    for pitch_deg in (5.0, 14.0):
        here = roof(height_m=4.0, pitch_deg=pitch_deg, focal_mm=45.0)
        lines = unseen(_now(here.scene(), here.setting(2.8)))
        firsts.append([text.split()[0] for text, _ in lines])

    assert firsts == [["pitch"], ["climb", "stand"]]


def test_a_steep_and_strong_view_asks_for_no_other(roof):
    """From 30 m at 40 degrees there is nothing to climb for."""
    here = roof(height_m=30.0, pitch_deg=40.0)
    now = _now(here.scene(), here.setting(2.8))

    assert not list(frame_proposals(now))
    assert not list(unseen(now))


def test_from_a_plan_one_is_told_to_look_less_steeply(roof):
    """80 degrees down: up to some 55, which a scene built from there shows."""
    here = roof(height_m=30.0, pitch_deg=80.0, focal_mm=24.0)

    def rebuild(vantage):
        return dataclasses.replace(here, pitch_deg=vantage.pitch_deg).scene()

    now = _now(here.scene(), here.setting(2.8))
    line = next(t for t in frame_proposals(now, Elsewhere(rebuild)) if "pitch up" in t.text)

    assert line.text == "pitch up 26°, to 54° down"
    assert assess(line.case, line.setting).score.value > now.found.score.value + 10


@pytest.mark.parametrize(
    ("rows", "below_m", "told"), [(0.05, None, True), (0.4, None, False), (0.6, 7.0, False)]
)
def test_a_pitch_that_brings_in_ones_own_roof_is_priced_or_not_proposed(roof, rows, below_m, told):
    """A parapet 2 m away along the foot of the new frame: 5 % are said, 40 % refused.

    So is a lower roof, 7 m below and out of reach, that fills most of it.
    """
    here = roof(height_m=20.0, pitch_deg=8.0, focal_mm=45.0)

    def rebuild(vantage):
        scene = dataclasses.replace(here, pitch_deg=vantage.pitch_deg).scene()
        depth = scene.depth_m.copy()
        top = round((1 - rows) * depth.shape[0])
        deck = dataclasses.replace(here, pitch_deg=vantage.pitch_deg, height_m=below_m or 1.0)
        depth[top:] = deck.scene().depth_m[top:] if below_m else 2.0
        return dataclasses.replace(scene, depth_m=depth)

    now = _now(here.scene(), here.setting(2.8))
    lines = [t for t in frame_proposals(now, Elsewhere(rebuild)) if "pitch down" in t.text]

    assert bool(lines) is told
    assert all(line.cost.startswith("5 % of the frame is then your own roof") for line in lines)


@pytest.mark.parametrize(("share", "told"), [(0.0, True), (0.08, True), (0.4, False)])
def test_a_pitch_that_was_only_glanced_at_is_priced_too(roof, share, told):
    """Where nothing is traced from there, the share of what stands near is asked for."""
    here = roof(height_m=4.0, pitch_deg=5.0, focal_mm=45.0)
    there = Elsewhere(crowded_share=lambda vantage: share)
    pitched = [t for t, _ in unseen(_now(here.scene(), here.setting(2.8)), there) if "pitch" in t]

    assert bool(pitched) is told
    assert all(("own roof" in text) is (share > 0) for text in pitched)


def test_a_height_that_nothing_carries_is_said_to_be_a_drone_s(roof):
    """On a map nobody climbs above the roof that he stands on."""
    here = roof(height_m=4.0, pitch_deg=14.0, focal_mm=45.0)
    now = _now(here.scene(), here.setting(2.8))

    assert "drone, if that is allowed" in next(iter(unseen(now, Elsewhere(flies=True))))[0]
    assert next(iter(unseen(now)))[0].startswith("climb to")
