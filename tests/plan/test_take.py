"""The light of a take falls as published twilight does."""

import math
from collections.abc import Callable
from datetime import timedelta

import pytest

from render.plan.exposure import (
    Brightness,
    brightness_from_lux,
    brightness_from_sky,
)
from render.plan.light import plan_light
from render.plan.take import light_of_take
from render.world.sky import horizontal_lux

#: Equator at an equinox: the sun goes straight down by a degree in four minutes.
SET = "2026-03-20T18:11+00:00"


def _lamps(lux: float, from_deg: float = 90.0) -> Callable[[float], Brightness]:
    """A clear sky with lamps that are lit from a height of the sun downwards."""

    def light(height_deg: float) -> Brightness:
        lit = lux if height_deg < from_deg else 0.0
        return brightness_from_lux(horizontal_lux(height_deg) + lit, "")

    return light


def test_light_falls_through_civil_twilight_as_published() -> None:
    """Sunset 400 to 750 lx, end of civil twilight 3.4 lx (handbook values, from memory): 7 to 8."""
    sunlight = plan_light(SET, 0.0, 0.0)
    down = sunlight.planned.height_deg + 6.0
    take = light_of_take(sunlight, 240.0 * down, brightness_from_sky)

    assert sunlight.sun_height_deg(take.end) == pytest.approx(-6.0, abs=0.05)
    assert 6.8 < take.lost_stops < 8.0
    (change,) = take.changes
    assert change.steps == pytest.approx(3 * take.lost_stops, abs=0.5)
    assert f"give 1/3 stop more, {change.steps} times, about every" in take.sentences[0]
    # lamps of 10 lx beside 3.5 lx of sky and 500 at the start: log2(510 / 13.5)
    lit = light_of_take(sunlight, 240.0 * down, _lamps(10.0))
    assert lit.lost_stops == pytest.approx(math.log2(510 / 13.5), abs=0.3)
    steady = light_of_take(sunlight, 240.0 * down, lambda _: Brightness(6.0, "lamplight"))
    assert steady.lost_stops == 0
    assert steady.sentences == ()
    # lamps of 10 lx come on at 70 lx, and where they alone are left the light stays
    night = light_of_take(sunlight, 7200.0, _lamps(10.0, -2.9))
    (change,) = night.changes
    assert change.lost_stops == pytest.approx(
        math.log2(horizontal_lux(sunlight.planned.height_deg) / 10), abs=0.05
    )
    assert 15 < (change.end - change.start).total_seconds() / 60 < 40
    assert f"{change.end:%H:%M}, then hardly changes" in night.sentences[0]
    assert f"by {change.end:%H:%M}: 1/3 stop more, " in night.words
    open_sky = light_of_take(sunlight, 7200.0, brightness_from_sky)
    assert "lamps are not counted" in open_sky.sentences[-1]


def test_the_end_of_the_window_is_named_where_the_take_runs_past_it() -> None:
    """The sun sets a quarter of an hour after the start, and shines on what is sharp until then."""
    sunlight = plan_light("2026-03-20T17:55+00:00", 0.0, 0.0)
    ((_, until),) = [span for span in sunlight.window if span[0] <= sunlight.planned.moment]
    left = (until - sunlight.planned.moment) / timedelta(seconds=1)
    assert light_of_take(sunlight, left - 60.0, brightness_from_sky).good_until is None
    past = light_of_take(sunlight, left + 60.0, brightness_from_sky)
    assert past.good_until == until
    assert f"ends at {until:%H:%M}" in past.sentences[-1]


def test_a_rising_sun_shortens_and_noon_says_nothing() -> None:
    """No sentence where nobody would see the change."""
    noon = light_of_take(plan_light("2026-03-20T12:00+00:00", 0.0, 0.0), 600.0, brightness_from_sky)
    assert noon.sentences == ()
    assert noon.words == ""
    short = light_of_take(plan_light(SET, 0.0, 0.0), 10.0, brightness_from_sky)
    assert 0.02 < short.lost_stops < 1 / 6
    assert short.words == "falls by less than 1/3 stop"
    assert short.sentences[0].endswith("from the first frame to the last: leave the exposure")
    dawn = light_of_take(
        plan_light("2026-03-20T06:05+00:00", 0.0, 0.0), 1200.0, brightness_from_sky
    )
    assert dawn.lost_stops < -0.5
    assert "give 1/3 stop less, " in dawn.sentences[0]
