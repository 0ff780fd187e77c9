"""Letters that the bundled font lacks: one shape and one width in picture, PDF and SVG."""

import base64
import re
from collections.abc import Callable
from io import BytesIO
from pathlib import Path

import numpy as np
import pytest
from fontTools.ttLib import TTCollection, TTFont
from pypdf import PdfReader

from render.errors import InputError
from render.sheets.drawing import stand_in
from render.sheets.drawing.canvas import Drawing, Letters, stand_in_notes
from render.sheets.drawing.lettering import (
    checked_text,
    drawable_text,
    line_width,
    runs,
    shortened,
    wrapped,
)
from render.sheets.drawing.raster import paint
from render.sheets.drawing.stand_in import stand_in_font
from render.sheets.drawing.vector import font_rules, pdf_bytes, svg_text
from tests.fonts import square_font

OnlyFontsIn = Callable[[Path], None]


@pytest.fixture
def fonts(tmp_path: Path, only_fonts_in: OnlyFontsIn) -> Path:
    """A system with one font of five letters."""
    folder = tmp_path / "fonts" / "deep"
    folder.mkdir(parents=True)
    square_font(folder / "Squares Sans.ttf", "夏の港町한")
    only_fonts_in(folder.parent)
    return folder


def test_only_what_the_bundled_font_lacks_is_set_elsewhere(fonts: Path) -> None:
    """A title in two scripts is taken whole; each stretch goes to its font."""
    text = "夏の港 at noon, 8° 한"

    assert checked_text(text, "the title") == text
    assert runs(text) == [(True, "夏の港"), (False, " at noon, 8° "), (True, "한")]
    assert runs("Étude → 8°") == [(False, "Étude → 8°")]
    assert drawable_text("depth of 港朝.png") == "depth of 港?.png"


def test_widths_are_those_of_the_letters(fonts: Path) -> None:
    """A square's advance is 0.9 em in either weight, within half a unit of 2048."""
    for weight in ("regular", "semibold"):
        assert line_width("夏港", 100.0, weight) == pytest.approx(180, abs=0.05)
        mixed = line_width("夏 at", 100.0, weight)
        assert mixed == pytest.approx(90 + line_width(" at", 100.0, weight), abs=0.03)


def test_a_long_line_without_spaces_is_broken_and_cut_to_fit(fonts: Path) -> None:
    """Ten squares of 9 units stand three to a line of 30."""
    assert wrapped("夏の港町" * 2 + "夏の", 10.0, 30.0) == ["夏の港", "町夏の", "港町夏", "の"]
    assert shortened("夏の港町" * 2, 10.0, 40.0) == "夏の港…"


@pytest.mark.parametrize("cubic", [False, True])
def test_every_painter_sets_the_same_square(
    tmp_path: Path, only_fonts_in: OnlyFontsIn, cubic: bool
) -> None:
    """In pixels it lies where the outline says; PDF and SVG hold the letters and their font."""
    square_font(tmp_path / ("a.otf" if cubic else "a.ttf"), "夏港", cubic=cubic)
    only_fonts_in(tmp_path)
    drawing = Drawing(400, 140)
    drawing.items.append(Letters(20, 110, "夏I港", 100))
    dark = np.asarray(paint(drawing).convert("L")) < 128
    second = 20 + 90 + line_width("I", 100) + 10

    rows = np.flatnonzero(dark[:, 60])
    assert (rows[0], rows[-1] + 1) == pytest.approx((30, 110), abs=1)
    columns = np.flatnonzero(dark[50])
    assert columns[0] == pytest.approx(30, abs=1)
    assert columns[-1] + 1 == pytest.approx(second + 70, abs=1)
    assert dark[50, round(second) + 2]
    assert not dark[50, round(second) - 3]

    pages = pdf_bytes([drawing], title="夏I港")
    page = PdfReader(BytesIO(pages)).pages[0]
    places = []
    page.extract_text(visitor_text=lambda text, _, at, *__: places.append((text.strip(), at[4])))
    found = {text: x for text, x in places if text}
    assert pages == pdf_bytes([drawing], title="夏I港")
    assert found["港"] - found["夏"] == pytest.approx((second - 30) * drawing.unit_pt, abs=0.02)

    page_text = svg_text(drawing, title="夏I港")
    embedded = re.search(r"family:StandIn;[^}]*base64,([^)]*)\)", page_text)
    assert embedded
    assert set(TTFont(BytesIO(base64.b64decode(embedded[1]))).getBestCmap()) == {0x590F, 0x6E2F}
    assert "夏I港</text>" in page_text


def test_outlines_turn_the_way_their_format_wants(
    tmp_path: Path, only_fonts_in: OnlyFontsIn
) -> None:
    """The same square from TrueType and PostScript outlines becomes the same TrueType glyph."""
    glyphs = []
    for name, cubic in (("a.ttf", False), ("b.otf", True)):
        folder = tmp_path / name[0]
        folder.mkdir()
        square_font(folder / name, "港", cubic=cubic)
        only_fonts_in(folder)
        glyph = TTFont(BytesIO(stand_in_font(frozenset("港"))))["glyf"]["u6E2F"]
        x, y = np.asarray(glyph.coordinates, float).T
        glyphs.append(float(np.sum(x * np.roll(y, -1) - y * np.roll(x, -1)) / 2))

    assert glyphs[0] < 0  # clockwise, as TrueType fills
    assert glyphs[1] == pytest.approx(glyphs[0], rel=0.01)


