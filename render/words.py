"""Numbers as people read and write them: "up 8°", "f/5.6", "12 m".

Signs live inside the program; people meet words.  The convention the words
stand for is stated once, in `render.optics.camera`.
"""

import difflib
import math
import re
import unicodedata
from collections.abc import Iterable

from render.decimals import pointed
from render.errors import SettingError
from render.units import FOOT_M, MILE_M, imperial, in_feet

__all__ = [
    "BESIDE",
    "FILM_FORMATS_MM",
    "SENSOR_FORMATS_MM",
    "blur_words",
    "choices",
    "guess_words",
    "lateral_words",
    "length_m",
    "length_words",
    "marked_f_number",
    "movement_words",
    "parse_direction",
    "parse_duration_s",
    "parse_f_number",
    "parse_height_m",
    "parse_millimetres",
    "parse_pitch",
    "parse_place",
    "parse_seconds",
    "parse_size_mm",
    "percent",
    "pitch_words",
    "rise_words",
    "scale_words",
    "spell_direction",
    "spell_f_number",
    "swing_words",
    "tilt_words",
    "with_article",
]

#: Marked third-stop f-numbers; the exact values are 2 ** (k / 6) (ISO 517 rounds them so).
_MARKED_STOPS = (
    *("1", "1.1", "1.2", "1.4", "1.6", "1.8", "2", "2.2", "2.5", "2.8", "3.2", "3.5"),
    *("4", "4.5", "5", "5.6", "6.3", "7.1", "8", "9", "10", "11", "13", "14"),
    *("16", "18", "20", "22", "25", "29", "32", "36", "40", "45", "51", "57", "64"),
)

#: What stands before a name of a place where the picture shows something else there.
BESIDE = ("behind", "before")
#: Words that stand for an article, or make one needless.
_DETERMINERS = (
    *("the", "a", "an", "my", "your", "his", "her", "its", "our", "their", "this", "that"),
    *("these", "those", "what", "all", "both", "each", "every", "some", "no", "two", "three"),
    *("four", "five", "six", "seven", "eight", "nine", "ten"),
)

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

_DIRECTIONS = {
    "tilt": ("down", "up"),
    "swing": ("right", "left"),
    "rise": ("up", "down"),
    "lateral": ("right", "left"),
}
_DIRECTION = re.compile(
    rf"\s*(?P<before>[a-z ]*?)\s*{_NUMBER}\s*(?:°|degrees|deg|mm)?\s*(?P<after>[a-z]*)\s*"
)


def tilt_words(tilt_deg: float) -> str:
    """Tilt in words: ``tilt_words(-8)`` is "lens up 8°"."""
    return _worded(tilt_deg, "lens", _DIRECTIONS["tilt"], "°") or "lens not tilted"


def swing_words(swing_deg: float) -> str:
    """Swing in words: ``swing_words(3)`` is "lens right 3°"."""
    return _worded(swing_deg, "lens", _DIRECTIONS["swing"], "°") or "lens not swung"


def movement_words(tilt_deg: float, swing_deg: float) -> tuple[str, ...]:
    """What a lens is turned by, a phrase each; of a straight one that it is not tilted.

    >>> movement_words(-8, 3), movement_words(0, -2), movement_words(0, 0)
    (('lens up 8°', 'lens right 3°'), ('lens left 2°',), ('lens not tilted',))
    """
    swung = (swing_words(swing_deg),) if swing_deg else ()
    return swung if swung and not tilt_deg else (tilt_words(tilt_deg), *swung)


def with_article(name: str) -> str:
    """A thing's name in a sentence, with an article where English wants one.

    >>> [with_article(name) for name in ("fountain", "Ann", "bottle 6", "his left eye")]
    ['the fountain', 'Ann', 'bottle 6', 'his left eye']
    """
    first, last = re.split(r"\s+", name)[0], re.split(r"\s+", name)[-1]
    bare = first.casefold().removesuffix("'s") in _DETERMINERS or first.endswith(("'s", "s'", "’s"))
    numbered = first != last and re.fullmatch(r"(no\.?|#)?\d+[a-z]?|[A-Z]", last) is not None
    return name if bare or numbered or not first[:1].islower() else f"the {name}"


