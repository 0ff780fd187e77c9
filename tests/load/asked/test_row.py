"""Which places of a row count."""

import numpy as np

from render.load.asked.row import row_of


def _row(*depths_m: float) -> list[np.ndarray]:
    return [np.array([0.1 * k * z, 0.0, z]) for k, z in enumerate(depths_m)]


def test_a_straight_row_is_its_ends_and_its_middle() -> None:
    """Its inverse depth runs evenly from end to end, so nothing of it stands off that line."""
    start, *between, end = _row(*(1.0 / np.linspace(0.5, 0.2, 7)))
    row = row_of(start, between, end)

    assert list(row.seen) == ["first", "middle", "last"]
    assert row.gaps_m == ()


def test_what_shows_through_a_row_is_no_part_of_it() -> None:
    """In a gap its middle is that of the line; what bulges to either side is one more place."""
    start, *between, end = _row(4.0, 3.8, 4.3, 30.0, np.inf, 3.0, 4.0)
    row = row_of(start, between, end)

    assert list(row.seen) == [
        "first",
        "part standing forward",
        "part standing back",
        "middle",
        "last",
    ]
    assert [point[2] for point in row.seen.values()] == [4.0, 3.8, 4.3, 4.0, 4.0]
    assert row.gaps_m == (30.0, np.inf, 3.0)
