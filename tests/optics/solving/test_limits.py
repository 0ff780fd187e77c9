"""What one lens can do."""

import math
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from render.errors import SettingError
from render.optics.solving.limits import unusual_words
from tests.lenses import LONG


@given(st.floats(0.5, 500.0))
def test_untilted_ring_shows_the_distance_to_the_sensor(distance: float) -> None:
    """Without tilt the ring shows subject to sensor, v + u with 1/u + 1/v = 1/f."""
    d, f = 1000 * distance, 90.0
    extension = (d - math.sqrt(d * d - 4 * d * f)) / 2
    ring = LONG.ring_reading(extension, 0, 0)

    assert ring.distance_m == pytest.approx(distance, rel=1e-6)
    assert (ring.beyond_infinity_mm, ring.too_near_mm) == (0, 0)


def test_tilting_carries_the_focus_with_the_pivot() -> None:
    """Tilted about an axis behind it, a lens left at infinity stands nearer to the sensor."""
    sunk = 40 * (1 - math.cos(math.radians(8)))
    ring = LONG.ring_reading(90 - sunk, 8, 0)

    assert ring.distance_m == math.inf
    assert ring.beyond_infinity_mm == pytest.approx(0, abs=1e-9)
    assert LONG.ring_reading(90 - sunk - 0.5, 8, 0).beyond_infinity_mm == pytest.approx(
        0.5 / math.cos(math.radians(8))
    )


def test_nearer_than_the_nearest_mark_is_told() -> None:
    """An extension past that of the closest focus is named with how much it is too long."""
    longest = LONG.longest_extension_mm

    assert LONG.ring_reading(longest, 0, 0).too_near_mm == 0
    assert LONG.ring_reading(longest + 2, 0, 0).too_near_mm == pytest.approx(2, abs=1e-6)


@given(st.floats(0.5, 64))
def test_stop_is_the_next_third_within_the_range(wanted: float) -> None:
    """The f-number set is on the scale, not wider than needed unless the scale ends there."""
    found = LONG.f_number_at_least(wanted)

    assert 2.8 <= found <= 22
    assert found >= wanted * (1 - 1e-6) or found == 22
    assert found <= max(2.8, wanted * 2 ** (1 / 6) * (1 + 1e-6))


def test_fixed_axis_takes_away_the_swing() -> None:
    """A lens whose axis does not turn tilts only; asking it to swing alone is refused."""
    fixed = replace(LONG, axis_turns=False)

    assert LONG.freedom().swing
    assert not fixed.freedom().swing
    assert fixed.freedom().limit_deg == 8
    with pytest.raises(SettingError, match="cannot swing"):
        fixed.freedom(tilt=False)


@pytest.mark.parametrize(
    "wrong",
    [
        {"focal_mm": 0},
        {"widest_f_number": math.nan},
        {"smallest_f_number": 2},
        {"tilt_limit_deg": -1},
        {"tilt_limit_deg": 60},
        {"shift_limit_mm": math.nan},
        {"marks_per_degree": 0},
        {"pivot_behind_mm": math.inf},
        {"closest_focus_m": 0.2},
    ],
)
def test_impossible_limits_are_refused(wrong: dict[str, float]) -> None:
    """Limits that no lens has are refused."""
    with pytest.raises(SettingError):
        replace(LONG, **wrong)


def test_what_no_usual_lens_does_is_said() -> None:
    """Beyond 8 degrees of lean, or stops of tilting lenses; a straight fast lens is none."""
    assert "leans 80°" in unusual_words(2.8, 80, 0)
    assert "has f/0.3 (usual: f/0.95 to f/64)" in unusual_words(0.3, 0, 0)
    assert "has f/1.4" in unusual_words(1.4, 2, 0)
    assert not unusual_words(1.4, 0, 0) + unusual_words(22.6, 0, -8) + unusual_words(2.8, 8, 0)
