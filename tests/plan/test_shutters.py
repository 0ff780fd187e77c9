"""Shutters of a card, and what they expose."""

import dataclasses
import math

import numpy as np
import pytest

from render.judge.case import look
from render.judge.verdict import judge_case
from render.optics.lens import FocusDistance
from render.plan.card import plan_card
from render.plan.exposure import brightness_from_weather


def _card(here, setting):
    light = np.random.default_rng(2).random((160, 240, 3), dtype=np.float32) ** 8
    case = look(here.scene(picture=light))
    return plan_card(case, judge_case(case, setting), light, brightness_from_weather("sun"))


def test_the_bracket_s_histograms_clip_more_and_more(roof):
    """Two stops more light clip more, two less leave more in the dark."""
    dark, middle, bright = _card(roof(), roof().setting(8)).bracket

    assert dark.clipped_share <= middle.clipped_share < bright.clipped_share
    assert dark.dark_share >= middle.dark_share >= bright.dark_share


def test_a_lens_that_stands_out_loses_light_and_the_card_counts_it(roof):
    """Sharp at 0.44 m, 90 mm stand at 113 mm: 2 log2(v / f) = 0.66 stops slower (1.7 formula)."""
    here = roof()
    near = dataclasses.replace(here.setting(8, 0.0), focus=FocusDistance(0.44))
    card, far = _card(here, near).exposure, _card(here, here.setting(8, 0.0)).exposure
    stops = 2 * math.log2(1 / (1 - 0.09 / 0.44))

    assert card.extension_stops == pytest.approx(stops)
    assert math.log2(card.metered.time_s / far.metered.time_s) == pytest.approx(2 / 3, abs=0.02)


def test_a_model_s_motion_below_a_second_is_video_with_a_shutter_it_has(roof):
    """At 1:166 the interval is 0.52 s: video, whose longest shutter is its frame's."""
    card = _card(roof(), roof().setting(4))

    assert not card.timelapse.by_remote
    assert card.moving_shutter.name.startswith("burst or video (")
    assert card.moving_shutter.time_s <= 1 / 25
