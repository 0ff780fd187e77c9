"""The bundled font: what it draws, what it refuses, how lines break."""

import importlib.resources

import pytest
from hypothesis import given
from hypothesis import strategies as st

from render.errors import InputError
from render.sheets.drawing import lettering
from render.sheets.drawing.lettering import (
    checked_text,
    drawable_text,
    font_bytes,
    line_width,
    shortened,
    wrapped,
)

WORDS = st.lists(st.text("abcdefghij°½é", min_size=1, max_size=60), max_size=20).map(" ".join)


@pytest.mark.parametrize(
    "text", ["Étude № 3", "Пристань, 8°", "Λιμάνι ½ × ≤ f/2.8", "Łódź – ″ → −3", "Thuyền đỏ"]
)
def test_latin_greek_and_cyrillic_are_drawn(text: str) -> None:
    """Titles in these scripts are taken as they are."""
    assert checked_text(text, "the title") == text


@pytest.mark.parametrize("text", ["港", "مرفأ", "נמל", "harbour \U0001f6a2", "q\u0331\u0302"])
def test_other_scripts_are_refused_in_a_sentence(text: str, no_fonts: None) -> None:
    """No empty boxes: the sentence names the text, the character and the way out."""
    with pytest.raises(InputError, match=r"the title holds .*U\+.*Latin, Greek or Cyrillic"):
        checked_text(text, "the title")


def test_split_accents_and_line_ends_are_joined() -> None:
    """A letter with a separate accent becomes one; white space of any kind becomes one space."""
    assert checked_text(" e\u0301tude\n\t two ", "the title") == "étude two"


def test_figures_are_tabular() -> None:
    """Every figure is equally wide, so that columns of numbers stand under each other."""
    assert len({line_width(figure, 100.0) for figure in "0123456789"}) == 1


def test_the_licence_lies_beside_the_font() -> None:
    """The Open Font License is shipped with the font files."""
    licence = importlib.resources.files("render.sheets.drawing").joinpath("fonts", "OFL.txt")

    assert "SIL Open Font License, Version 1.1" in licence.read_text(encoding="utf-8")
    assert all(font_bytes(weight)[:4] == b"\x00\x01\x00\x00" for weight in ("regular", "semibold"))


@given(WORDS, st.floats(20, 300))
def test_wrapped_lines_fit_and_lose_nothing(text: str, width: float) -> None:
    """No line is wider than asked, and the letters are all there in order."""
    lines = wrapped(text, 10.0, width)

    assert all(line_width(line, 10.0) <= width for line in lines)
    assert "".join(lines).replace(" ", "") == text.replace(" ", "")


@given(WORDS, st.floats(20, 300))
def test_shortened_text_fits_and_says_that_it_was_cut(text: str, width: float) -> None:
    """A cut line is no wider than asked and ends in an ellipsis."""
    short = shortened(text, 10.0, width)

    assert line_width(short, 10.0) <= width
    assert short == text or short.endswith("…")


def test_a_number_stays_with_its_unit() -> None:
    """No line begins with a lone unit."""
    lines = wrapped("the ring will stand near 2.64 m or 58 % from the top", 10.0, 130.0)

    assert not any(line.startswith(("m ", "% ")) for line in lines)
    assert " ".join(lines) == "the ring will stand near 2.64 m or 58 % from the top"


def test_a_missing_font_is_said_in_a_sentence(monkeypatch: pytest.MonkeyPatch) -> None:
    """A damaged installation names the file and what to do."""
    monkeypatch.setitem(lettering._FILES, "regular", "gone.ttf")
    lettering.font_bytes.cache_clear()
    with pytest.raises(InputError, match=r"gone\.ttf is missing .* install hingeline again"):
        lettering.font_bytes("regular")
    lettering.font_bytes.cache_clear()


def test_notes_quote_what_they_can(no_fonts: None) -> None:
    """A note with a name in another script is drawn with question marks, never with boxes."""
    assert drawable_text("depth of 港.png, é") == "depth of ?.png, é"
