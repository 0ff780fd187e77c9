"""The field card."""

import dataclasses

import numpy as np
import pytest

from render.errors import SettingError
from render.judge.case import look
from render.judge.verdict import judge_case
from render.optics.solving.targets import Target
from render.plan.card import plan_card
from render.plan.cautions import Place, cautions
from render.plan.exposure import brightness_from_weather
from render.shot.wishes import DayWishes
from tests.lenses import LONG_ABOUT_ITS_CENTRE as LENS

SUN = brightness_from_weather("sun")


def _card(here, setting, limits=None, named=(), **wishes):
    light = np.random.default_rng(2).random((160, 240, 3), dtype=np.float32) ** 8
    case = look(here.scene(picture=light))
    return plan_card(
        case, judge_case(case, setting), light, SUN, DayWishes(**wishes), limits, named=named
    )


def test_a_model_s_motion_sets_the_interval(roof):
    """At 1:166 and 25 a second, one frame every sqrt(166)/25 s."""
    card = _card(roof(), roof().setting(4))

    assert card.timelapse.interval_s == pytest.approx(165.9**0.5 / 25, rel=1e-3)
    assert card.timelapse.look == "model"


def test_without_a_scale_traffic_s_usual_second_is_taken(roof):
    """Where blur and depth name no single scale, the interval is that of practice."""
    case = look(roof().scene())
    verdict = dataclasses.replace(judge_case(case, roof().setting(4)), reads_as=None)
    light = np.full((160, 240, 3), 0.2, np.float32)
    card = plan_card(case, verdict, light, SUN, DayWishes(), LENS)

    assert card.timelapse.interval_s == 1.0
    assert card.timelapse.look == "toy traffic"


def test_smear_is_in_the_camera_s_own_pixels(roof):
    """A car smears by speed x time x focal length in px / depth, at 24 Mpx."""
    here = roof()
    card = _card(here, here.setting(4))
    half = card.exposure.choices[0].time_s
    car = next(s for s in card.smears if s.time_s == half and "car" in s.mover.name)
    focal_px = here.camera().focal_px * 6000 / 240

    assert car.pixels == pytest.approx(30 / 3.6 * half * focal_px / here.focus_m, rel=0.01)


def test_filters_asked_for_are_on_the_list_to_bring(roof):
    """Half of one second at f/2.8 in the sun needs about ten stops, as the shutter says."""
    card = _card(roof(), roof().setting(2.8), interval_s=1.0)
    smooth = card.moving_shutter

    assert any("Neutral density: 10 stops" in line for line in card.bring)
    assert smooth.name.startswith("time-lapse, smooth (")
    assert smooth.filter_stops == 10
    assert 0.25 <= smooth.time_s <= 0.5


def test_cautions_follow_the_place_and_come_with_every_card(roof):
    """A drone's card speaks of flying, a roof's of its edge, a bridge's of what is below."""
    card = _card(roof(), roof().setting(4), place=Place.DRONE)
    assert any("spotter" in line for line in card.cautions)
    for place in Place:
        lines = cautions(place)
        assert lines[0].startswith("Local rules")
        raised = place not in (Place.GROUND, Place.DRONE)
        assert any("parapet" in line for line in lines) == raised
    assert any("fall on road" in line for line in cautions(Place.BRIDGE))


def test_what_to_vary_stays_within_the_lens(roof):
    """A stop wider only as far as the lens opens; a tilt more only as far as it tilts."""
    text = " ".join(_card(roof(), roof().setting(2.8), LENS).vary)

    assert "f/4." in text
    assert "f/2 " not in text
    assert "7° the same way" in text
    assert "9°" not in text


@pytest.mark.parametrize("wrong", [{"interval_s": -1.0}, {"clip_s": 0.0}, {"look": "ballet"}])
def test_wishes_that_cannot_be_are_refused(roof, wrong):
    """One sentence each."""
    with pytest.raises(SettingError):
        _card(roof(), roof().setting(4), **wrong)


def test_the_card_is_frozen(roof):
    """Nothing changes a card once it is made."""
    with pytest.raises(dataclasses.FrozenInstanceError):
        _card(roof(), roof().setting(4)).bring = ()  # type: ignore[misc]


def test_faces_at_arm_s_length_get_a_card_of_their_own(roof):
    """Two named faces from the ground: no cars, no time-lapse, no roof; both are checked."""
    here = roof(height_m=1.6, pitch_deg=30.0)
    faces = [
        Target(-0.1, 0.0, here.focus_m, name="Ann"),
        Target(0.1, 0.0, here.focus_m, name="Ben"),
    ]
    card = _card(here, here.setting(2.8, 0.0, 2.0), LENS, faces)

    assert card.timelapse is card.video is None
    assert card.smears == card.steps == ()
    assert [check.name for check in card.checks[:2]] == ["Ann", "Ben"]
    assert not any("parapet" in line or "Tether" in line for line in card.cautions)
    assert not any("tethers" in line or "remote" in line for line in card.bring)
    assert any(line.startswith("Swing: planned") for line in card.vary)


def test_a_time_lapse_is_planned_where_it_is_asked_for(roof):
    """On the ground too: one frame a second for ten minutes are 601 frames."""
    here = roof(height_m=1.6, pitch_deg=30.0)
    card = _card(here, here.setting(2.8), LENS, interval_s=1.0, on_site_s=600.0)

    assert card.timelapse.interval.frames == 601
    assert card.moving_shutter.time_s <= 0.5
    assert "(" in card.moving_shutter.name


def test_a_lens_nobody_named_is_assumed_to_do_what_is_set(roof):
    """At f/1.4 and 12 degrees the assumed lens is no narrower, and is not called by a name."""
    card = _card(roof(), roof().setting(1.4, -12.0))

    assert not card.lens_named
    assert card.limits.widest_f_number == 1.4
    assert _card(roof(), roof().setting(2.8)).limits.widest_f_number == 2.8
    assert card.limits.tilt_limit_deg >= 12
    assert _card(roof(), roof().setting(4), LENS).lens_named
