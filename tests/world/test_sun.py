"""Where the sun stands, against published worked examples."""

import math

import pytest

from render.errors import InputError
from render.world.sun import sun_coordinates, sun_position


def test_the_worked_example_of_meeus() -> None:
    """J. Meeus, Astronomical Algorithms, example 25.a: 1992 October 13 at 0 TD."""
    ascension, declination = sun_coordinates(2448908.5 - 2451545.0)

    assert math.degrees(ascension) % 360 == pytest.approx(198.38083, abs=2e-5)
    assert math.degrees(declination) == pytest.approx(-7.78507, abs=2e-5)


def test_the_worked_example_of_the_solar_position_algorithm() -> None:
    """I. Reda and A. Andreas, NREL/TP-560-34302 (2004, revised 2008), appendix A.5.

    Zenith 50.11162 and azimuth 194.34024 degrees; refraction there lifts the sun by 0.0163.
    """
    heading, height = sun_position("2003-10-17T12:30:30-07:00", 39.742476, -105.1786)

    assert heading == pytest.approx(194.34024, abs=0.01)
    assert height == pytest.approx(90 - 50.11162 - 0.0163, abs=0.01)


def test_the_sun_stands_overhead_where_it_should() -> None:
    """At the June solstice, noon, on the tropic of Cancer."""
    _heading, height = sun_position("2024-06-20T12:02Z", 23.44, 0.0)

    assert height > 89.5


@pytest.mark.parametrize(
    ("when", "place", "match"),
    [
        ("soon", (0, 0), "not a date"),
        ("2026-06-21T12:00", (0, 0), "offset"),
        ("2026-06-21T12:00Z", (91, 0), "latitude"),
    ],
)
def test_bad_dates_and_places_are_refused(
    when: str, place: tuple[float, float], match: str
) -> None:
    """Each with the form that is wanted."""
    with pytest.raises(InputError, match=match):
        sun_position(when, *place)
