"""Exposure on the day."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from render.errors import SettingError
from render.optics.exposure import MARKED_ISO, MARKED_SHUTTER, shutter_s
from render.plan.exposure import (
    Brightness,
    brightness_from_exposure,
    brightness_from_lux,
    brightness_from_weather,
    plan_exposure,
    predicted_histogram,
    shutter_words,
)
from render.world.sky import horizontal_lux


def test_sunny_sixteen_at_the_widest_stop():
    """f/16 at 1/100 s, ISO 100, is 1/3200 s at f/2.8; 9 stops make 1/6 s (common practice)."""
    plan = plan_exposure(brightness_from_weather("sun"), 2.8, 100, {"half": 0.2})

    assert plan.metered.time_s == 1 / 3200
    assert plan.metered.off_stops == pytest.approx(math.log2(3265.3 / 3200), abs=1e-3)
    assert plan.choices[0].filter_stops == 9
    assert plan.choices[0].sentence == "half: 1/6 s, 9 stops of neutral density (density 2.7)"
    assert plan.metered.sentence == "metered: 1/3200 s, no filter"


def test_a_shutter_that_is_too_slow_for_the_light_gets_a_filter():
    """At f/1.4 in the sun the metered time, 1/13061 s, is too short: two stops of filter."""
    plan = plan_exposure(brightness_from_weather("sun"), 1.4, 100, {})

    assert plan.metered.time_s == 1 / 3200
    assert plan.metered.filter_stops == 2


def test_a_wish_for_less_light_than_there_is_asks_for_iso():
    """Freezing a walker in open shade at f/8 is too dark, and says by how much."""
    plan = plan_exposure(brightness_from_weather("open shade"), 8, 100, {"freeze": 1 / 400})

    assert plan.choices[0].filter_stops == pytest.approx(-4.0, abs=0.05)
    assert "4.0 stops too dark: raise the ISO to 1600" in plan.choices[0].sentence
    assert plan.choices[0].filter_density == 0


def test_the_bracket_is_two_stops_either_way():
    """Darkest first."""
    plan = plan_exposure(brightness_from_exposure(8, 1 / 250, 100), 8, 100, {})

    assert plan.bracket_s == (1 / 1000, 1 / 250, 1 / 60)
    assert plan.brightness.source == "the picture's own exposure"


def test_a_bracket_in_glaring_light_gets_a_filter():
    """Its fastest frame stays at 1/4000 s, which most shutters reach (common practice)."""
    plan = plan_exposure(brightness_from_weather("sun"), 2.8, 100, {})

    assert plan.bracket_s == (1 / 3200, 1 / 800, 1 / 200)
    assert plan.bracket_filter_stops == 2


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


@given(time_s=st.floats(1e-4, 30), f_number=st.floats(1, 22), ev100=st.floats(3, 17))
def test_only_marks_are_dialled_and_they_add_up(time_s, f_number, ev100):
    """Times are marks, filters whole stops; with what is said to be off they are as metered."""
    light = Brightness(ev100, "test")
    plan = plan_exposure(light, f_number, 100, {"near": time_s}, {"most": time_s})
    metered_s = shutter_s(ev100, f_number, 100)

    for choice in (plan.metered, *plan.choices):
        assert choice.time_s in MARKED_SHUTTER.values() or choice.time_s > 30  # bulb
        assert abs(choice.off_stops) < 0.25 or choice.iso == MARKED_ISO[-1]
        said = " of a stop " in choice.sentence
        assert said == (abs(choice.off_stops) > 1 / 6)
        if choice.filter_stops >= 0:
            assert choice.filter_stops == round(choice.filter_stops)
            assert choice.iso == 100
        exposed = math.log2(choice.iso / 100) - max(choice.filter_stops, 0)
        exposed += math.log2(choice.time_s / metered_s)
        assert exposed == pytest.approx(choice.off_stops, abs=1e-6)
    near, most = plan.choices
    if near.filter_stops > 0:
        assert abs(math.log2(near.time_s / time_s)) < 0.85
    if most.filter_stops != 0:
        assert math.log2(most.time_s / time_s) < 0.34


def test_marks_are_thirds_of_a_stop():
    """Each mark lies within a tenth of a stop of a power of two in thirds, and none is left out."""
    thirds = [3 * math.log2(time_s) for time_s in MARKED_SHUTTER.values()]

    assert [round(third) for third in thirds] == list(range(-45, 16))
    assert max(abs(third - round(third)) for third in thirds) < 0.3
    speeds = [3 * math.log2(iso / 100) for iso in MARKED_ISO]
    assert [round(speed) for speed in speeds] == list(range(-3, 31))


def test_shutter_times_read_as_on_a_camera():
    """The marks of shutters, and whole seconds beyond them."""
    times = (1 / 3265, 1 / 60, 1 / 37, 0.26, 0.31, 1.5, 45.4)
    assert [shutter_words(t) for t in times] == [
        *("1/3200 s", "1/60 s", "1/40 s", "1/4 s", "1/3 s", "1.6 s", "45 s"),
    ]


@pytest.mark.parametrize("time_s", [0.0, -1.0, float("nan"), float("inf")])
def test_no_shutter_time_is_refused(time_s):
    """Zero, negative, no number, never."""
    with pytest.raises(SettingError, match="above 0"):
        shutter_words(time_s)


def test_light_on_level_ground_sets_the_exposure_and_sun_is_the_most():
    """An incident meter's rule: 2.5 lx is EV 0, twice the light a stop; noon is sunny 16."""
    assert brightness_from_lux(2.5, "dusk").ev100 == pytest.approx(0.0)
    assert brightness_from_lux(5.0, "dusk").ev100 == pytest.approx(1.0)
    assert brightness_from_lux(100_000, "noon").ev100 == pytest.approx(
        brightness_from_weather("sun").ev100
    )


@given(st.floats(-11, 89), st.floats(0.1, 10))
def test_a_higher_sun_never_asks_for_more_exposure(height_deg, more_deg):
    """By the Explanatory Supplement's light on level ground, from dusk to noon."""
    low, high = (
        brightness_from_lux(horizontal_lux(h), "").ev100
        for h in (height_deg, height_deg + more_deg)
    )
    assert high >= low - 0.02  # the cubics meet within that
