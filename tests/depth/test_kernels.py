"""Compiled loops against slow twins."""

import numpy as np

from render.depth.kernels import enlarge_by_colour, fill_by_colour, mark_steps


def _light(height: int, width: int) -> np.ndarray:
    return np.random.default_rng(3).uniform(0, 1.2, (height, width, 3)).astype(np.float32)


def _alike(one: np.ndarray, other: np.ndarray, softness: float) -> float:
    difference = np.sqrt(np.clip(one, 0, 1)) - np.sqrt(np.clip(other, 0, 1))
    return float(1 / (1 + np.sum(difference**2) / softness**2) ** 2)


def test_enlarging_equals_its_slow_twin():
    """Each pixel is the weighted mean of 3 x 3 cells by place and colour."""
    rng = np.random.default_rng(4)
    small = rng.uniform(1, 2, (5, 7)).astype(np.float32)
    small_light, light = _light(5, 7), _light(13, 19)
    out = np.empty((13, 19), np.float32)

    enlarge_by_colour(small, small_light, light, 0.1, out)

    for y, x in ((0, 0), (6, 9), (12, 18), (3, 17)):
        cell = [(y + 0.5) * 5 / 13 - 0.5, (x + 0.5) * 7 / 19 - 0.5]
        middle = [int(np.floor(value + 0.5)) for value in cell]
        total = weight = 0.0
        for j in (-1, 0, 1):
            for i in (-1, 0, 1):
                near = 1.0
                for place, step, centre in zip(cell, (j, i), middle, strict=True):
                    d = abs(place - centre - step)
                    near *= 0.75 - d * d if d <= 0.5 else 0.5 * (1.5 - d) ** 2
                row, column = np.clip(middle[0] + j, 0, 4), np.clip(middle[1] + i, 0, 6)
                share = near * (_alike(small_light[row, column], light[y, x], 0.1) + 1e-4)
                total, weight = total + share * small[row, column], weight + share
        assert abs(out[y, x] - total / weight) < 1e-5


def test_filling_takes_one_side_of_an_edge():
    """A hole between two values gets the value of the side it looks like, exactly."""
    light = np.full((9, 9, 3), 0.2, np.float32)
    light[:, 5:] = 0.8
    values = np.where(np.arange(9) < 5, 0.1, 0.5).astype(np.float32) * np.ones((9, 1), np.float32)
    holes = np.zeros((9, 9), bool)
    holes[3:6, 3:7] = True
    out = np.empty((9, 9), np.float32)

    fill_by_colour(values, holes, light, 9.0, 1.0, 0.05, out)

    np.testing.assert_allclose(out, values, rtol=1e-5)


def test_a_hole_without_neighbours_stays_open():
    """Where nothing is met within reach the answer is NaN, not a guess."""
    out = np.empty((5, 5), np.float32)

    fill_by_colour(
        np.zeros((5, 5), np.float32), np.ones((5, 5), bool), _light(5, 5), 4.0, 1.0, 0.1, out
    )

    assert np.isnan(out).all()


def test_steps_equal_their_slow_twin():
    """A step is a range over 5 x 5 beyond both bounds; unknown pixels are passed over."""
    rng = np.random.default_rng(5)
    inverse = rng.choice([0.1, 0.105, 0.3, np.nan], (20, 23), p=[0.5, 0.3, 0.1, 0.1])
    inverse = inverse.astype(np.float32)
    out = np.empty((20, 23), bool)

    mark_steps(inverse, np.float32(0.05), np.float32(0.12), out)

    for y in range(20):
        for x in range(23):
            part = inverse[max(y - 2, 0) : y + 3, max(x - 2, 0) : x + 3]
            part = part[~np.isnan(part)]
            step = np.ptp(part)
            assert out[y, x] == (step > 0.05 and step > 0.12 * part.max())
