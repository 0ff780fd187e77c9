"""The question about near things."""

from dataclasses import replace

import numpy as np
import pytest

from render.depth.depthmap import Unsaid
from render.depth.ground import ground_depth
from render.judge.case import look
from render.judge.near_question import near_question
from render.judge.verdict import judge_case
from render.optics.camera import Camera, Vantage
from render.optics.lens import FocusSpot, LensSetting
from render.scene.scene import Scene
from render.words import length_words

CAMERA, VANTAGE = Camera(120, 80, 110.0), Vantage(15.0, 22.0)
SETTING = LensSetting(focal_mm=35, f_number=2.8, focus=FocusSpot(0, 0, 40.0), tilt_deg=-8)


def _case(near: bool):
    picture = np.random.default_rng(1).random((80, 120, 3), np.float32)
    scene = Scene(picture, ground_depth(CAMERA, VANTAGE), CAMERA, vantage=VANTAGE)
    return look(scene, unsaid=Unsaid(near=near, standing=True))


def test_the_limit_is_a_quarter_of_the_focus_distance() -> None:
    """Of the plain lens that the picture seems to have been taken with."""
    case = _case(near=True)
    verdict = judge_case(case, SETTING)

    asked = near_question(case, verdict)

    assert asked is not None
    assert asked.limit_m == pytest.approx(verdict.measures.focus_m / 4)
    assert asked.place in asked.sentence
    assert f"a quarter of the {length_words(verdict.measures.focus_m)} that" in asked.words
    assert "--near none" in asked.sentence


def test_nothing_is_asked_once_it_was_said() -> None:
    """Whoever answered is not asked again."""
    case = _case(near=False)

    assert near_question(case, judge_case(case, SETTING)) is None


def test_it_hurts_most_where_the_lens_turns_the_blur_from_the_models() -> None:
    """Tilted up, a near thing is too sharp all over, most in the upper third; swung, on a side."""
    case = _case(near=True)
    up = near_question(case, judge_case(case, SETTING))
    swung = near_question(case, judge_case(case, replace(SETTING, tilt_deg=-3, swing_deg=8)))

    assert up is not None
    assert swung is not None
    assert up.place == "in the upper third"
    assert up.box == pytest.approx((0, 0, 1, 1 / 3))
    assert "on the" in swung.place
