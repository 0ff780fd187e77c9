"""The sun through a day."""

from datetime import datetime, timedelta

import pytest

from render.errors import InputError
from render.world.day import moments, spans_where, sun_day
from render.world.sun import sun_position

GOLDEN = ("2003-10-17T12:30:30-07:00", 39.742476, -105.1786)


def test_the_sun_rises_as_in_the_published_example() -> None:
    """Reda and Andreas 2004 (NREL/TP-560-34302), their example day: sunrise at 06:12:43.

    The time is given from memory of the example's printed output; at both ends the sun's centre
    stands 50 minutes of arc below the horizon, by the position that is checked in `test_sun`.
    """
    day = sun_day(*GOLDEN)

    assert day.rise is not None
    assert day.set is not None
    assert abs(day.rise - datetime.fromisoformat("2003-10-17T06:12:43-07:00")) < timedelta(
        minutes=1
    )
    for moment in (day.rise, day.set):
        height = sun_position(moment.isoformat(), *GOLDEN[1:])[1]
        assert height == pytest.approx(-50 / 60, abs=0.05)


def test_golden_hour_lies_at_both_ends_and_blue_outside_it() -> None:
    """Morning and evening; blue hour joins golden hour on the dark side; heights are the bounds."""
    day = sun_day(*GOLDEN)
    (blue_m, blue_e), (gold_m, gold_e) = day.blue, day.golden

    assert abs(blue_m[1] - gold_m[0]) < timedelta(minutes=1)
    assert abs(gold_e[1] - blue_e[0]) < timedelta(minutes=1)
    for moment, height in ((gold_m[0], -4), (gold_m[1], 6), (blue_m[0], -6), (gold_e[0], 6)):
        assert sun_position(moment.isoformat(), *GOLDEN[1:])[1] == pytest.approx(height, abs=0.1)


def test_an_evening_over_midnight_is_told_in_one() -> None:
    """In the far north at midsummer, asked before midnight and after it: no stretch ends there."""
    for clock, first in (("22:40", 21), ("00:10", 20)):
        day = sun_day(f"2026-06-21T{clock}+02:00", 57.0, -3.0)
        over = [span for span in day.blue if span[0].day != span[1].day]

        assert [span[0].day for span in over] == [first]
        for moment in over[0]:
            height = sun_position(moment.isoformat(), 57.0, -3.0)[1]
            assert min(abs(height + 4), abs(height + 6)) < 0.1


def test_six_moments_of_the_light_day() -> None:
    """Quarters of an hour, in order, all with the sun up."""
    found = moments(*GOLDEN, 6)

    assert len(found) == 6
    assert found == sorted(found)
    assert all(moment.minute % 15 == 0 for moment in found)
    assert all(sun_position(m.isoformat(), *GOLDEN[1:])[1] > 0 for m in found)


def test_a_day_without_sun_is_said() -> None:
    """In the polar night nothing rises; in the polar day nothing sets."""
    with pytest.raises(InputError, match="does not rise"):
        moments("2026-12-21T12:00+01:00", 78.0, 15.0, 6)
    day = sun_day("2026-06-21T12:00+02:00", 78.0, 15.0)
    assert day.rise is day.set is None
    with pytest.raises(InputError, match="offset"):
        sun_day("2026-06-21T12:00", 50.0, 8.0)


def test_stretches_that_run_over_midnight_end_with_the_day() -> None:
    """What always holds is one stretch of 24 hours, what never holds is none."""
    ((start, end),) = spans_where(GOLDEN[0], lambda moment: True)

    assert end - start == timedelta(days=1)
    assert spans_where(GOLDEN[0], lambda moment: False) == ()
