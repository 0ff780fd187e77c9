"""What a cut-out left off beside a straight border comes along."""

import numpy as np
from numpy.typing import NDArray

from render.depth.near.run_on import running_on


def _found(picture: NDArray[np.float32], top: int, bottom: int) -> tuple[int, int]:
    """First row and the row after the last of what a region across the picture becomes."""
    region = np.zeros(picture.shape[:2], bool)
    region[top:bottom] = True
    middle = (top + bottom) / 2
    found = running_on(picture, np.array([(5.0, middle), (295.0, middle)]), region)
    rows = np.flatnonzero(found.mean(axis=1) > 0.5)
    return int(rows[0]), int(rows[-1]) + 1


def _street() -> NDArray[np.float32]:
    rng = np.random.default_rng(4)
    blocks = rng.uniform(0.35, 0.8, (20, 30, 3)).astype(np.float32)
    picture = np.repeat(np.repeat(blocks, 10, axis=0), 10, axis=1)
    return picture + rng.normal(0, 0.004, picture.shape).astype(np.float32)


def test_a_lit_top_is_the_rail_s_and_what_changes_along_it_is_not() -> None:
    """A dark rail from row 90 with a lit top from row 84, found without it."""
    picture = _street()
    picture[90:104] = 0.1
    assert _found(picture, 90, 104) == (90, 104)

    picture[84:90] = 0.25
    top, bottom = _found(picture, 90, 104)

    assert abs(top - 84) <= 1
    assert bottom == 104


def test_a_plain_board_goes_on_to_the_picture_s_end_where_no_border_is_seen() -> None:
    """A parapet from row 120 to the last, of which the last ten rows were left off."""
    picture = _street()
    picture[120:] = 0.5

    assert _found(picture, 120, 190) == (120, 200)
