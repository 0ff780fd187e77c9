"""Values as people type them, in words and units, read into numbers.

The other way, numbers into words, is `render.words`.
"""

import math
import re
import unicodedata
from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar

from render.decimals import pointed
from render.errors import SettingError
from render.units import FOOT_M, MILE_M, in_feet
from render.words import DIRECTIONS

__all__ = [
    "FILM_FORMATS_MM",
    "SENSOR_FORMATS_MM",
    "bare_lengths",
    "in_degrees",
    "length_m",
    "parse_direction",
    "parse_duration_s",
    "parse_f_number",
    "parse_height_m",
    "parse_millimetres",
    "parse_pitch",
    "parse_place",
    "parse_seconds",
    "parse_size_mm",
]

#: Sizes of usual sensors in mm, as camera makers state them in general (from memory).
SENSOR_FORMATS_MM = {
    "full frame": (36.0, 24.0),
    "aps-c": (23.6, 15.7),
    "four thirds": (17.3, 13.0),
    "one inch": (13.2, 8.8),
    "medium 44x33": (43.8, 32.9),
    "medium 54x40": (53.4, 40.0),
    "super 35": (24.89, 18.66),
}
#: Film by the names of the trade, which are no millimetres: sheets in inches by their cut size,
#: roll film in centimetres by its picture (all from memory).
FILM_FORMATS_MM = {
    "4x5 in": (127.0, 101.6),
    "5x7 in": (177.8, 127.0),
    "8x10 in": (254.0, 203.2),
    "6x4.5 cm": (56.0, 41.5),
    "6x6 cm": (56.0, 56.0),
    "6x7 cm": (69.5, 56.0),
    "6x9 cm": (84.0, 56.0),
    "9x12 cm": (120.0, 90.0),
}
_STOREY_M = 3.0
#: Where lengths that came without a unit are noted, while somebody asks for that.
_BARE: ContextVar[list[str] | None] = ContextVar("lengths without a unit", default=None)
_FILLERS = ("", "lens", "shift")
_NUMBER = r"(\d+(?:\.\d*)?|\.\d+)"
_LENGTH = re.compile(rf"\s*(?P<minus>[-−]?)\s*(?P<number>{_NUMBER[1:-1]})\s*(?P<unit>[^\W\d_]*)\s*")
_FEET_INCHES = re.compile(
    rf"\s*(?P<minus>[-−]?)\s*(?:(?P<feet>{_NUMBER[1:-1]})\s*(?:ft|feet|foot|(?P<foot>['’′]))[\s-]*)?"
    rf"(?:(?P<inches>{_NUMBER[1:-1]})\s*(?:in|inch|inches|(?P<mark>[\"”″]|''|’’|′′)))?\s*"
)
#: As tapes are read: "58 1/2", "58-1/2", "3/8"; "58½" is brought to it.
_FRACTION = re.compile(
    r"(?<![\d./])(?:(?P<whole>\d+)[\s-]+)?(?P<part>\d+)/(?P<of>[1-9]\d*)(?![\d./])"
)
#: Metres in one of each; the inch is 25.4 mm exactly (international yard and pound, 1959).
_METRES_IN = {
    **dict.fromkeys(("m", "metre", "metres"), 1.0),
    "km": 1000.0,
    "cm": 0.01,
    **dict.fromkeys(("ft", "feet", "foot"), FOOT_M),
    **dict.fromkeys(("in", "inch", "inches"), 0.0254),
    **dict.fromkeys(("yd", "yard", "yards"), 0.9144),
    **dict.fromkeys(("mi", "mile", "miles"), MILE_M),
    **dict.fromkeys(("storey", "storeys", "story", "stories", "floor", "floors"), _STOREY_M),
}
#: Seconds in one of each.
_SECONDS_IN = {
    "ms": 0.001,
    **dict.fromkeys(("s", "sec", "secs", "second", "seconds"), 1.0),
    **dict.fromkeys(("min", "mins", "minute", "minutes"), 60.0),
    **dict.fromkeys(("h", "hr", "hrs", "hour", "hours"), 3600.0),
}
#: Degrees and minutes of arc, with seconds or without: "3° 30'", "1 deg 15 min", "19°30'15''".
_ARC = re.compile(
    rf"(?P<deg>\d+)\s*(?:°|degrees|degree|deg)\s*"
    rf"(?P<min>{_NUMBER[1:-1]})\s*(?:['’′](?!['’′])|minutes?|mins?)"
    rf"(?:\s*(?P<s>{_NUMBER[1:-1]})\s*(?:[\"”″]|''|’’|′′|seconds?|secs?))?"
)
_DIRECTION = re.compile(
    rf"\s*(?P<before>[a-z ]*?)\s*{_NUMBER}\s*(?:°|degrees|deg|mm)?\s*(?P<after>[a-z]*)\s*"
)


