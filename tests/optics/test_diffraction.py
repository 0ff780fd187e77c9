"""Diffraction against the circle of confusion and the focus spread."""

import math

import pytest
from scipy.special import jn_zeros

from render.optics.diffraction import airy_diameter_mm


def test_airy_disc_ends_at_the_first_zero_of_the_bessel_function() -> None:
    """2.44 is the first zero of J1 times 2/pi, rounded."""
    exact = 2 * jn_zeros(1, 1)[0] / math.pi * 0.55e-3 * 11

    assert airy_diameter_mm(11) == pytest.approx(exact, rel=5e-4)