def test_a_collection_is_searched_whole(tmp_path: Path, only_fonts_in: OnlyFontsIn) -> None:
    """A letter of the second font of a TTC is found."""
    collection = TTCollection()
    collection.fonts = [square_font(tmp_path / "a", "夏"), square_font(tmp_path / "b", "港")]
    (tmp_path / "ttc").mkdir()
    collection.save(str(tmp_path / "ttc" / "both.ttc"))
    only_fonts_in(tmp_path / "ttc")

    assert checked_text("夏港", "the title") == "夏港"
    assert line_width("夏港", 10.0) == pytest.approx(18, abs=0.01)


def test_answers_say_which_font_was_taken(fonts: Path) -> None:
    """The file is named once; a drawing in the bundled font has nothing to say."""
    plain, mixed = Drawing(100, 100), Drawing(100, 100)
    plain.letters(0, 50, "Harbour", 10)
    mixed.letters(0, 50, "夏の港", 10)
    (note,) = stand_in_notes([plain, mixed])

    assert note.count(str(fonts / "Squares Sans.ttf")) == 1
    assert "HINGELINE_FONT=FILE chooses another" in note
    assert stand_in_notes([plain]) == ()


def test_the_named_font_comes_first(
    fonts: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """HINGELINE_FONT sets what it has; the system's fonts set the rest."""
    square_font(tmp_path / "own.ttf", "港")
    monkeypatch.setenv("HINGELINE_FONT", str(tmp_path / "own.ttf"))
    drawing = Drawing(100, 100)
    drawing.letters(0, 50, "夏港", 10)
    (note,) = stand_in_notes([drawing])

    assert "own.ttf" in note
    assert "Squares Sans.ttf" in note


@pytest.mark.parametrize("content", [None, b"", b"no font at all", b"\0\1\0\0" + b"\xff" * 90])
def test_a_named_file_that_is_no_font_is_refused_in_a_sentence(
    fonts: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, content: bytes | None
) -> None:
    """A file that is gone, empty, text or damaged."""
    bad = tmp_path / "bad.ttf"
    if content is not None:
        bad.write_bytes(content)
    monkeypatch.setenv("HINGELINE_FONT", str(bad))
    with pytest.raises(InputError, match=r"HINGELINE_FONT names .*bad\.ttf, which is no font"):
        checked_text("港", "the title")

    assert checked_text("Harbour", "the title") == "Harbour"


def test_damaged_and_restricted_fonts_of_the_system_are_passed_over(
    tmp_path: Path, only_fonts_in: OnlyFontsIn
) -> None:
    """Neither stops the search; a font that forbids embedding is not embedded."""
    (tmp_path / "Large Sans.ttf").write_bytes(b"\0\1\0\0" + b"\xff" * 9000)
    square_font(tmp_path / "Restricted Sans.ttf", "夏港", usage=0x0002)
    square_font(tmp_path / "plain.ttf", "港")
    only_fonts_in(tmp_path)

    assert checked_text("港", "the title") == "港"
    with pytest.raises(InputError, match=r"U\+590F\), which no font found here can draw"):
        checked_text("夏", "the title")


@pytest.mark.parametrize("text", ["مرفأ", "נמל", "ท่าเรือ", "बंदरगाह", "ᄒ"])
def test_scripts_that_need_shaping_are_refused_though_a_font_has_them(
    tmp_path: Path, only_fonts_in: OnlyFontsIn, text: str
) -> None:
    """Printed letter by letter they would be wrong."""
    square_font(tmp_path / "all.ttf", text)
    only_fonts_in(tmp_path)
    with pytest.raises(InputError, match="which would print wrong: write it in Latin"):
        checked_text(text, "the name")


def test_upright_sans_serif_fonts_come_first(tmp_path: Path, only_fonts_in: OnlyFontsIn) -> None:
    """Bold and slanted cuts last, then sans-serif before others, then large before small."""
    for name, letters in (
        ("Brush.ttf", "港夏の町"),
        ("Some Sans Bold.ttf", "港夏の町"),
        ("Some Sans.ttf", "港"),
        ("Wide Sans.ttf", "港夏の"),
    ):
        square_font(tmp_path / name, letters)
    only_fonts_in(tmp_path)

    assert [path.stem for path in stand_in._system_files()] == [
        "Wide Sans",
        "Some Sans",
        "Brush",
        "Some Sans Bold",
    ]


def test_a_page_embeds_the_letters_too(fonts: Path) -> None:
    """The page to wipe lists the second family; its font holds what the first one lacks."""
    rules = font_rules({"regular": set("夏 at"), "semibold": set("港")})

    assert rules.count("@font-face") == 3
    assert "font-family:StandIn;font-weight:100 900" in rules
