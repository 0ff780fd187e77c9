"""A sample borrows from the neighbour that looks at its own surface, and from no other."""

import numpy as np
import pytest

from render.trace.columns import DEPTH, FACE, LENT, SLOTS, SOFT_NEARNESS, SOFT_RAYS, SUMS, SURFACE
from render.trace.kernels.lending import column_of, lender, row_of, slot_for
from render.trace.trace import eye_numbers
from tests.steps import opened
from tests.world.worlds import eye_level

VIEW = eye_level()
CAMERA = VIEW.camera()
EYE = eye_numbers(VIEW, CAMERA)
WALL = 7


def _lender(
    right: float,
    down: float,
    depth_m: float = 5.0,
    mark: int = WALL,
    by: int = 0,
    lit_from_m: float = 9.0,
) -> tuple[int, float]:
    """Who lends to a sample of pixel (20, 30), amid a wall 5 m away but for that pixel itself.

    And what share of its soft light.
    """
    shape = (CAMERA.height_px, CAMERA.width_px)
    surface, key = np.zeros((*shape, SURFACE), np.float32), np.full(shape, WALL)
    sums = np.zeros((*shape, SUMS), np.float32)
    sums[..., SOFT_RAYS], sums[..., SOFT_NEARNESS] = 4, 4 / lit_from_m
    surface[..., 2], surface[..., DEPTH] = -1, 5
    key[20, 30], key[20, 31] = 3, 4
    h, held = np.zeros(24), np.zeros(SLOTS * LENT, np.float32)
    h[FACE : FACE + 3] = np.negative(EYE[9:12])
    held[0] = by
    place = (20, 30, right, down)
    by, worth = opened(lender)(sums, surface, key, EYE, *place, h, depth_m, mark, held, LENT)
    return int(by), float(worth)


@pytest.mark.parametrize(
    ("right", "down", "row", "column"),
    [(0.1, 0.5, 0, -1), (0.4, 0.1, 0, -1), (0.9, 0.8, 1, 0), (0.9, 0.2, -1, 0)],
)
def test_who_shows_the_surface_on_the_samples_side_lends(
    right: float, down: float, row: int, column: int
) -> None:
    """To the left; else above or below, as the right one shows something else."""
    by, _worth = _lender(right, down)

    assert (opened(row_of)(by), opened(column_of)(by)) == (row, column)


def test_who_lends_already_goes_first() -> None:
    """One surface, one lender."""
    assert _lender(0.9, 0.8)[0] != 1
    assert _lender(0.9, 0.8, by=1) == (1, 1.0)


def test_nobody_lends_to_another_surface_or_another_plane() -> None:
    """Another mark; the same stuff half a metre farther away."""
    assert _lender(0.1, 0.5, mark=8)[0] == 0
    assert _lender(0.1, 0.5, depth_m=5.5)[0] == 0


def test_a_lender_stands_for_less_the_faster_soft_light_changes() -> None:
    """The lender's centre, 0.6 px away: all within a tenth of what sends the light, half at 0.3.

    Beyond 0.6 nobody lends.
    """
    away_m = 0.6 * 5 / CAMERA.focal_px

    assert _lender(0.1, 0.5, lit_from_m=10.4 * away_m)[1] == 1.0
    assert _lender(0.1, 0.5, lit_from_m=away_m / 0.3)[1] == pytest.approx(0.5, abs=0.01)
    assert _lender(0.1, 0.5, lit_from_m=away_m / 0.59)[0] > 0
    assert _lender(0.1, 0.5, lit_from_m=away_m / 0.61)[0] == 0


def test_slots_are_taken_once_and_run_out() -> None:
    """Two lenders find room, and each finds its own again."""
    held = np.zeros(SLOTS * LENT, np.float32)
    found = [opened(slot_for)(held, LENT, by) for by in (4, 6, 4, 8)]

    assert found == [0, LENT, 0, -1]