def parse_f_number(text: str) -> float:
    """Read "f/2.8", "F2.8", "2.8" or "2,8".

    Raises
    ------
    SettingError
        If there is no number above 0 in it.
    """
    match = re.fullmatch(r"\s*[fF]?\s*/?\s*(\d+(?:\.\d*)?|\.\d+)\s*", pointed(text))
    value = float(match.group(1)) if match else 0.0
    if not value > 0:
        raise SettingError(f'f-number "{text}": give a number above 0, such as 2.8 or f/2.8')
    return value


def in_degrees(text: str) -> str:
    """A text with its degrees, minutes and seconds of arc in degrees alone.

    >>> in_degrees("down 3° 30'"), in_degrees("right 1 deg 15 min"), in_degrees("up 8°")
    ('down 3.5°', 'right 1.25°', 'up 8°')
    """

    def told(arc: re.Match[str]) -> str:
        minutes, seconds = float(arc["min"]), float(arc["s"] or 0)
        if minutes >= 60 or seconds >= 60:
            return arc[0]
        return f"{int(arc['deg']) + minutes / 60 + seconds / 3600:.10g}°"

    return _ARC.sub(told, text)


def parse_direction(kind: str, text: str) -> float:
    """Read "up 8", "8 up" or "0" for one movement, and return the signed number.

    Turns are also read in minutes of arc: "down 3° 30'".

    Parameters
    ----------
    kind : {"tilt", "swing", "rise", "lateral"}
        The movement; it fixes which words are allowed.
    text : str
        What the person wrote.

    Returns
    -------
    float
        Degrees (tilt, swing) or mm (rise, lateral) in the sign of `render.optics.camera`.

    Raises
    ------
    SettingError
        If the text has no number, a wrong word, or a number other than 0 without a word.

    Examples
    --------
    >>> parse_direction("tilt", "up 8"), parse_direction("swing", "left 2.5°")
    (-8.0, -2.5)
    """
    positive, negative = DIRECTIONS[kind]
    name = "shift" if kind == "lateral" else kind  # as its option is called
    allowed = f'write "{positive} 3", "{negative} 3" or "0"'
    plain = pointed(text.lower()).replace("rise", "up").replace("fall", "down")
    match = _DIRECTION.fullmatch(in_degrees(plain) if kind in ("tilt", "swing") else plain)
    if not match:
        raise SettingError(f'{name} "{text}" is not understood: {allowed}')
    words = [w for w in (*match["before"].split(), match["after"]) if w not in _FILLERS]
    value = float(match[2])
    if value == 0 and not words:
        return 0.0
    if len(words) != 1 or words[0] not in (positive, negative):
        raise SettingError(f'{name} "{text}" needs one direction: {allowed}')
    if kind in ("tilt", "swing") and value >= 90:
        raise SettingError(
            f'{name} "{text}": a lens turns by less than 90°; usual ones reach 8 to 12°'
        )
    return value if words[0] == positive else -value + 0.0


def parse_height_m(text: str) -> float:
    """Read a height or distance: "12", "12 m", "1.5km", "40 ft", or storeys of 3 m: "4 storeys".

    Units are m, km, cm, ft, in, yd, mi and storeys; without one it is metres. The 3 m from floor to
    floor are common practice, no source.

    Raises
    ------
    SettingError
        If it is no number above 0, or in another unit.

    Examples
    --------
    >>> parse_height_m("12 m"), parse_height_m("4 storeys")
    (12.0, 12.0)
    """
    match = _LENGTH.fullmatch(_in_inches(_decimal(pointed(text.lower()))))
    unit = match["unit"] if match else ""
    if not match or unit not in ("", *_METRES_IN):
        hint = f"write {_lengths()}"
        if match and unit == "mm":
            raise SettingError(f'"{text}" is a length on lens or sensor: {hint}')
        raise SettingError(f'"{text}" is not a length: {hint}')
    value = _above_0(match, text, _lengths())
    if not unit and (noted := _BARE.get()) is not None:
        noted.append(text.strip())
    return value * _METRES_IN.get(unit, 1.0)


def _lengths() -> str:
    """How a length on site is written, first in the unit that lengths are told in."""
    first = (
        'feet ("40 ft"), metres ("12 m")'
        if in_feet()
        else 'metres, such as 12 or 1.5 m, feet ("40 ft")'
    )
    return f'{first} or storeys ("4 storeys")'


@contextmanager
def bare_lengths() -> Iterator[list[str]]:
    """The lengths that are read meanwhile and came without a unit, so that they count as metres.

    >>> with bare_lengths() as bare:
    ...     parse_height_m("12"), parse_height_m("12 m")
    (12.0, 12.0)
    >>> bare
    ['12']
    """
    noted: list[str] = []
    before = _BARE.set(noted)
    try:
        yield noted
    finally:
        _BARE.reset(before)


