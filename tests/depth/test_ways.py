"""Ways along the picture."""

import numpy as np

from render.depth.ways import ways_from


def test_a_way_over_an_edge_is_long_and_round_it_shorter():
    """Two places parted by a bright bar are farther apart than two as far without one."""
    light = np.full((20, 40, 3), 0.1, np.float32)
    light[:15, 20] = 0.9

    ways = ways_from(light, np.array([5]), np.array([10]))[0]

    assert ways[5, 10] == 0
    assert ways[5, 30] > 1.2 * ways[5, 0]
    assert abs(ways[5, 0] - 10 / 40) < 1e-9
    assert ways[18, 30] < ways[5, 30]


def test_the_nearest_way_is_the_least_of_all():
    """Asked for the nearest start only, the way is the smallest over the starts."""
    rng = np.random.default_rng(1)
    light = rng.uniform(0, 1, (15, 17, 3)).astype(np.float32)
    rows, columns = np.array([2, 13, 7]), np.array([3, 1, 15])

    near = ways_from(light, rows, columns, nearest=True)

    np.testing.assert_allclose(near, ways_from(light, rows, columns).min(axis=0))
