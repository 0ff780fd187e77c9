"""What moves."""

import pytest

from render.plan.motion import MOVERS, smears, steps


def test_freezing_times_are_those_of_practice():
    """A twentieth of the length: a car at 30 km/h 1/40 s, a walker 1/60 s."""
    car, walker = MOVERS

    assert car.freeze_s == pytest.approx(1 / 37, rel=0.01)
    assert walker.freeze_s == pytest.approx(1 / 62, rel=0.01)


def test_smear_in_pixels_and_own_lengths():
    """In 1/10 s a car at 30 km/h goes 0.83 m: 0.19 of its length, 14 px at 58 m and 1000 px."""
    car, _ = smears(0.1, 58.5, 1000.0, 2000.0)

    assert car.own_lengths == pytest.approx(0.185, abs=0.001)
    assert car.pixels == pytest.approx(14.2, abs=0.1)
    assert car.width_fraction == pytest.approx(0.0071, abs=0.0001)


def test_steps_are_smooth_jerky_or_hopping():
    """By own lengths between frames: 0.2 and 1 divide them (ours)."""
    looks = [steps(t, 58.5, 1000.0, 800)[0].look for t in (0.05, 0.3, 1.0)]

    assert looks == ["smooth", "jerky toy", "hopping"]


def test_a_step_in_picture_heights():
    """``f u tau / (z H)``."""
    _, walker = steps(0.5, 58.5, 1000.0, 800)

    assert walker.height_fraction == pytest.approx(1000 * 1.4 * 0.5 / (58.5 * 800))
