"""Letters that the bundled font lacks, set in fonts of this system.

A letter comes from the first font that has it: the one that `HINGELINE_FONT` names, then those
in the usual folders of Linux, macOS and Windows, upright sans-serif ones first and large ones
before small. Its outline is copied into a TrueType font of its own, so a picture, a PDF and an
SVG draw the same shape at the same width, whatever the source's format.

Only scripts whose letters stand one after the other from left to right are set. Arabic, Hebrew,
Thai or Devanagari need a shaping engine; without it they would be printed wrong.
"""

import os
import re
import unicodedata
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache, lru_cache
from io import BytesIO
from pathlib import Path
from typing import TYPE_CHECKING, Any

from render.errors import InputError

if TYPE_CHECKING:
    from fontTools.ttLib import TTFont

__all__ = [
    "FONT_SETTING",
    "advance_em",
    "can_stand_in",
    "needs_shaping",
    "stand_in_font",
    "stand_in_words",
]

#: The environment's word for a font file to look in first.
FONT_SETTING = "HINGELINE_FONT"
UNITS_PER_EM = 2048
_ENDINGS = (".ttf", ".otf", ".ttc", ".otc")
_SANS = re.compile(r"sans|goth|hei", re.IGNORECASE)
_STYLED = re.compile(
    r"bold|black|heavy|light|thin|medium|italic|oblique|condensed|narrow|mono|w[1-24-9]\b",
    re.IGNORECASE,
)
#: Blocks with marks that stack, vowels that move or letters that join (Unicode 16.0, Blocks.txt):
#: Brahmic scripts with Thai, Lao, Tibetan and Burmese; single jamo; Philippine scripts, Khmer and
#: Mongolian; further scripts of South and East Asia; Brahmic scripts of the first plane.
_SHAPED = (
    (0x0900, 0x109F),
    (0x1100, 0x11FF),
    (0x1700, 0x18AF),
    (0x1900, 0x1CFF),
    (0xA800, 0xAB6F),
    (0xABC0, 0xABFF),
    (0xD7B0, 0xD7FF),
    (0x10A00, 0x11FFF),
)
#: 1 January 2000 in seconds since 1904, as a font's header counts.
_MADE_S = 3_029_529_600
#: OpenType 1.9.1, OS/2, fsType: bit 1 alone forbids embedding in a document.
_RESTRICTED, _USAGE = 0x0002, 0x000E


@dataclass(frozen=True, slots=True)
class _Source:
    """A font file, or one of a collection, with its glyph name of each character."""

    path: Path
    number: int
    glyph_names: dict[int, str]


def needs_shaping(letter: str) -> bool:
    """Whether a letter is set right only by an engine that joins, stacks or reverses letters."""
    if unicodedata.bidirectional(letter) in ("R", "AL", "AN"):
        return True
    if unicodedata.category(letter) in ("Mn", "Mc", "Me", "Cf"):
        return True
    return any(first <= ord(letter) <= last for first, last in _SHAPED)


@lru_cache(maxsize=4096)
def can_stand_in(letter: str) -> bool:
    """Whether some font of this system draws a letter, and it needs no shaping.

    Raises
    ------
    InputError
        If `HINGELINE_FONT` names a file that is no usable font.
    """
    return not needs_shaping(letter) and _source_of(letter) is not None


@lru_cache(maxsize=4096)
def advance_em(letter: str) -> float:
    """How wide a letter that `can_stand_in` is, in em."""
    source = _known_source(letter)
    font = _opened(source.path, source.number)
    width = int(font["hmtx"][source.glyph_names[ord(letter)]][0])
    return round(width * _scale(font)) / UNITS_PER_EM


@lru_cache(maxsize=64)
def stand_in_font(letters: frozenset[str]) -> bytes:
    """Return a TrueType font of these letters, each of which `can_stand_in`, and no others."""
    from fontTools.fontBuilder import FontBuilder
    from fontTools.pens.ttGlyphPen import TTGlyphPen

    glyphs = {".notdef": TTGlyphPen(None).glyph()}
    widths = {".notdef": UNITS_PER_EM}
    names: dict[int, str] = {}
    for letter in sorted(letters):
        name = names[ord(letter)] = f"u{ord(letter):04X}"
        glyphs[name] = _outline(letter)
        widths[name] = round(advance_em(letter) * UNITS_PER_EM)
    built = FontBuilder(UNITS_PER_EM, isTTF=True)
    built.setupGlyphOrder(list(glyphs))
    built.setupCharacterMap(names)
    built.setupGlyf(glyphs)
    table = built.font["glyf"]
    built.setupHorizontalMetrics(
        {name: (width, getattr(table[name], "xMin", 0)) for name, width in widths.items()}
    )
    built.setupHorizontalHeader(ascent=1984, descent=-494)
    built.setupNameTable(
        {"familyName": "StandIn", "styleName": "Regular", "psName": "StandIn-Regular"}
    )
    built.setupOS2(sTypoAscender=1984, sTypoDescender=-494, usWinAscent=1984, usWinDescent=494)
    built.setupPost()
    built.updateHead(created=_MADE_S, modified=_MADE_S)
    built.font.recalcTimestamp = False  # the same letters give the same bytes
    store = BytesIO()
    built.save(store)
    return store.getvalue()