def rise_words(rise_mm: float) -> str:
    """Vertical shift in words: "rise 6 mm", "fall 6 mm"."""
    if rise_mm == 0:
        return "no rise"
    return f"{'rise' if rise_mm > 0 else 'fall'} {_short(abs(rise_mm))} mm"


def lateral_words(lateral_mm: float) -> str:
    """Sideways shift in words: "shift right 4 mm"."""
    return _worded(lateral_mm, "shift", _DIRECTIONS["lateral"], " mm") or "no shift"


def spell_f_number(f_number: float) -> str:
    """An f-number as engraved: third stops by their marked name, others plainly.

    >>> spell_f_number(2 ** (5 / 2)), spell_f_number(2.8), spell_f_number(3.05)
    ('f/5.6', 'f/2.8', 'f/3.05')
    """
    if 0.99 < f_number < 66:
        third = round(6 * math.log2(f_number))
        if third < len(_MARKED_STOPS) and abs(f_number / 2 ** (third / 6) - 1) < 1e-6:
            return f"f/{_MARKED_STOPS[third]}"
    return f"f/{_short(f_number)}"


def marked_f_number(f_number: float) -> float:
    """The exact third of a stop nearest to an f-number, which is spelt as engraved.

    >>> spell_f_number(marked_f_number(4.41))
    'f/4.5'
    """
    return float(2.0 ** (round(6 * math.log2(f_number)) / 6))


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


