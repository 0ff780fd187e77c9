"""Diffraction against the circle of confusion and the focus spread."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.special import jn_zeros

from render.errors import SettingError
from render.optics.diffraction import airy_diameter_mm, best_f_number, f_number_where_airy_is


def test_airy_disc_ends_at_the_first_zero_of_the_bessel_function() -> None:
    """2.44 is the first zero of J1 times 2/pi, rounded."""
    exact = 2 * jn_zeros(1, 1)[0] / math.pi * 0.55e-3 * 11

    assert airy_diameter_mm(11) == pytest.approx(exact, rel=5e-4)


@given(st.floats(0.005, 0.1), st.floats(0.0, 1.0))
def test_airy_disc_is_the_circle_at_the_f_number_that_says_so(coc: float, scale: float) -> None:
    """At the f-number found, the disc at that magnification is the circle of confusion."""
    stop = f_number_where_airy_is(coc, scale)

    assert airy_diameter_mm(stop * (1 + scale)) == pytest.approx(coc)


@given(st.floats(0.01, 5.0), st.floats(0.5, 2.0))
def test_best_stop_is_not_bettered_by_another(spread: float, factor: float) -> None:
    """No other f-number has a smaller sum of squared blur and diffraction."""
    best = best_f_number(spread)

    def total(stop: float) -> float:
        return (spread / (2 * stop)) ** 2 + airy_diameter_mm(stop) ** 2

    assert total(best) <= total(best * factor) * (1 + 1e-9)


def test_impossible_values_are_refused() -> None:
    """A negative spread or an empty circle has no best stop."""
    with pytest.raises(SettingError):
        best_f_number(-1)
    with pytest.raises(SettingError):
        f_number_where_airy_is(0)
