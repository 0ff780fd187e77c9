"""Revolving mounts, image circles, pivots."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from render.optics.lens import FocusDistance, LensSetting
from render.optics.plane import focus_lens, lens_axis
from render.optics.solving.movements import (
    Pivot,
    image_circle_centre_mm,
    revolved,
    total_and_azimuth,
    vanishing_y_mm,
)


@given(st.floats(0.1, 15.0), st.floats(-179.0, 179.0))
def test_revolved_mount_leans_where_it_says(total: float, azimuth: float) -> None:
    """Tilt and swing of a revolved mount give an axis at the scale's angle, leaning that way."""
    axis = lens_axis(*revolved(total, azimuth))

    assert math.degrees(math.acos(axis[2])) == pytest.approx(total, abs=1e-6)
    assert math.degrees(math.atan2(axis[1], axis[0])) == pytest.approx(azimuth, abs=1e-6)
    assert total_and_azimuth(*revolved(total, azimuth)) == pytest.approx((total, azimuth), abs=1e-9)


@given(st.floats(-12, 12), st.floats(-12, 12))
def test_image_circle_follows_the_axis(tilt: float, swing: float) -> None:
    """The image circle's centre is where the axis meets the picture, on the side it leans to."""
    lens = focus_lens(
        LensSetting(focal_mm=90, f_number=4, focus=FocusDistance(9), tilt_deg=tilt, swing_deg=swing)
    )
    x, y = image_circle_centre_mm(lens)

    along = np.array([x, y, lens.extension_mm])
    np.testing.assert_allclose(along / np.linalg.norm(along), lens_axis(tilt, swing), atol=1e-12)


def test_pivot_behind_the_centre_drops_the_framing_with_the_lens() -> None:
    """Tilted down about an axis 40 mm behind its centre, the lens sinks and comes nearer."""
    pivot = Pivot(40.0)

    assert pivot.centre_moves_mm(8) == pytest.approx(5.567, abs=1e-3)
    assert pivot.centre_moves_mm(-8) == -pivot.centre_moves_mm(8)
    assert pivot.extension_shrinks_mm(8) == pytest.approx(0.389, abs=1e-3)
    assert Pivot(0.0).centre_moves_mm(8) == 0


def test_verticals_of_a_level_camera_never_meet() -> None:
    """A level camera keeps verticals parallel; pitched down they meet below."""
    assert vanishing_y_mm(45, 0) == math.inf
    assert 0 < vanishing_y_mm(45, 20) < vanishing_y_mm(45, 10)
