"""Revolving mounts, image circles, pivots."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from render.optics.lens import FocusExtension, LensSetting
from render.optics.plane import FocusedLens, focus_lens, lens_axis
from render.optics.solving.movements import (
    Pivot,
    mount_turn,
    revolved,
    total_and_azimuth,
)


@given(st.floats(0.1, 15.0), st.floats(-179.0, 179.0))
def test_revolved_mount_leans_where_it_says(total: float, azimuth: float) -> None:
    """Tilt and swing of a revolved mount give an axis at the scale's angle, leaning that way."""
    axis = lens_axis(*revolved(total, azimuth))

    assert math.degrees(math.acos(axis[2])) == pytest.approx(total, abs=1e-6)
    assert math.degrees(math.atan2(axis[1], axis[0])) == pytest.approx(azimuth, abs=1e-6)
    assert total_and_azimuth(*revolved(total, azimuth)) == pytest.approx((total, azimuth), abs=1e-9)


def test_pivot_behind_the_centre_drops_the_framing_with_the_lens() -> None:
    """Tilted down about an axis 40 mm behind its centre, the lens sinks and comes nearer."""
    straight = _lens(90.0, 0.0)
    down = Pivot(40.0).carried(straight, 8, 0)
    up, left = Pivot(40.0).carried(straight, -8, 0), Pivot(40.0).carried(straight, 0, -8)

    assert down.moved_mm == pytest.approx((0, 5.567, -0.389), abs=1e-3)
    assert down.extension_mm == pytest.approx(90 - 0.389, abs=1e-3)
    assert up.moved_mm == pytest.approx((0, -5.567, -0.389), abs=1e-3)
    assert left.moved_mm == pytest.approx((-5.567, 0, -0.389), abs=1e-3)
    assert Pivot(0.0).carried(straight, 8, 0).moved_mm == (0, 0, 0)


@given(st.floats(-60, 90), st.floats(90, 115), st.floats(-9, 9), st.floats(-9, 9))
def test_turning_there_and_back_ends_where_it_began(
    behind: float, extension: float, tilt: float, swing: float
) -> None:
    """Whatever the pivot and focus, turning a lens and turning it back moves nothing."""
    pivot, start = Pivot(behind), _lens(extension, 3.0)
    there = pivot.carried(start, tilt, swing)
    back = pivot.carried(_lens(there.extension_mm, tilt, swing), 3.0, 0.0)

    assert back.extension_mm == pytest.approx(extension, abs=1e-9)
    assert np.add(there.moved_mm, back.moved_mm) == pytest.approx((0, 0, 0), abs=1e-9)


def test_a_focused_lens_moves_the_view_by_its_whole_arm() -> None:
    """The view moves by the arm from pivot to centre, focus included: (40 + 10) sin 8 degrees."""
    lens = _lens(50 * math.cos(math.radians(8)) + 50, 0.0, -8.0)

    assert Pivot(40.0).view_moves_mm(lens) == pytest.approx((-50 * math.sin(math.radians(8)), 0))


def test_the_mount_turns_at_most_a_quarter() -> None:
    """Every lean is reached by a quarter turn at most and then tilting up or down."""
    assert mount_turn(90) == (0, "down")
    assert mount_turn(-90) == (0, "up")
    assert mount_turn(180) == (90, "down")
    assert mount_turn(120) == (30, "down")
    assert mount_turn(-60) == (30, "up")


def _lens(extension: float, tilt: float, swing: float = 0.0) -> FocusedLens:
    return focus_lens(
        LensSetting(
            focal_mm=90,
            f_number=4,
            focus=FocusExtension(extension),
            tilt_deg=tilt,
            swing_deg=swing,
        )
    )
