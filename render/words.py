"""Numbers as people read them: "lens up 8°", "f/5.6", "12 m"; as they type them: `render.typed`.

Signs live inside the program; people meet words.  The convention the words
stand for is stated once, in `render.optics.camera`.
"""

import difflib
import math
import re
import shlex
from collections.abc import Iterable, Sequence

from render.units import imperial, in_feet

__all__ = [
    "BESIDE",
    "DIRECTIONS",
    "blur_words",
    "choices",
    "focal_words",
    "guess_words",
    "is_proper_name",
    "lateral_words",
    "length_words",
    "listed",
    "marked_f_number",
    "movement_words",
    "percent",
    "pitch_words",
    "rise_words",
    "scale_words",
    "span_words",
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


DIRECTIONS = {
    "tilt": ("down", "up"),
    "swing": ("right", "left"),
    "rise": ("up", "down"),
    "lateral": ("right", "left"),
}


def focal_words(focal_mm: float) -> str:
    """A focal length; few are known to more than three digits.

    >>> focal_words(90.03), focal_words(45.0), focal_words(1200.0)
    ('90 mm', '45 mm', '1200 mm')
    """
    return f"{float(f'{focal_mm:.3g}'):g} mm"


def tilt_words(tilt_deg: float) -> str:
    """Tilt in words: ``tilt_words(-8)`` is "lens up 8°"."""
    return _worded(tilt_deg, "lens", DIRECTIONS["tilt"], "°") or "lens not tilted"


def swing_words(swing_deg: float) -> str:
    """Swing in words: ``swing_words(3)`` is "lens right 3°"."""
    return _worded(swing_deg, "lens", DIRECTIONS["swing"], "°") or "lens not swung"


def movement_words(tilt_deg: float, swing_deg: float) -> tuple[str, ...]:
    """What a lens is turned by, a phrase each; of a straight one that it is not tilted.

    >>> movement_words(-8, 3), movement_words(0, -2), movement_words(0, 0)
    (('lens up 8°', 'lens right 3°'), ('lens left 2°',), ('lens not tilted',))
    """
    swung = (swing_words(swing_deg),) if swing_deg else ()
    return swung if swung and not tilt_deg else (tilt_words(tilt_deg), *swung)


def listed(words: Sequence[str]) -> str:
    """Words in a row.

    >>> listed(["Ann", "Ben", "Cy"]), listed(["Ann"]), listed([])
    ('Ann, Ben and Cy', 'Ann', '')
    """
    return " and ".join(filter(None, (", ".join(words[:-1]), *words[-1:])))


def with_article(name: str) -> str:
    """A thing's name in a sentence, with an article where English wants one.

    >>> [with_article(name) for name in ("fountain", "Ann", "bottle 6", "his left eye")]
    ['the fountain', 'Ann', 'bottle 6', 'his left eye']
    """
    first, last = re.split(r"\s+", name)[0], re.split(r"\s+", name)[-1]
    bare = first.casefold().removesuffix("'s") in _DETERMINERS or first.endswith(("'s", "s'", "’s"))
    numbered = first != last and re.fullmatch(r"(no\.?|#)?\d+[a-z]?|[A-Z]", last) is not None
    return name if bare or numbered or not first[:1].islower() else f"the {name}"


def is_proper_name(name: str) -> bool:
    """Whether a thing is called as a person or a place is, and not numbered.

    >>> [is_proper_name(name) for name in ("Ann", "Ann O'Lee", "Pot 3", "Pot A", "her left eye")]
    [True, True, False, False, False]
    """
    words = name.split()
    return bool(words) and all(
        word[0].isupper()
        and not word.isupper()
        and re.fullmatch(r"[^\W\d_]+(['’.-][^\W\d_]*)*", word)
        for word in words
    )


def rise_words(rise_mm: float) -> str:
    """Vertical shift in words: "rise 6 mm", "fall 6 mm"."""
    if rise_mm == 0:
        return "no rise"
    return f"{'rise' if rise_mm > 0 else 'fall'} {_short(abs(rise_mm))} mm"


def lateral_words(lateral_mm: float) -> str:
    """Sideways shift in words: "shift right 4 mm"."""
    return _worded(lateral_mm, "shift", DIRECTIONS["lateral"], " mm") or "no shift"


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


def spell_direction(kind: str, value: float, digits: int = 4) -> str:
    """Write a signed movement as `parse_direction` reads it, to so many decimals.

    >>> spell_direction("tilt", -8.0), spell_direction("rise", 2.50004), spell_direction("swing", 0)
    ('up 8', 'up 2.5', '0')
    """
    positive, negative = DIRECTIONS[kind]
    size = f"{abs(value):.{digits}f}".rstrip("0").rstrip(".")
    return "0" if size == "0" else f"{positive if value > 0 else negative} {size}"


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

    >>> blur_words(0.1492), blur_words(1.9e-9), blur_words(312.4)
    ('0.15 %', '0 %', '312 %')
    """
    return f"{round(percent, 3):.2g} %" if abs(percent) < 99.5 else f"{percent:.0f} %"


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


def span_words(*lengths_m: float) -> str:
    """From the least of some lengths to the most, or one where both read alike.

    >>> span_words(28.9, 20.0), span_words(5.001, 5.0)
    ('20.0 m to 28.9 m', '5.00 m')
    """
    return " to ".join(dict.fromkeys(map(length_words, (min(lengths_m), max(lengths_m)))))


def small_length_words(length_m: float) -> str:
    """A length as `length_words`, below 0.1 m in whole millimetres, or tenths of few.

    >>> [small_length_words(d) for d in (0.0004, 0.0095, 0.0123, 0.25)]
    ['0.4 mm', '9.5 mm', '12 mm', '0.250 m']
    """
    if in_feet() or abs(length_m) >= 0.0995:
        return length_words(length_m)
    return f"{1000 * length_m:.2g} mm"


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


def shell_word(text: str) -> str:
    """One word of a command line, as a POSIX shell, PowerShell and cmd all read it.

    Double quotes do for all three, but for what some shell reads even inside them; that is quoted
    for a POSIX shell.
    """
    if re.fullmatch(r"[\w@+=:./-]+", text):
        return text
    if set(text) & set('"$`!') or text.endswith("\\"):
        return shlex.quote(text)
    return f'"{text}"'


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