def length_m(text: str) -> float | None:
    """A length on site with its unit, in metres, also 0 and below; None where it is none.

    >>> length_m("6 ft"), length_m("-0.5 m"), length_m("12"), length_m("50%")
    (1.8288000000000002, -0.5, None, None)
    """
    match = _LENGTH.fullmatch(_in_inches(_decimal(pointed(text.lower()))))
    if not match or match["unit"] not in _METRES_IN:
        return None
    value = float(match["number"]) * _METRES_IN[match["unit"]]
    return -value if match["minus"] else value


def _decimal(text: str) -> str:
    """A length with its common fractions as decimals.

    >>> [_decimal(text) for text in ("58 1/2 in", "4 ft 10½ in", "3/8 in", "12 m")]
    ['58.5 in', '4 ft 10.5 in', '0.375 in', '12 m']
    """
    spelled = "".join(
        f" {unicodedata.normalize('NFKC', sign).replace('⁄', '/')}"
        if unicodedata.decomposition(sign).startswith("<fraction>")
        else sign
        for sign in text
    )
    return _FRACTION.sub(
        lambda f: f"{int(f['whole'] or 0) + int(f['part']) / int(f['of']):.10g}", spelled.lstrip()
    )


def _in_inches(text: str) -> str:
    """A length as feet and inches are written together, or with their marks, in inches alone.

    >>> [_in_inches(text) for text in ("5 ft 3 in", "1'4''", '16"', "6 ft", "12 m")]
    ['63 in', '16 in', '16 in', '6 ft', '12 m']
    """
    match = _FEET_INCHES.fullmatch(text)
    if not match or not (match["feet"] or match["inches"]):
        return text
    one_word = not (match["feet"] and match["inches"]) and not (match["foot"] or match["mark"])
    if one_word or (match["feet"] and float(match["inches"] or 0) >= 12):
        return text
    return f"{match['minus']}{12 * float(match['feet'] or 0) + float(match['inches'] or 0):.10g} in"


def parse_seconds(text: str) -> float:
    """Read a time in seconds, 0 or more: "4", "250 ms", "1/50 s", "1 h 30 min", "0:20", "1:30 h".

    Two numbers with a colon are minutes and seconds, three begin with hours; "1:30 h" is hours
    and minutes.

    >>> parse_seconds("1/50 s"), parse_seconds("2 min"), parse_seconds("1h30")
    (0.02, 120.0, 5400.0)
    """
    plain = pointed(text.lower()).strip()
    for read in (_plain_time, _clock_time, _summed_time):
        value = read(plain)
        if value is not None:
            return value
    raise SettingError(
        f'"{text}" is not a time: write seconds, such as 4, "1/50 s", "2 min", "1 h 30 min" or '
        '"1:30:00"'
    )


def _plain_time(text: str) -> float | None:
    """One number, or a fraction, with a unit or none."""
    match = re.fullmatch(rf"{_NUMBER}\s*(?:/\s*{_NUMBER})?\s*({'|'.join(_SECONDS_IN)})?", text)
    below = float(match.group(2) or 1) if match else 0.0
    if not match or not below > 0:
        return None
    return float(match.group(1)) / below * _SECONDS_IN[match.group(3) or "s"]


def _clock_time(text: str) -> float | None:
    """Numbers parted by colons.

    >>> [_clock_time(text) for text in ("00:20", "1:30:00", "1:30 h", "2:05 min", "1:75")]
    [20.0, 5400.0, 5400.0, 125.0, None]
    """
    match = re.fullmatch(r"(\d+)((?::[0-5]?\d){1,2}(?:\.\d+)?)\s*([a-z]*)", text)
    if not match:
        return None
    parts = [float(part) for part in (match[1] + match[2]).split(":")]
    ends = {"": 1.0, "min": 1.0, "h": 60.0 if len(parts) == 2 else 1.0}
    named = match[3] if match[3] in ends else "h" if _SECONDS_IN.get(match[3]) == 3600 else None
    if named is None or (named == "min" and len(parts) == 3):
        return None
    return sum(part * 60.0**k for k, part in enumerate(reversed(parts))) * ends[named]


def _summed_time(text: str) -> float | None:
    """Hours, minutes and seconds one after the other; the last may lack its unit.

    >>> [_summed_time(text) for text in ("1 h 30 min", "1h30", "2m 5.5s", "1 hour and 30 minutes")]
    [5400.0, 5400.0, 125.5, 5400.0]
    """
    match = re.fullmatch(
        r"(?:(?P<h>\d+)\s*(?:h|hrs?|hours?))?[\s,]*(?:and\s)?\s*"
        r"(?:(?P<min>\d+)\s*(?:m|mins?|minutes?|(?=$)))?[\s,]*(?:and\s)?\s*"
        rf"(?:(?P<s>{_NUMBER[1:-1]})\s*(?:s|secs?|seconds?|(?=$)))?",
        text,
    )
    if not match:
        return None
    given = [name for name in ("h", "min", "s") if match[name]]
    if len(given) < 2:
        return None
    return float(sum(float(match[name]) * _SECONDS_IN[name] for name in given))


