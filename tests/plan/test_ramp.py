"""Shutter, filter and ISO through changing light."""

import math

import pytest

from render.plan.exposure import brightness_from_sky, plan_exposure
from render.plan.light import plan_light
from render.plan.ramp import following
from render.plan.take import light_of_take, thirds


@pytest.mark.parametrize(
    ("when", "hours", "interval_s"),
    [
        ("2026-03-20T17:30+00:00", 1.0, 20.0),  # less of a filter is enough
        ("2026-03-20T18:00+00:00", 0.75, 5.0),  # none, and ISO at last
        ("2026-03-20T05:35+00:00", 0.75, 5.0),  # dawn, from a raised ISO down
    ],
)
def test_shutter_filter_and_iso_follow_the_light(
    when: str, hours: float, interval_s: float
) -> None:
    """What the last frame gets is what a meter asks for by then, and the shutter fits."""
    sunlight = plan_light(when, 0.0, 0.0)
    take = light_of_take(sunlight, 3600.0 * hours, brightness_from_sky)
    smooth, longest_s = {"time-lapse, smooth": interval_s / 2}, interval_s - 0.3
    first, last = (
        plan_exposure(brightness_from_sky(sunlight.sun_height_deg(at)), 4.0, 100.0, {}, smooth)
        for at in (take.start, take.end)
    )
    exposure, ramp = following(first, take, longest_s)
    assert ramp is not None
    assert ramp.to_s <= longest_s
    iso = ramp.iso if take.lost_stops > 0 else 100.0
    given = ramp.to_s * iso / 100.0 * 2.0 ** -max(ramp.first.filter_stops, 0.0)
    assert math.log2(given / last.metered.time_s) == pytest.approx(0.0, abs=0.5)
    assert (exposure.choices[0].filter_stops < first.choices[0].filter_stops) == (
        take.lost_stops > 0
    )
    assert (ramp.full_at is not None) == (ramp.iso > 100.0 and take.lost_stops > 0)


@pytest.mark.parametrize(
    ("when", "minutes", "interval_s"),
    [
        ("2026-03-20T17:30+00:00", 60.0, 20.0),
        ("2026-03-20T18:00+00:00", 45.0, 5.0),
        ("2026-03-20T18:15+00:00", 3.3, 0.5),  # all by ISO
        ("2026-03-20T18:15+00:00", 8.3, 2.0),
        ("2026-03-20T18:25+00:00", 16.0, 5.0),
    ],
)
def test_the_turns_of_an_evening_make_up_what_it_loses(
    when: str, minutes: float, interval_s: float
) -> None:
    """Each third is given by shutter or ISO, none twice, and the sky is lost to the last frame."""
    sunlight = plan_light(when, 0.0, 0.0)
    take = light_of_take(sunlight, 60.0 * minutes, brightness_from_sky)
    (change,) = take.changes
    assert change.steps / 3 == pytest.approx(take.lost_stops, abs=1 / 6)
    assert list(change.turns) == sorted(set(change.turns))
    assert take.start < change.turns[0]
    assert change.turns[-1] <= take.end
    assert "hardly changes" not in take.sentences[0]
    light = brightness_from_sky(sunlight.planned.height_deg)
    shutters = {"time-lapse, smooth": interval_s / 2}
    planned = plan_exposure(light, 4.0, 100.0, {}, shutters)
    _, ramp = following(planned, take, max(interval_s - 0.3, interval_s / 2))
    assert ramp is not None
    turned = math.log2(ramp.to_s / ramp.first.time_s) + math.log2(ramp.iso / ramp.first.iso)
    assert thirds(turned) == change.steps
    assert ("stays at" in " ".join(ramp.sentences)) == (ramp.to_s == ramp.first.time_s)
