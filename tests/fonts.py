"""Fonts of a test's own, in place of those that happen to be on the machine."""

from pathlib import Path

from fontTools.fontBuilder import FontBuilder
from fontTools.pens.t2CharStringPen import T2CharStringPen
from fontTools.pens.ttGlyphPen import TTGlyphPen
from fontTools.ttLib import TTFont

from render.sheets.drawing import lettering, stand_in

__all__ = ["forget_fonts", "square_font"]

_CACHED = (
    stand_in.can_stand_in,
    stand_in.advance_em,
    stand_in.stand_in_font,
    stand_in._source_of,
    stand_in._named_sources,
    stand_in._sources,
    stand_in._opened,
    stand_in._system_files,
    lettering.sized_stand_in,
    lettering._width_em,
)
#: Advance of the test fonts' letters, of 1000 units; each is a square that fills its middle.
_WIDE, _LOW, _HIGH, _LEFT, _RIGHT = 900, 0, 800, 100, 800
_SQUARE = ((_LEFT, _LOW), (_LEFT, _HIGH), (_RIGHT, _HIGH), (_RIGHT, _LOW))


def square_font(path: Path, letters: str, *, cubic: bool = False, usage: int = 0) -> TTFont:
    """Write a font whose letters are squares, with TrueType or PostScript outlines."""
    names = {ord(letter): f"u{ord(letter):04X}" for letter in letters}
    order = [".notdef", *names.values()]
    built = FontBuilder(1000, isTTF=not cubic)
    built.setupGlyphOrder(order)
    built.setupCharacterMap(names)
    if cubic:
        strings = {}
        for name in order:
            pen = T2CharStringPen(_WIDE, None)
            _draw(pen, _SQUARE[::-1])
            strings[name] = pen.getCharString()
        built.setupCFF("Squares", {}, strings, {})
    else:
        pens = {name: TTGlyphPen(None) for name in order}
        for pen in pens.values():
            _draw(pen, _SQUARE)
        built.setupGlyf({name: pen.glyph() for name, pen in pens.items()})
    built.setupHorizontalMetrics(dict.fromkeys(order, (_WIDE, _LEFT)))
    built.setupHorizontalHeader(ascent=880, descent=-120)
    built.setupNameTable({"familyName": "Squares", "styleName": "Regular"})
    built.setupOS2(fsType=usage)
    built.setupPost()
    built.save(path)
    return built.font


def _draw(pen: object, points: tuple[tuple[int, int], ...]) -> None:
    pen.moveTo(points[0])
    for point in points[1:]:
        pen.lineTo(point)
    pen.closePath()


def forget_fonts() -> None:
    """Let fonts be looked for anew."""
    for cached in _CACHED:
        cached.cache_clear()
