"""The bundled type: what it can draw, how wide a line is, where lines break.

The font is Inter (SIL Open Font License 1.1), regular and semibold, with tabular figures as
the default ones. Widths are those of the unhinted outlines, so a line is equally wide in a
picture, a page and an SVG. Letters that it lacks are set in a font of this system
(`stand_in`).
"""

import re
import unicodedata
from functools import lru_cache
from importlib.resources import files
from io import BytesIO
from itertools import groupby

from PIL import ImageFont

from render.errors import InputError
from render.sheets.drawing.stand_in import (
    FONT_SETTING,
    advance_em,
    can_stand_in,
    needs_shaping,
    stand_in_font,
)
from render.sheets.drawing.style import Weight

__all__ = [
    "checked_text",
    "drawable_text",
    "font_bytes",
    "lacking",
    "line_width",
    "runs",
    "shortened",
    "sized_font",
    "sized_stand_in",
    "wrapped",
]

_FILES: dict[Weight, str] = {"regular": "Inter-Regular.ttf", "semibold": "Inter-SemiBold.ttf"}
_UNITS_PER_EM = 2048
#: What our own sentences may hold is known to be there; it takes no font file to say so.
_UNUSUAL = re.compile("[^\0-\u052f\u1e00-\u22ff]")
#: The space between a number and its unit.
_UNIT = re.compile(r"(?<=\d) (?=(?:%|(?:m|mm|cm|km|s|min|px|c|dpi)\b))")


@lru_cache(maxsize=2)
def font_bytes(weight: Weight) -> bytes:
    """Return the font file of a weight.

    Raises
    ------
    InputError
        If the installed package lacks it.
    """
    try:
        return files("render.sheets.drawing").joinpath("fonts", _FILES[weight]).read_bytes()
    except OSError as error:
        raise InputError(
            f"the bundled font {_FILES[weight]} is missing from this installation: "
            "install hingeline again"
        ) from error


@lru_cache(maxsize=64)
def sized_font(weight: Weight, size_px: float) -> ImageFont.FreeTypeFont:
    """Return the font at a size in px."""
    return ImageFont.truetype(BytesIO(font_bytes(weight)), size_px)


@lru_cache(maxsize=64)
def sized_stand_in(letters: frozenset[str], size_px: float) -> ImageFont.FreeTypeFont:
    """Return a font of these letters, which `lacking` found, at a size in px."""
    return ImageFont.truetype(BytesIO(stand_in_font(letters)), size_px)


def lacking(text: str) -> frozenset[str]:
    """Return the letters of a text that the bundled font lacks and another one draws."""
    if not _UNUSUAL.search(text):
        return frozenset()
    return frozenset(c for c in text if ord(c) not in _coverage() and can_stand_in(c))


def runs(text: str) -> list[tuple[bool, str]]:
    """Part text into stretches: whether another font than the bundled one sets it, and the text."""
    others = lacking(text)
    if not others:
        return [(False, text)]
    return [(other, "".join(part)) for other, part in groupby(text, others.__contains__)]


#: A title longer than this would push the picture off its page.
_LONGEST = 160


def checked_text(text: str, what: str, most: int = _LONGEST) -> str:
    """Return text as it will be drawn, or refuse what no font at hand has shapes for.

    Runs of white space become one space; accents are joined to their letters.

    Parameters
    ----------
    text : str
    what : str
        What the text is, for the sentence: "the title".
    most : int
        Characters that fit; sentences that wrap may have more than a title.

    Raises
    ------
    InputError
        If a character has no glyph (it would print as an empty box) or needs shaping, or the
        text is too long.
    """
    joined = unicodedata.normalize("NFC", " ".join(text.split()))
    if len(joined) > most:
        raise InputError(f"{what} has {len(joined)} characters: at most {most} fit")
    missing = list(dict.fromkeys(c for c in joined if not _is_drawable(c)))
    if missing:
        shown = ", ".join(f"{c!r} (U+{ord(c):04X})" for c in missing[:3])
        more = f" and {len(missing) - 3} more" if len(missing) > 3 else ""
        why = (
            "which no font found here can draw: install one that can, name its file in "
            f"{FONT_SETTING}, or write it in Latin, Greek or Cyrillic letters"
        )
        if any(map(needs_shaping, missing)):
            why = (
                "of a script that is written from right to left or whose letters join or stack, "
                "which would print wrong: write it in Latin, Greek or Cyrillic letters"
            )
        raise InputError(f"{what} holds {shown}{more}, {why}")
    return joined


def drawable_text(text: str) -> str:
    """Return text with "?" for what no font can draw here: notes that quote a file's name."""
    joined = unicodedata.normalize("NFC", " ".join(text.split()))
    return "".join(c if _is_drawable(c) else "?" for c in joined)


def line_width(text: str, size: float, weight: Weight = "regular") -> float:
    """Width of one line in the unit of `size`."""
    return _width_em(text, weight) * size


def wrapped(text: str, size: float, width: float, weight: Weight = "regular") -> list[str]:
    """Break text into lines no wider than `width`; a word wider than a line is cut inside.

    A number is not parted from its unit.
    """
    lines: list[str] = []
    line = ""
    for joined in _UNIT.sub("\u00a0", text).split(" "):
        word = joined.replace("\u00a0", " ")
        if not word:
            continue
        trial = f"{line} {word}" if line else word
        if line_width(trial, size, weight) <= width:
            line = trial
            continue
        if line:
            lines.append(line)
        while line_width(word, size, weight) > width and len(word) > 1:
            head = _longest_start(word, size, width, weight)
            lines.append(word[:head])
            word = word[head:]
        line = word
    return [*lines, line] if line else lines


def shortened(text: str, size: float, width: float, weight: Weight = "regular") -> str:
    """Cut text with an ellipsis so that it is no wider than `width`."""
    if line_width(text, size, weight) <= width:
        return text
    room = width - line_width("…", size, weight)
    return text[: _longest_start(text, size, room, weight)].rstrip(" ·,") + "…"


def _longest_start(text: str, size: float, width: float, weight: Weight) -> int:
    """How many characters fit into `width`; at least one, so that breaking always ends."""
    low, high = 1, len(text)
    while low < high:
        middle = (low + high + 1) // 2
        if line_width(text[:middle], size, weight) <= width:
            low = middle
        else:
            high = middle - 1
    return low


@lru_cache(maxsize=4096)
def _width_em(text: str, weight: Weight) -> float:
    return sum(
        sum(map(advance_em, part))
        if other
        else float(sized_font(weight, _UNITS_PER_EM).getlength(part)) / _UNITS_PER_EM
        for other, part in runs(text)
    )


def _is_drawable(letter: str) -> bool:
    return ord(letter) in _coverage() or bool(lacking(letter))


@lru_cache(maxsize=1)
def _coverage() -> frozenset[int]:
    from fontTools.ttLib import TTFont  # a third of a second: only where text comes from outside

    both = [
        TTFont(BytesIO(font_bytes(weight)), lazy=True).getBestCmap()
        for weight in ("regular", "semibold")
    ]
    return frozenset(both[0]) & frozenset(both[1])
