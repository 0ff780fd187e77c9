"""Exposure flicker evened."""

import numpy as np
import pytest

from render.film.evening import brightness_step, evening_gains


def test_the_step_is_that_of_the_exposure_whatever_moves() -> None:
    """A frame 12 % brighter in which a fifth of the picture is something else."""
    one = np.random.default_rng(1).uniform(0.05, 0.6, (40, 50, 3)).astype(np.float32)
    other = 1.12 * one
    other[:, :10] = 0.02

    assert brightness_step(one, other) == pytest.approx(np.log(1.12), abs=1e-5)
    assert brightness_step(one, np.ones_like(one)) == 0.0


def test_flicker_goes_and_dusk_stays() -> None:
    """Light that jitters by 5 % and falls by half over 20 s: jitter is a tenth, dusk is there."""
    seconds = np.arange(500) / 25
    jitter = 0.05 * np.random.default_rng(2).standard_normal(500)
    dusk = -0.7 * seconds / 20
    left = dusk + jitter + np.log(evening_gains(dusk + jitter, seconds))

    assert np.std(np.diff(left)) < 0.1 * np.std(np.diff(dusk + jitter))
    assert left[-50:].mean() - left[:50].mean() == pytest.approx(dusk[-50:].mean(), abs=0.05)


def test_one_frame_stays() -> None:
    """Nothing to compare with."""
    assert evening_gains(np.array([0.3]), np.array([0.0])).tolist() == [1.0]
