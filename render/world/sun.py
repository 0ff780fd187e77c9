"""Where the sun stands at a date and place."""

import math
from datetime import UTC, datetime

from render.errors import InputError

__all__ = ["ITSELF", "sun_position"]

#: What shades a place that is turned away from the sun.
ITSELF = "itself"


def sun_position(when: str, latitude_deg: float, longitude_deg: float) -> tuple[float, float]:
    """Compass heading and height of the sun, degrees, without refraction.

    J. Meeus, *Astronomical Algorithms*, 2nd ed. 1998, chapters 22, 25 (low accuracy, 0.01 degrees),
    12 and 13.  Checked against the worked example of chapter 25 and of Reda and Andreas 2004.

    Parameters
    ----------
    when : str
        ISO 8601 with an offset, "2026-06-21T15:30+02:00" or "...Z".
    latitude_deg, longitude_deg : float
        North and east are positive.

    Raises
    ------
    InputError
        If the date cannot be read, has no offset from UTC, or the place is not on Earth.
    """
    try:
        moment = datetime.fromisoformat(when)
    except ValueError:
        raise InputError(
            f'"{when}" is not a date and time such as "2026-06-21T15:30+02:00"'
        ) from None
    if moment.tzinfo is None:
        raise InputError(f'"{when}" needs its offset from UTC, such as +02:00 or Z at the end')
    if not (abs(latitude_deg) <= 90 and abs(longitude_deg) <= 180):
        raise InputError("a place is latitude -90 to 90 and longitude -180 to 180")
    days = (moment - datetime(2000, 1, 1, 12, tzinfo=UTC)).total_seconds() / 86400.0
    ascension, declination = sun_coordinates(days)
    t = days / 36525.0
    sidereal = 280.46061837 + 360.98564736629 * days + 0.000387933 * t * t
    hour = math.radians(sidereal + longitude_deg) - ascension
    phi = math.radians(latitude_deg)
    height = math.asin(
        math.sin(phi) * math.sin(declination)
        + math.cos(phi) * math.cos(declination) * math.cos(hour)
    )
    west = math.atan2(
        math.sin(hour), math.cos(hour) * math.sin(phi) - math.tan(declination) * math.cos(phi)
    )
    return (math.degrees(west) + 180.0) % 360.0, math.degrees(height)


def sun_coordinates(days: float) -> tuple[float, float]:
    """Apparent right ascension and declination (radians), `days` after 2000 January 1.5."""
    t = days / 36525.0
    mean = math.radians(357.52911 + 35999.05029 * t - 0.0001537 * t * t)
    centre = (
        (1.914602 - 0.004817 * t - 0.000014 * t * t) * math.sin(mean)
        + (0.019993 - 0.000101 * t) * math.sin(2 * mean)
        + 0.000289 * math.sin(3 * mean)
    )
    node = math.radians(125.04 - 1934.136 * t)
    true = 280.46646 + 36000.76983 * t + 0.0003032 * t * t + centre
    seen = math.radians(true - 0.00569 - 0.00478 * math.sin(node))
    tilt = 23.0 + 26.0 / 60 + 21.448 / 3600 - (46.8150 * t + 0.00059 * t * t) / 3600
    obliquity = math.radians(tilt + 0.00256 * math.cos(node))
    ascension = math.atan2(math.cos(obliquity) * math.sin(seen), math.cos(seen))
    return ascension, math.asin(math.sin(obliquity) * math.sin(seen))
