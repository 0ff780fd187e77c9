"""The field card."""

import dataclasses

import numpy as np
import pytest

from render.errors import SettingError
from render.judge.case import look
from render.judge.verdict import judge_case
from render.plan.card import plan_card
from render.plan.cautions import Place
from render.plan.exposure import brightness_from_weather
from render.shot.wishes import DayWishes

SUN = brightness_from_weather("sun")


def _card(here, setting, **wishes):
    light = np.random.default_rng(2).random((160, 240, 3), dtype=np.float32) ** 8
    case = look(here.scene(picture=light))
    return plan_card(case, judge_case(case, setting), light, SUN, DayWishes(**wishes))


def test_a_model_s_motion_sets_the_interval(roof):
    """At 1:166 and 25 a second, one frame every sqrt(166)/25 s."""
    card = _card(roof(), roof().setting(4))

    assert card.timelapse.interval_s == pytest.approx(165.9**0.5 / 25, rel=1e-3)
    assert card.timelapse.look == "model"


def test_without_a_scale_traffic_s_usual_second_is_taken(roof):
    """Blur sideways names no scale, so the interval is that of practice."""
    card = _card(roof(), roof().setting(4, 0.0, 8.0))

    assert card.timelapse.interval_s == 1.0
    assert card.timelapse.look == "toy traffic"


def test_smear_is_in_the_camera_s_own_pixels(roof):
    """Half the interval smears a car by speed x time x focal length in px / depth, at 24 Mpx."""
    here = roof()
    card = _card(here, here.setting(4))
    half = card.exposure.choices[0].time_s
    car = next(s for s in card.smears if s.time_s == half and "car" in s.mover.name)
    focal_px = here.camera().focal_px * 6000 / 240

    assert car.pixels == pytest.approx(30 / 3.6 * half * focal_px / here.focus_m, rel=0.01)


def test_filters_asked_for_are_on_the_list_to_bring(roof):
    """Half an interval at f/2.8 in the sun needs about nine or ten stops."""
    card = _card(roof(), roof().setting(2.8))

    assert any("Neutral density: 10 stops" in line for line in card.bring)
    assert any(s.name.startswith("half the interval") for s in card.exposure.choices)


def test_cautions_follow_the_place_and_come_with_every_card(roof):
    """A drone's card speaks of flying, a roof's of its edge; both defer first."""
    for place, word in ((Place.DRONE, "spotter"), (Place.ROOF, "parapet")):
        card = _card(roof(), roof().setting(4), place=place)

        assert card.cautions[0].startswith("Local rules")
        assert any(word in line for line in card.cautions)


def test_what_to_vary_stays_within_the_lens(roof):
    """A stop wider only as far as the lens opens; a tilt more only as far as it tilts."""
    text = " ".join(_card(roof(), roof().setting(2.8)).vary)

    assert "f/4." in text
    assert "f/2 " not in text
    assert "7° the same way" in text
    assert "9°" not in text


def test_the_bracket_s_histograms_clip_more_and_more(roof):
    """Two stops more light clip more, two less leave more in the dark."""
    dark, middle, bright = _card(roof(), roof().setting(8)).bracket

    assert dark.clipped_share <= middle.clipped_share < bright.clipped_share
    assert dark.dark_share >= middle.dark_share >= bright.dark_share


@pytest.mark.parametrize("wrong", [{"interval_s": -1.0}, {"clip_s": 0.0}, {"look": "ballet"}])
def test_wishes_that_cannot_be_are_refused(roof, wrong):
    """One sentence each."""
    with pytest.raises(SettingError):
        _card(roof(), roof().setting(4), **wrong)


def test_the_card_is_frozen(roof):
    """Nothing changes a card once it is made."""
    with pytest.raises(dataclasses.FrozenInstanceError):
        _card(roof(), roof().setting(4)).bring = ()  # type: ignore[misc]
