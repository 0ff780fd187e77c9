"""In which units lengths on site are told, and those that are round in them."""

import os
from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar

from render.errors import SettingError

__all__ = [
    "FOOT_M",
    "MILE_M",
    "UNITS_SETTING",
    "imperial",
    "in_feet",
    "parse_units",
    "round_metres",
    "speed_words",
    "spoken_in",
    "told_in",
    "units_told",
]

#: The variable of the environment that says how lengths on site are told: "metres" or "feet".
#: What is told alone: a number without a unit is metres for everybody, and so is all in records.
UNITS_SETTING = "HINGELINE_UNITS"
#: The same for one piece of work in a process that does several.
_TOLD: ContextVar[str | None] = ContextVar("units told", default=None)
#: The international foot, 1959.
FOOT_M = 0.3048
MILE_M = 5280 * FOOT_M
#: Below so many feet lengths are told in inches.
_INCHES_BELOW_FT = 3


def round_metres(length_m: float, digits: int = 3) -> str:
    """A length that is round in metres, without digits that say nothing, centimetres below 1 m.

    >>> round_metres(3.0), round_metres(0.3), round_metres(0.2619), round_metres(0.2619, 2)
    ('3 m', '30 cm', '26.2 cm', '26 cm')
    >>> with told_in("feet"):
    ...     round_metres(3.0), round_metres(0.3)
    ('9.84 ft', '11.8 in')
    """
    size, name = (1.0, "m") if length_m >= 0.995 else (0.01, "cm")
    if in_feet():
        size, name = imperial(length_m)
    return f"{float(f'{length_m / size:.{digits}g}'):g} {name}"


def speed_words(speed_m_per_s: float) -> str:
    """A speed on the road: "30 km/h", or "19 mph".

    >>> speed_words(30 / 3.6)
    '30 km/h'
    """
    if in_feet():
        return f"{speed_m_per_s * 3600 / (MILE_M):.0f} mph"
    return f"{speed_m_per_s * 3.6:.0f} km/h"


def imperial(length_m: float) -> tuple[float, str]:
    """Metres in the unit that fits a length, and its short name.

    >>> imperial(0.5)[1], imperial(20.0)[1], imperial(5000.0)[1]
    ('in', 'ft', 'mi')
    """
    if length_m >= MILE_M:
        return MILE_M, "mi"
    return (FOOT_M, "ft") if length_m >= _INCHES_BELOW_FT * FOOT_M else (FOOT_M / 12, "in")


def parse_units(text: str) -> str:
    """Read in which units lengths on site are told: "metres" or "feet"."""
    plain = text.strip().lower()
    if plain not in ("metres", "feet"):
        raise SettingError(f'units "{text}": write metres or feet')
    return plain


def units_told() -> str:
    """In which units lengths on site are told now: "metres" or "feet"."""
    return "feet" if in_feet() else "metres"


def in_feet() -> bool:
    """Whether lengths on site are told in feet, inches and miles."""
    return (_TOLD.get() or os.environ.get(UNITS_SETTING)) == "feet"


@contextmanager
def told_in(units: str) -> Iterator[None]:
    """Tell lengths in these units in one piece of work, whatever else its process does."""
    before = _TOLD.set(units)
    try:
        yield
    finally:
        _TOLD.reset(before)


@contextmanager
def spoken_in(units: str | None) -> Iterator[None]:
    """Tell lengths in these units for a while, in processes that begin meanwhile too.

    What the environment says already wins; None changes nothing.

    Raises
    ------
    SettingError
        If the environment says something else than metres or feet.
    """
    said = os.environ.get(UNITS_SETTING)
    if said:
        try:
            parse_units(said)
        except SettingError as error:
            raise SettingError(f"{UNITS_SETTING} in the environment: {error}") from None
    if said or units is None:
        yield
        return
    os.environ[UNITS_SETTING] = units
    try:
        yield
    finally:
        del os.environ[UNITS_SETTING]
