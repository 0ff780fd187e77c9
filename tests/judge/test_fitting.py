"""Fits and quantiles."""

import numpy as np
import pytest

from render.judge.fitting import (
    correlation,
    huber_line,
    leverage_weights,
    plane_fit,
    quantiles,
    reach_of,
    reliability,
    without_noise,
)


def test_a_line_is_found_exactly():
    """Points on a line give that line, whatever their weights."""
    x = np.linspace(-1, 2, 50)
    weight = np.linspace(0.1, 1, 50)

    assert huber_line(x, 3 * x - 2, weight) == pytest.approx((3, -2), rel=1e-12)


def test_one_wild_point_hardly_moves_the_line():
    """Huber's loss pulls less than least squares towards an outlier."""
    x = np.linspace(0, 1, 50)
    y = 2 * x
    y[-1] += 100
    robust, _ = huber_line(x, y, np.ones(50))
    plain = np.polyfit(x, y, 1)[0]

    assert abs(robust - 2) < 0.5 * abs(plain - 2)


def test_a_still_x_gives_no_slope():
    """Where x does not vary the slope is 0 and the intercept the mean."""
    assert huber_line(np.full(4, 0.3), np.array([1.0, 2, 3, 4]), np.ones(4)) == (0.0, 2.5)


def test_a_plane_is_found_and_explained():
    """Values on a plane give its coefficients and are all explained."""
    rng = np.random.default_rng(1)
    x, y = rng.random((2, 100))
    coefficients, explained = plane_fit(x, y, 2 * x - y + 0.5, rng.random(100))

    np.testing.assert_allclose(coefficients, [2, -1, 0.5], rtol=1e-9)
    assert explained == pytest.approx(1.0)


def test_correlation_against_the_library():
    """With equal weights it is numpy's; with a still variable it is 0."""
    rng = np.random.default_rng(2)
    x = rng.random(40)
    y = x + rng.random(40)

    assert correlation(x, y, np.ones(40)) == pytest.approx(np.corrcoef(x, y)[0, 1], rel=1e-12)
    assert correlation(x, np.ones(40), np.ones(40)) == 0.0


def test_weighted_quantiles_agree_with_repeated_samples():
    """A sample of weight 3 counts as three samples."""
    value = np.array([1.0, 2.0, 3.0, 4.0])
    weight = np.array([1.0, 3.0, 1.0, 5.0])
    repeated = np.repeat(value, weight.astype(int))

    assert quantiles(value, weight, (0.3,))[0] == pytest.approx(
        quantiles(repeated, np.ones(10), (0.3,))[0], abs=0.35
    )
    assert quantiles(np.arange(5.0), np.ones(5), (0.5,))[0] == 2.0


def test_noise_in_x_is_taken_out_of_the_slope():
    """Plain least squares flattens a slope of 3 by the noise's share of the variance."""
    rng = np.random.default_rng(1)
    true = rng.uniform(0, 1, 20_000)
    noise = 0.2 * rng.standard_normal(true.size)
    x, y, weight = true + noise, 3.0 * true + 0.5 * noise - 1.0, np.ones(true.size)
    flat = huber_line(x, y, weight)
    slope, intercept = without_noise(flat, x, y, weight, np.full(true.size, 0.2), 0.5)

    assert flat[0] < 2.4
    assert slope == pytest.approx(3.0, rel=0.03)
    assert intercept == pytest.approx(-1.0, abs=0.05)


def test_exact_values_keep_their_line():
    """Without noise nothing is mended, and reliability is 1."""
    x = np.linspace(0, 1, 9)

    assert without_noise((2.0, 1.0), x, 2 * x + 1, np.ones(9), np.zeros(9), 0.3) == (2.0, 1.0)
    assert reliability(x, np.ones(9), np.zeros(9)) == 1.0


@pytest.mark.parametrize("share", [0.01, 0.1, 0.24])
def test_what_stands_far_outside_the_rest_loses_its_leverage(share):
    """Up to a quarter of wild points, at leverage or not: the line of the others comes out."""
    x = np.linspace(0.01, 0.03, 400)
    y = 30 * x - 0.6
    wild = round(share * x.size)
    x[:wild], y[:wild] = 0.5, 0.5
    held = leverage_weights(x, *reach_of(x))

    assert not held[:wild].any()
    assert held[wild:].min() > 0.9
    assert huber_line(x, y, held) == pytest.approx((30, -0.6), rel=1e-6)
    assert huber_line(x, y, np.ones_like(x))[0] < 10


def test_a_front_that_fills_the_picture_leaves_the_street_with_it():
    """Three quarters of the values the same: twice the median, and nearer, is no outlier yet."""
    x = np.concatenate([np.full(300, 0.02), np.linspace(0.01, 0.038, 100)])

    assert leverage_weights(x, *reach_of(x)).min() > 0.9