def stand_in_words(letters: Iterable[str]) -> str:
    """Say which fonts letters that `can_stand_in` are taken from; nothing if there are none."""
    sources = dict.fromkeys(_known_source(letter).path for letter in sorted(letters))
    if not sources:
        return ""
    return (
        f"letters that the bundled font lacks are set in {', '.join(map(str, sources))} "
        f"({FONT_SETTING}=FILE chooses another)"
    )


def _known_source(letter: str) -> _Source:
    source = _source_of(letter)
    assert source is not None, "asked only of letters that can stand in"
    return source


@lru_cache(maxsize=4096)
def _source_of(letter: str) -> _Source | None:
    """The first font that has the letter."""
    if named := os.environ.get(FONT_SETTING):
        for source in _named_sources(named):
            if ord(letter) in source.glyph_names:
                return source
    for path in _system_files():
        for source in _sources(path):
            if ord(letter) in source.glyph_names:
                return source
    return None


@lru_cache(maxsize=1)
def _named_sources(named: str) -> tuple[_Source, ...]:
    sources = _sources(Path(named))
    if not sources:
        raise InputError(
            f"{FONT_SETTING} names {named}, which is no font that can be used: name a TTF, OTF "
            "or TTC file whose letters are outlines and may be embedded"
        )
    return sources


@cache
def _sources(path: Path) -> tuple[_Source, ...]:
    """The usable fonts of a file; none if it is damaged, has no outlines or forbids embedding."""
    from fontTools.ttLib import TTFont
    from fontTools.ttLib.sfnt import readTTCHeader

    try:
        with path.open("rb") as file:  # closed again: a system may have a thousand fonts
            several = file.read(4) == b"ttcf"
            file.seek(0)
            count = int(readTTCHeader(file).numFonts) if several else 1
            fonts = [TTFont(file, fontNumber=number, lazy=True) for number in range(count)]
            return tuple(
                _Source(path, number, font.getBestCmap() or {})
                for number, font in enumerate(fonts)
                if _is_usable(font)
            )
    except Exception:  # fontTools raises whatever damaged tables lead to
        return ()


@lru_cache(maxsize=8)
def _opened(path: Path, number: int) -> "TTFont":
    from fontTools.ttLib import TTFont

    return TTFont(BytesIO(path.read_bytes()), fontNumber=number, lazy=True)


def _is_usable(font: "TTFont") -> bool:
    usage = font["OS/2"].fsType & _USAGE if "OS/2" in font else 0
    return usage != _RESTRICTED and any(table in font for table in ("glyf", "CFF ", "CFF2"))


@lru_cache(maxsize=1)
def _system_files() -> tuple[Path, ...]:
    """Font files in the usual folders, those to look in first at the front."""
    found = {
        Path(folder, name)
        for root in _font_folders()
        for folder, _, names in os.walk(root)
        for name in names
        if name.lower().endswith(_ENDINGS)
    }
    return tuple(sorted(found, key=_rank))


def _rank(path: Path) -> tuple[bool, bool, int, str]:
    try:
        size = path.stat().st_size
    except OSError:  # a link to nothing
        size = 0
    return bool(_STYLED.search(path.stem)), not _SANS.search(path.stem), -size, str(path)


def _font_folders() -> list[Path]:
    """Where Linux, macOS and Windows keep fonts, of the system and of the user."""
    home = Path(os.path.expanduser("~"))  # noqa: PTH111 # Path raises where there is no home
    folders = [
        Path("/usr/share/fonts"),
        Path("/usr/local/share/fonts"),
        Path(os.environ.get("XDG_DATA_HOME") or home / ".local" / "share") / "fonts",
        home / ".fonts",
        Path("/System/Library/Fonts"),
        Path("/Library/Fonts"),
        home / "Library" / "Fonts",
    ]
    if windows := os.environ.get("WINDIR"):
        folders.append(Path(windows) / "Fonts")
    if local := os.environ.get("LOCALAPPDATA"):
        folders.append(Path(local) / "Microsoft" / "Windows" / "Fonts")
    return folders


def _scale(font: "TTFont") -> float:
    return UNITS_PER_EM / int(font["head"].unitsPerEm)


def _outline(letter: str) -> Any:
    """The letter's shape in quadratic curves, its source's components resolved."""
    from fontTools.pens.cu2quPen import Cu2QuPen
    from fontTools.pens.recordingPen import DecomposingRecordingPen
    from fontTools.pens.transformPen import TransformPen
    from fontTools.pens.ttGlyphPen import TTGlyphPen

    source = _known_source(letter)
    font = _opened(source.path, source.number)
    glyphs = font.getGlyphSet()
    shape = DecomposingRecordingPen(glyphs)
    glyphs[source.glyph_names[ord(letter)]].draw(shape)
    pen = TTGlyphPen(None)
    scale = _scale(font)
    # cubic outlines turn the other way round than quadratic ones
    quadratic = Cu2QuPen(pen, max_err=1.0, reverse_direction="glyf" not in font)
    shape.replay(TransformPen(quadratic, (scale, 0, 0, scale, 0, 0)))
    return pen.glyph()
