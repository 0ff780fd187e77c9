"""Chance by place: the same from every vantage, spread over its range."""

import numpy as np

from render.world.place.chance import hashed, lattice, place_seed
from render.world.place.projection import LocalFrame
from tests.townlet import AT, degrees

_FRAME = LocalFrame(*AT)


def test_chance_fills_its_range_and_two_numbers_of_a_pair_are_strangers() -> None:
    """Of 10,000 pairs a tenth in each tenth, uncorrelated."""
    luck = hashed(np.arange(100)[:, None] + np.zeros(100, int), np.arange(100), 5).reshape(-1, 2)

    counts, _ = np.histogram(luck[:, 0], 10, (0, 1))
    assert np.all(abs(counts - 1000) < 150)
    assert abs(np.corrcoef(luck.T)[0, 1]) < 0.04


def test_a_point_of_the_map_has_one_seed_from_everywhere() -> None:
    """A point given to seven places of a degree, seen from two vantages 300 m apart."""
    lon, lat = (round(v, 7) for v in degrees(120.0, 40.0))
    other = LocalFrame(*degrees(300.0, 0.0)[::-1])
    seeds = {
        place_seed(frame, *frame.to_metres(np.array([[lon, lat]]))[0]) for frame in (_FRAME, other)
    }

    assert len(seeds) == 1


def test_the_lattice_is_as_dense_as_asked() -> None:
    """One point for every square of 10 m, give or take the loose edge."""
    points = lattice((-200, -200, 200, 200), _FRAME, 1000, 10.0)
    inside = np.all(abs(points) <= 200, axis=1)

    assert abs(inside.sum() - 1600) < 60