def parse_duration_s(text: str) -> float:
    """Read a time span in seconds, above 0: "2", "90 s", "10 min", "1.5 h".

    >>> parse_duration_s("10 min"), parse_duration_s("2")
    (600.0, 2.0)
    """
    value = parse_seconds(text)
    if not value > 0:
        raise SettingError(
            f'"{text}" is no time span, which is longer than 0: write seconds or minutes, '
            'such as "2 s" or "10 min"'
        )
    return value


def parse_millimetres(text: str) -> float:
    """Read a length in mm above 0: "45", "45 mm"."""
    match = _LENGTH.fullmatch(pointed(text.lower()))
    if not match or match["unit"] not in ("", "mm"):
        unit = " in mm" if match and match["unit"] in _METRES_IN else " on lens or sensor"
        raise SettingError(f'"{text}" is not a length{unit}: write millimetres, such as 45')
    return _above_0(match, text, "millimetres, such as 45")


def _above_0(match: re.Match[str], text: str, such_as: str) -> float:
    value = float(match["number"])
    if not (value > 0 and math.isfinite(value)) or match["minus"]:
        raise SettingError(f'"{text}" must be above 0: write {such_as}')
    return value


def parse_size_mm(text: str) -> tuple[float, float]:
    """Read a sensor's or film's size in mm, "36x24", or the name of a usual format, "4x5 in".

    A bare "4x5" is refused: it is a sheet in inches to the trade, and 4 by 5 mm to the letter.

    >>> parse_size_mm("36x24"), parse_size_mm("full frame"), parse_size_mm("4x5 in")
    ((36.0, 24.0), (36.0, 24.0), (127.0, 101.6))
    """
    named = SENSOR_FORMATS_MM.get(text.strip().lower())
    if named:
        return named
    match = re.fullmatch(
        rf"\s*{_NUMBER}\s*[x×]\s*{_NUMBER}\s*(mm|cm|in|inch|inches|\")?\s*", pointed(text.lower())
    )
    if not match or not (float(match.group(1)) > 0 and float(match.group(2)) > 0):
        raise SettingError(
            f'sensor "{text}": write its size in mm, such as 36x24, or one of '
            + ", ".join((*SENSOR_FORMATS_MM, *FILM_FORMATS_MM))
        )
    width, height, unit = float(match.group(1)), float(match.group(2)), match.group(3) or ""
    for name, size in FILM_FORMATS_MM.items():
        sides, film_unit = name.split()
        if {width, height} == set(map(float, sides.split("x"))):
            if not unit:
                raise SettingError(
                    f'sensor "{text}" may be film or millimetres: write "{name}" for film of '
                    f'{size[0]:g} x {size[1]:g} mm, or "{width:g}x{height:g} mm"'
                )
            if unit.startswith(film_unit) or (film_unit == "in" and unit == '"'):
                return size
    in_mm = {"": 1.0, "mm": 1.0, "cm": 10.0}.get(unit, 25.4)
    return width * in_mm, height * in_mm


def parse_pitch(text: str) -> float:
    """Read how far the camera looks down: "12", "down 12° 30'", "up 3"; positive is down."""
    match = re.fullmatch(
        rf"\s*(up|down)?\s*(-?){_NUMBER}\s*(?:°|deg|degrees)?\s*",
        in_degrees(pointed(text.lower())),
    )
    if not match or (match.group(1) and match.group(2)):
        raise SettingError(f'pitch "{text}": write degrees, such as "down 12", "up 3" or 0')
    value = float(match.group(3))
    if not value < 90:
        raise SettingError(f'pitch "{text}": a camera looks less than 90° up or down')
    return -value + 0.0 if match.group(1) == "up" or match.group(2) else value


def parse_place(text: str) -> tuple[float, bool]:
    """Read a place along one side of a picture: "31%" is a share, "412" or "412 px" pixels.

    Returns
    -------
    value, is_share : float, bool
        A share is 0 at the left or top and 1 at the other side.
    """
    match = re.fullmatch(rf"\s*(-?){_NUMBER}\s*(%|px)?\s*", pointed(text.lower()))
    if not match:
        raise SettingError(f'"{text}" is no place in a picture: write "31%" or pixels, such as 412')
    value = float(match.group(1) + match.group(2))
    return (value / 100.0, True) if match.group(3) == "%" else (value, False)