def parse_direction(kind: str, text: str) -> float:
    """Read "up 8", "8 up" or "0" for one movement, and return the signed number.

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
    positive, negative = _DIRECTIONS[kind]
    name = "shift" if kind == "lateral" else kind  # as its option is called
    allowed = f'write "{positive} 3", "{negative} 3" or "0"'
    plain = pointed(text.lower()).replace("rise", "up").replace("fall", "down")
    match = _DIRECTION.fullmatch(plain)
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


def spell_direction(kind: str, value: float, digits: int = 4) -> str:
    """Write a signed movement as `parse_direction` reads it, to so many decimals.

    >>> spell_direction("tilt", -8.0), spell_direction("rise", 2.50004), spell_direction("swing", 0)
    ('up 8', 'up 2.5', '0')
    """
    positive, negative = _DIRECTIONS[kind]
    size = f"{abs(value):.{digits}f}".rstrip("0").rstrip(".")
    return "0" if size == "0" else f"{positive if value > 0 else negative} {size}"


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
        hint = 'write metres, such as 12 or 1.5 m, feet ("40 ft") or storeys ("4 storeys")'
        if match and unit == "mm":
            raise SettingError(f'"{text}" is a length on lens or sensor: {hint}')
        raise SettingError(f'"{text}" is not a length: {hint}')
    value = _above_0(match, text, "metres, such as 12 or 1.5 m")
    return value * _METRES_IN.get(unit, 1.0)


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
    """Read a time in seconds, 0 or more: "4", "4 s", "250 ms", "1/50 s", "2 min", "1.5 h".

    >>> parse_seconds("1/50 s"), parse_seconds("2 min")
    (0.02, 120.0)
    """
    units = "ms|s|sec|seconds?|min|minutes?|h|hours?"
    match = re.fullmatch(
        rf"\s*{_NUMBER}\s*(?:/\s*{_NUMBER})?\s*({units})?\s*", pointed(text.lower())
    )
    below = float(match.group(2) or 1) if match else 0.0
    if not match or not below > 0:
        raise SettingError(f'"{text}" is not a time: write seconds, such as 4, "1/50 s" or "2 min"')
    unit = match.group(3) or "s"
    value = float(match.group(1)) / below
    return value / 1000 if unit == "ms" else value * {"m": 60.0, "h": 3600.0}.get(unit[0], 1.0)


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
    """Read how far the camera looks down: "12", "down 12", "up 3"; positive is down."""
    match = re.fullmatch(
        rf"\s*(up|down)?\s*(-?){_NUMBER}\s*(?:°|deg|degrees)?\s*", pointed(text.lower())
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


def pitch_words(pitch_deg: float) -> str:
    """How the camera looks: "level", "12° down", "3° up"."""
    if abs(pitch_deg) < 0.005:
        return "level"
    return f"{_short(abs(pitch_deg))}° {'down' if pitch_deg > 0 else 'up'}"


def guess_words(guessed: bool) -> str:
    """What is said behind a value: " (guessed)" of a guess, else nothing."""
    return " (guessed)" if guessed else ""


def blur_words(percent: float) -> str:
    """A blur's diameter as a share of the frame's height, at any size; what is not seen is 0.

    >>> blur_words(0.1492), blur_words(1.9e-9)
    ('0.15 %', '0 %')
    """
    return f"{round(percent, 3):.2g} %"


def length_words(distance_m: float) -> str:
    """A length on site with the three digits it deserves, in the units of whoever reads it.

    >>> [length_words(d) for d in (0.3456, 4.123, 58.3, 99.97, 1234.0, float("inf"))]
    ['0.346 m', '4.12 m', '58.3 m', '100 m', '1.23 km', 'infinity']
    >>> from render.units import told_in
    >>> with told_in("feet"):
    ...     [length_words(d) for d in (0.3456, 4.123, 58.3, 1234.0, 1800.0)]
    ['13.6 in', '13.5 ft', '191 ft', '4050 ft', '1.12 mi']
    """
    if math.isinf(distance_m):
        return "infinity"
    if in_feet():
        size, name = imperial(abs(distance_m))
        return f"{_three_digits(distance_m / size)} {name}"
    if abs(distance_m) >= 1000:
        return f"{_three_digits(distance_m / 1000)} km"
    return f"{_three_digits(distance_m)} m"


def scale_words(denominator: float) -> str:
    """A scale as short as it can be said, two digits: "1:140"; below 1:10 "1:4.2".

    >>> scale_words(136.2), scale_words(4.21), scale_words(0.5)
    ('1:140', '1:4.2', '1:0.5')
    """
    if denominator < 1:
        return f"1:{denominator:.2g}"
    digits = 1 - math.floor(math.log10(denominator))
    rounded = round(denominator, digits)
    return f"1:{rounded:.0f}" if digits <= 0 or rounded >= 10 else f"1:{rounded:.{digits}f}"


def _worded(value: float, noun: str, words: tuple[str, str], unit: str) -> str:
    if value == 0:
        return ""
    return f"{noun} {words[0] if value > 0 else words[1]} {_short(abs(value))}{unit}"


def _short(value: float) -> str:
    return f"{value:.2f}".rstrip("0").rstrip(".")


def _three_digits(value: float) -> str:
    if value == 0:
        return "0"
    rounded = float(f"{value:.3g}")
    decimals = max(0, 2 - math.floor(math.log10(abs(rounded))))
    return f"{rounded:.{min(decimals, 4)}f}"


def percent(share: float) -> str:
    """A share of 1 as people read it, two digits that mean something, none beyond hundredths.

    Examples
    --------
    >>> percent(0.0035), percent(0.096), percent(0.998), percent(0.000019)
    ('0.35 %', '9.6 %', '100 %', '0 %')
    """
    value = round(100 * share, 2)
    return f"{value:.2g} %" if abs(value) < 9.95 else f"{value:.0f} %"


def choices(names: Iterable[str], meant: str = "", where: str = "") -> str:
    """Names to choose from, at most a dozen: those like what was meant first.

    Parameters
    ----------
    where : str
        What lists them all, if they are more.

    Examples
    --------
    >>> choices(["grass", "brick", "glass"], "gras")
    'grass, glass, brick'
    """
    every = list(names)
    near = difflib.get_close_matches(meant[:60], every, 4, 0.5)
    shown = [*near, *(name for name in every if name not in near)][:12]
    left = len(every) - len(shown)
    more = f" and {left} more" + (f" ({where})" if where else "") if left else ""
    return ", ".join(shown) + more
