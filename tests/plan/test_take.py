"""The light of a take falls as published twilight does."""

import math
from datetime import timedelta

import pytest

from render.plan.light import plan_light
from render.plan.take import light_of_take

#: Equator at an equinox: the sun goes straight down by a degree in four minutes.
SET = "2026-03-20T18:11+00:00"


def test_light_falls_through_civil_twilight_as_published() -> None:
    """Sunset 400 to 750 lx, end of civil twilight 3.4 lx (handbook values, from memory): 7 to 8."""
    sunlight = plan_light(SET, 0.0, 0.0)
    down = sunlight.planned.height_deg + 6.0
    take = light_of_take(sunlight, 240.0 * down, 0.0)

    assert sunlight.sun_height_deg(take.end) == pytest.approx(-6.0, abs=0.05)
    assert 6.8 < take.lost_stops < 8.0
    assert take.steps == pytest.approx(3 * take.lost_stops, abs=0.5)
    assert "give 1/3 stop more about every" in take.sentences[0]
    # lamps of 10 lx beside 3.5 lx of sky and 500 at the start: log2(510 / 13.5)
    lit = light_of_take(sunlight, 240.0 * down, 10.0)
    assert lit.lost_stops == pytest.approx(math.log2(510 / 13.5), abs=0.3)
    assert light_of_take(sunlight, 240.0 * down, None).lost_stops == 0


def test_the_end_of_the_window_is_named_where_the_take_runs_past_it() -> None:
    """The sun sets a quarter of an hour after the start, and shines on what is sharp until then."""
    sunlight = plan_light("2026-03-20T17:55+00:00", 0.0, 0.0)
    ((_, until),) = [span for span in sunlight.window if span[0] <= sunlight.planned.moment]
    left = (until - sunlight.planned.moment) / timedelta(seconds=1)
    assert light_of_take(sunlight, left - 60.0, 0.0).good_until is None
    past = light_of_take(sunlight, left + 60.0, 0.0)
    assert past.good_until == until
    assert f"ends at {until:%H:%M}" in past.sentences[-1]


def test_a_rising_sun_shortens_and_noon_says_nothing() -> None:
    """No sentence where nobody would see the change."""
    noon = light_of_take(plan_light("2026-03-20T12:00+00:00", 0.0, 0.0), 600.0, 0.0)
    assert noon.sentences == ()
    assert noon.words == ""
    dawn = light_of_take(plan_light("2026-03-20T06:05+00:00", 0.0, 0.0), 1200.0, 0.0)
    assert dawn.lost_stops < -0.5
    assert "give 1/3 stop less about" in dawn.sentences[0]
