"""Holding a setting to a lens."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from render.errors import SettingError
from render.optics.lens import FocusDistance, FocusExtension, LensSetting
from render.optics.solving.holding import (
    hold,
    lean_words,
    misfits,
    nearest_inside,
    reach_words,
    ring_of,
    ring_words,
)
from render.optics.solving.limits import LensLimits
from render.optics.solving.movements import total_and_azimuth

LENS = LensLimits(
    name="mid 50",
    focal_mm=50,
    widest_f_number=2.8,
    smallest_f_number=22,
    tilt_limit_deg=8,
    shift_limit_mm=10,
    closest_focus_m=0.45,
    ring_turn_deg=150,
)
ONE_WAY = LensLimits(
    name="plain 50",
    focal_mm=50,
    widest_f_number=2.8,
    smallest_f_number=22,
    tilt_limit_deg=8,
    axis_turns=False,
    closest_focus_m=0.45,
)


def _set(**values: float) -> LensSetting:
    at: dict[str, float] = {"focal_mm": 50, "f_number": 4}
    return LensSetting(focus=FocusDistance(9.0), **{**at, **values})  # type: ignore[arg-type]


@given(
    st.floats(-20, 20), st.floats(-20, 20), st.floats(-15, 15), st.floats(-15, 15), st.floats(1, 64)
)
def test_the_nearest_setting_inside_is_inside(
    tilt: float, swing: float, rise: float, lateral: float, f_number: float
) -> None:
    """What is named as nearest has no misfit of its own, on either kind of lens."""
    wanted = _set(
        tilt_deg=tilt, swing_deg=swing, rise_mm=rise, lateral_mm=lateral, f_number=f_number
    )
    for lens in (LENS, ONE_WAY):
        nearest = nearest_inside(lens, wanted)

        assert misfits(lens, nearest) == ()
        assert nearest_inside(lens, nearest) == nearest


@given(st.floats(8.5, 20), st.floats(-179, 179))
def test_a_lens_on_one_axis_keeps_the_way_it_leans(total: float, azimuth: float) -> None:
    """Too much tilt is given up, not the direction; the nearest has the limit's angle."""
    cosine = math.cos(math.radians(azimuth))
    tilt = math.degrees(math.asin(math.sin(math.radians(total)) * math.sin(math.radians(azimuth))))
    swing = math.degrees(
        math.atan2(math.sin(math.radians(total)) * cosine, math.cos(math.radians(total)))
    )
    nearest = nearest_inside(LENS, _set(tilt_deg=tilt, swing_deg=swing))
    found, way = total_and_azimuth(nearest.tilt_deg, nearest.swing_deg)

    assert found == pytest.approx(8, abs=0.02)
    assert math.remainder(way - azimuth, 360) == pytest.approx(0, abs=0.2)


def test_every_misfit_is_told_with_the_nearest_inside() -> None:
    """Each thing the lens cannot do is named once, with what it can."""
    told = misfits(LENS, _set(focal_mm=60, f_number=1.4, tilt_deg=-12, rise_mm=14))

    assert told == (
        "60 mm is not the focal length of the lens mid 50, which has 50 mm",
        "the lens mid 50 does not open to f/1.4: the nearest is f/2.8",
        "lens up 12° is more than the lens mid 50 tilts (8° any way): the nearest is lens up 8°",
        "the lens mid 50 shifts 10 mm, not 14 mm: the nearest is rise 10 mm",
    )
    with pytest.raises(SettingError, match="the nearest is f/22"):
        hold(LENS, _set(f_number=45))
    hold(LENS, _set(f_number=22.6, tilt_deg=-8))


def test_tilt_and_swing_share_one_axis() -> None:
    """Up 8 with left 3 is 8.5 degrees on the axis that a lens with a turning mount has."""
    (told,) = misfits(LENS, _set(tilt_deg=-8, swing_deg=-3))

    assert "lens up 8°, lens left 3° is 8.5° on its one axis and is more than" in told
    assert "cannot swing" in misfits(ONE_WAY, _set(tilt_deg=-3, swing_deg=-3))[0]


def test_the_ring_is_read_and_its_ends_are_told() -> None:
    """The ring says subject to sensor and its turn; past an end it says how far."""
    near = LensSetting(focal_mm=50, f_number=4, focus=FocusExtension(LENS.longest_extension_mm + 2))
    past = LensSetting(focal_mm=50, f_number=4, focus=FocusExtension(49.5))

    assert ring_words(ring_of(LENS, _set())) == "9.05 m (6° from infinity)"
    assert "2.0 mm are missing" in reach_words(LENS, ring_of(LENS, near))
    assert "0.50 mm past infinity" in reach_words(LENS, ring_of(LENS, past))
    assert reach_words(LENS, ring_of(LENS, _set())) == ""
    assert ring_words(ring_of(ONE_WAY, _set())) == "9.05 m"


def test_leaning_is_said_in_one_phrase() -> None:
    """Both movements in words, none as a straight lens."""
    assert lean_words(-8, 0) == "lens up 8°"
    assert lean_words(2.004, -3) == "lens down 2°, lens left 3°"
    assert lean_words(0, 0) == "lens straight"
