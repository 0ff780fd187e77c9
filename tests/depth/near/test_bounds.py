"""The best pair of borders."""

import itertools

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from render.depth.near.bounds import best_bounds


@settings(max_examples=25, derandomize=True, deadline=None)
@given(st.integers(0, 10_000))
def test_no_other_pair_of_borders_is_worth_more(seed: int) -> None:
    """On small strips, every pair of paths tried by hand gives at most the same."""
    rng = np.random.default_rng(seed)
    rows, cells, step, off, least = 3, 4, 0.3, 0.2, 1
    gain, edge = rng.normal(0, 1, (rows, cells)), rng.random((rows, cells + 1))
    place = np.arange(cells + 1) - cells / 2

    def worth(pairs: tuple[tuple[int, int], ...]) -> float:
        total = 0.0
        for row, (low, high) in enumerate(pairs):
            total += gain[row, low:high].sum() + edge[row, low] + edge[row, high]
            total -= off * max(0.0, place[low], -place[high])
            if row:
                moved = [abs(low - pairs[row - 1][0]), abs(high - pairs[row - 1][1])]
                if max(moved) > 1:
                    return -np.inf
                total -= step * sum(moved)
        return total

    left, right = best_bounds(gain, edge, step_cost=step, off_cost=off, least_cells=least)
    pairs = [(a, b) for a in range(cells + 1) for b in range(a + least, cells + 1)]
    best = max(worth(chosen) for chosen in itertools.product(pairs, repeat=rows))

    assert np.isclose(worth(tuple(zip(left.tolist(), right.tolist(), strict=True))), best)


def test_what_lies_aside_of_the_stroke_costs() -> None:
    """A stroke runs along the middle of its thing: stronger edges aside are another's."""
    edge = np.zeros((5, 21))
    edge[:, [1, 5]], edge[:, [8, 12]] = 1.0, 0.9

    def borders(aside_cost: float) -> tuple[int, int]:
        left, right = best_bounds(
            np.full((5, 20), -0.1),
            edge,
            step_cost=0.6,
            off_cost=0.0,
            least_cells=2,
            aside_cost=aside_cost,
        )
        return int(left[0]), int(right[0])

    assert borders(0.0) == (1, 5)
    assert borders(0.3) == (8, 12)
