"""What to vary and to bring."""

import dataclasses

from render.judge.case import look
from render.judge.verdict import judge_case
from render.plan.exposure import brightness_from_weather, plan_exposure
from render.plan.kit import bring, vary
from render.plan.tolerance import Slack
from tests.lenses import LONG_ABOUT_ITS_CENTRE as LENS

SLACK = Slack(None, 0.2, 0.1, 5.0, 6.0)


def _verdict(here, setting):
    return judge_case(look(here.scene()), setting)


def test_only_stops_that_the_lens_has_are_varied(roof):
    """Wide open nothing wider is named, at the last stop nothing narrower."""
    here = roof()
    wide = " ".join(vary(_verdict(here, here.setting(2.8)), LENS, SLACK, by_name=False))
    last = " ".join(vary(_verdict(here, here.setting(32)), LENS, SLACK, by_name=False))

    assert "Aperture: planned, and f/4." in wide
    assert "Aperture: planned, and f/22." in last


def test_the_movement_that_is_used_is_varied(roof):
    """A swung lens varies its swing, round named things as far as they stay sharp."""
    here = roof()
    swung = vary(_verdict(here, here.setting(4, 0.0, 3.0)), LENS, SLACK, by_name=True)
    model = vary(_verdict(here, here.setting(4, 0.0, 3.0)), LENS, SLACK, by_name=False)
    straight = vary(_verdict(here, here.setting(4, 0.0)), LENS, SLACK, by_name=False)

    wide = vary(
        _verdict(here, here.setting(4, 0.0, 3.0)),
        LENS,
        dataclasses.replace(SLACK, swing_deg=0.877),
        by_name=True,
    )

    assert any(line.startswith("Swing: as planned, and by a hair: ±0.2° keeps") for line in swung)
    assert any(line == "Swing: planned, and 2.5° and 3.5° the same way." for line in wide)
    assert any(line == "Swing: planned, and 2° and 4° the same way." for line in model)
    assert any("one on what must be sharp" in line for line in swung)
    assert not any("Tilt" in line or "Swing" in line for line in straight)


def test_tethers_are_for_places_where_things_fall(roof):
    """On the ground nothing is tethered, and without a time-lapse no remote is brought."""
    exposure = plan_exposure(brightness_from_weather("sun"), 8.0, 100.0, {})
    ground = " ".join(bring(exposure, None, raised=False))

    assert "tethers" in " ".join(bring(exposure, None, raised=True))
    assert "tethers" not in ground
    assert "remote" not in ground
    filtered = dataclasses.replace(
        exposure, metered=dataclasses.replace(exposure.metered, filter_stops=6.0)
    )
    assert any("6 stops" in line for line in bring(filtered, None, raised=False))
