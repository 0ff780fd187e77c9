"""Exposure on the day."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from render.errors import SettingError
from render.plan.exposure import (
    brightness_from_exposure,
    brightness_from_weather,
    plan_exposure,
    predicted_histogram,
    shutter_words,
)


def test_sunny_sixteen_at_the_widest_stop():
    """f/16 at 1/100 s, ISO 100, is 1/3200 s at f/2.8; 0.2 s needs 9.4 stops (common practice)."""
    plan = plan_exposure(brightness_from_weather("sun"), 2.8, 100, {"half": 0.2})

    assert plan.metered.time_s == pytest.approx(1 / 3265, rel=0.01)
    assert plan.choices[0].filter_stops == pytest.approx(9.35, abs=0.05)
    assert "9.4 stops of neutral density (density 2.8)" in plan.choices[0].sentence
    assert plan.metered.sentence == "metered: 1/3300 s, no filter"


def test_a_shutter_that_is_too_slow_for_the_light_gets_a_filter():
    """At f/1.4 in the sun the metered time lies beyond 1/4000 s: one stop and a half of filter."""
    plan = plan_exposure(brightness_from_weather("sun"), 1.4, 100, {})

    assert plan.metered.time_s == pytest.approx(1 / 4000)
    assert plan.metered.filter_stops == pytest.approx(1.7, abs=0.05)


def test_a_wish_for_less_light_than_there_is_asks_for_iso():
    """Freezing a walker in open shade at f/8 is too dark, and says by how much."""
    plan = plan_exposure(brightness_from_weather("open shade"), 8, 100, {"freeze": 1 / 400})

    assert plan.choices[0].filter_stops == pytest.approx(-4.0, abs=0.05)
    assert "4.0 stops too dark: raise the ISO" in plan.choices[0].sentence
    assert plan.choices[0].filter_density == 0


def test_the_bracket_is_two_stops_either_way():
    """Darkest first."""
    plan = plan_exposure(brightness_from_exposure(8, 1 / 250, 100), 8, 100, {})

    assert plan.bracket_s == pytest.approx((1 / 1000, 1 / 250, 1 / 62.5))
    assert plan.brightness.source == "the picture's own exposure"


def test_a_bracket_in_glaring_light_gets_a_filter():
    """Its fastest frame stays at 1/4000 s, which most shutters reach (common practice)."""
    plan = plan_exposure(brightness_from_weather("sun"), 2.8, 100, {})

    assert plan.bracket_s[0] == pytest.approx(1 / 4000)
    assert plan.bracket_filter_stops == pytest.approx(1.7, abs=0.05)


def test_the_histogram_of_the_picture_s_own_exposure():
    """At that exposure half a picture at white clips; a stop less, and it does not."""
    light = np.full((10, 10, 3), 0.25, np.float32)
    light[:5] = 1.0
    known = brightness_from_exposure(8, 1 / 250, 100)
    same = predicted_histogram(light, known, 8, 1 / 250, 100)
    less = predicted_histogram(light, known, 8, 1 / 500, 100)

    assert same.clipped_share == 0.5
    assert less.clipped_share == 0.0
    assert dict(zip(same.stops, same.shares, strict=True))[-2] == 0.5
    assert dict(zip(less.stops, less.shares, strict=True))[-3] == 0.5


def test_a_metered_grey_picture_lies_where_meters_put_it():
    """Without EXIF the mean falls 3.3 stops under saturation: 8.1/78 (ISO 2720, ISO 12232)."""
    light = np.full((8, 8, 3), 0.4, np.float32)
    sun = brightness_from_weather("sun")
    found = predicted_histogram(light, sun, 16, 1 / 100, 100)

    assert dict(zip(found.stops, found.shares, strict=True))[-4] == 1.0
    assert (found.clipped_share, found.dark_share) == (0.0, 0.0)


def test_a_filter_is_as_good_as_a_faster_shutter():
    """Three stops of filter shift the histogram as an eighth of the time does."""
    light = np.random.default_rng(0).random((20, 20, 3), dtype=np.float32)
    sun = brightness_from_weather("sun")

    assert predicted_histogram(light, sun, 8, 1 / 50, 100, filter_stops=3) == predicted_histogram(
        light, sun, 8, 1 / 400, 100
    )


@given(gain=st.floats(-14, 6))
def test_shares_add_to_one_and_black_is_counted_as_dark(gain):
    """Whatever the exposure; pure black falls into the lowest bin."""
    light = np.random.default_rng(0).random((20, 20, 3), dtype=np.float32)
    light[0] = 0
    known = brightness_from_exposure(8, 1 / 250, 100)
    found = predicted_histogram(light, known, 8, 2.0**gain / 250, 100)

    assert sum(found.shares) == pytest.approx(1)
    assert found.dark_share >= 0.05
    assert found.shares[0] >= 0.05


@pytest.mark.parametrize("iso", [0.0, -100.0, float("nan")])
def test_a_wrong_iso_is_refused(iso):
    """Zero, negative, no number."""
    with pytest.raises(SettingError, match="ISO"):
        plan_exposure(brightness_from_weather("sun"), 4, iso, {})


def test_a_shutter_time_that_cannot_be_is_refused():
    """A negative time has no filter."""
    with pytest.raises(SettingError, match="above 0"):
        plan_exposure(brightness_from_weather("sun"), 4, 100, {"wish": -1.0})


def test_shutter_times_read_as_on_a_camera():
    """Fractions under a third of a second, decimals above."""
    assert [shutter_words(t) for t in (1 / 3265, 1 / 60, 0.26, 1.5)] == [
        "1/3300 s",
        "1/60 s",
        "1/4 s",
        "1.5 s",
    ]
