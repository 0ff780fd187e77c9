"""Exposure values, meters, filters, close-up and fall-off."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from render.errors import SettingError
from render.optics.exposure import (
    REFLECTED_K,
    SUNNY_F_NUMBER,
    effective_f_number,
    exposure_value,
    light_falloff,
    magnification,
    metered_exposure_lx_s,
    nd_density,
    nd_stops,
    saturation_exposure_lx_s,
    shutter_s,
    sunny_exposure_value,
)
from render.optics.lens import FocusDistance, LensSetting
from render.optics.plane import FocusedLens, focus_lens
from tests.strategies import f_number, slope


@given(f_number, st.floats(1e-4, 100.0), st.floats(25, 25600))
def test_shutter_time_undoes_the_exposure_value(stop: float, time: float, iso: float) -> None:
    """The shutter time for the exposure value of a setting is that setting's."""
    assert shutter_s(exposure_value(stop, time, iso), stop, iso) == pytest.approx(time, rel=1e-9)


@given(f_number, st.floats(1e-4, 100.0), st.floats(25, 25600))
def test_one_stop_is_one_stop(stop: float, time: float, iso: float) -> None:
    """Half the time, root two on the f-number and half the speed are each one stop."""
    base = exposure_value(stop, time, iso)

    assert exposure_value(stop, time / 2, iso) == pytest.approx(base + 1)
    assert exposure_value(stop * math.sqrt(2), time, iso) == pytest.approx(base + 1)
    assert exposure_value(stop, time, iso / 2) == pytest.approx(base + 1)


def test_sunny_16_and_its_neighbours() -> None:
    """In sun f/16 at 1/ISO, and the customary openings in lesser light (practice)."""
    assert sunny_exposure_value("sun") == pytest.approx(exposure_value(16, 1 / 200, 200))
    assert sunny_exposure_value(" Overcast ") == pytest.approx(exposure_value(5.6, 1 / 100))
    values = [sunny_exposure_value(name) for name in SUNNY_F_NUMBER]
    assert values == sorted(values, reverse=True)
    np.testing.assert_allclose(np.diff(values[:6]), -1, atol=0.11)  # the rest is indoors


def test_meter_constant_lies_in_the_standard_range() -> None:
    """K lies in the 10.6 to 13.4 that ISO 2720 allows (secondary pages)."""
    assert 10.6 <= REFLECTED_K <= 13.4


def test_metered_midtone_lies_three_and_a_quarter_stops_below_clipping() -> None:
    """A metered mid-tone (8.1 / S) lies log2(78 / 8.125) stops under saturation (ISO 12232)."""
    stops = math.log2(saturation_exposure_lx_s(100) / metered_exposure_lx_s(100))

    assert stops == pytest.approx(3.263, abs=1e-3)


@given(f_number, st.floats(0.0, 2.0), st.floats(0.5, 2.0))
def test_close_up_costs_light(stop: float, scale: float, pupil: float) -> None:
    """The effective f-number is never below the engraved one, least for large exit pupils."""
    effective = effective_f_number(stop, scale, pupil)

    assert effective >= stop
    assert effective_f_number(stop, scale, pupil * 1.1) <= effective


def test_magnification_of_life_size_doubles_the_f_number() -> None:
    """At twice the focal length the picture is life size and two stops darker."""
    lens = focus_lens(LensSetting(focal_mm=90, f_number=4, focus=FocusDistance(0.18)))

    assert magnification(lens) == pytest.approx(1)
    assert effective_f_number(4, magnification(lens)) == pytest.approx(8)


def test_neutral_density_by_stops_and_by_density() -> None:
    """From 1/1000 s to 1 s takes ten stops, density 3.0."""
    stops = nd_stops(1 / 1024, 1)

    assert stops == pytest.approx(10)
    assert nd_density(stops) == pytest.approx(3.01, abs=0.005)


@given(slope, slope)
def test_falloff_without_tilt_is_the_fourth_power_of_the_cosine(x: float, y: float) -> None:
    """The natural fall-off of an untilted lens is cos^4 of the field angle."""
    lens = FocusedLens(50, 10, 50, (0.0, 0.0, 1.0))
    cosine = 1 / math.sqrt(1 + x * x + y * y)

    assert float(light_falloff(lens, [x, y])) == pytest.approx(cosine**4, rel=1e-12)


@pytest.mark.parametrize(
    "call",
    [
        lambda: exposure_value(0, 1),
        lambda: exposure_value(4, math.nan),
        lambda: exposure_value(4, 1, -100),
        lambda: shutter_s(math.inf, 4),
        lambda: sunny_exposure_value("moon"),
        lambda: effective_f_number(4, -1.5),
        lambda: effective_f_number(4, 0.1, 0),
        lambda: nd_stops(0, 1),
    ],
)
def test_impossible_values_are_refused(call: object) -> None:
    """Nothing impossible gets a number."""
    with pytest.raises(SettingError):
        call()  # type: ignore[operator]
