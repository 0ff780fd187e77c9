"""What to vary and to bring."""

import dataclasses

from render.judge.case import look
from render.judge.verdict import judge_case
from render.plan.exposure import brightness_from_weather, plan_exposure
from render.plan.kit import bring, vary
from render.plan.tolerance import Slack
from tests.lenses import LONG_ABOUT_ITS_CENTRE as LENS

SLACK = Slack(None, 0.155, 0.1, 5.0, 6.0)
SUNNY = plan_exposure(brightness_from_weather("sun"), 8.0, 100.0, {})


def _verdict(here, setting):
    return judge_case(look(here.scene()), setting)


def test_only_stops_that_the_lens_has_are_varied(roof):
    """Wide open nothing wider is named, at the last stop nothing narrower."""
    here = roof()
    wide = " ".join(vary(_verdict(here, here.setting(2.8)), LENS, SLACK, SUNNY, by_name=False))
    last = " ".join(vary(_verdict(here, here.setting(32)), LENS, SLACK, SUNNY, by_name=False))

    assert "Aperture: planned, and f/4." in wide
    assert "Aperture: planned, and f/22." in last


def test_the_movement_that_is_used_is_varied(roof):
    """A swung lens varies its swing, round named things as far as they stay sharp."""
    here = roof()
    swung = vary(_verdict(here, here.setting(4, 0.0, 3.0)), LENS, SLACK, SUNNY, by_name=True)
    model = vary(_verdict(here, here.setting(4, 0.0, 3.0)), LENS, SLACK, SUNNY, by_name=False)
    straight = vary(_verdict(here, here.setting(4, 0.0)), LENS, SLACK, SUNNY, by_name=False)

    wide = vary(
        _verdict(here, here.setting(4, 0.0, 3.0)),
        LENS,
        dataclasses.replace(SLACK, swing_deg=0.877),
        SUNNY,
        by_name=True,
    )

    assert any(f"by a hair: {SLACK.turn_words[6:]} keeps all" in line for line in swung)
    assert any(line == "Swing: planned, and 2.5° and 3.5° the same way." for line in wide)
    assert any(line == "Swing: planned, and 2° and 4° the same way." for line in model)
    assert any("one on what must be sharp" in line for line in swung)
    assert not any("Tilt" in line or "Swing" in line for line in straight)


def test_tethers_are_for_places_where_things_fall(roof):
    """On the ground nothing is tethered, and without a time-lapse no remote is brought."""
    ground = " ".join(bring(SUNNY, None, raised=False))

    assert "tethers" in " ".join(bring(SUNNY, None, raised=True))
    assert "tethers" not in ground
    assert "remote" not in ground
    filtered = dataclasses.replace(
        SUNNY, metered=dataclasses.replace(SUNNY.metered, filter_stops=6.0)
    )
    assert any("6 stops" in line for line in bring(filtered, None, raised=False))


def test_the_bracket_s_filter_is_brought_and_its_shutters_are_told(roof):
    """At f/2.8 in the sun two stops less than 1/3200 s is no shutter's: 2 stops of filter."""
    here, wide = roof(), plan_exposure(brightness_from_weather("sun"), 2.8, 100.0, {})
    told = vary(_verdict(here, here.setting(2.8)), LENS, SLACK, wide, by_name=True)[0]

    assert wide.metered.filter_stops == 0
    assert "(1/3200 s, 1/800 s, 1/200 s with 2 stops of neutral density)" in told
    assert any(
        "Neutral density: 2 stops for the bracket" in x for x in bring(wide, None, raised=True)
    )
