"""Every colour that carries words is legible on its ground."""

import pytest

from render.sheets.drawing import style


def test_contrast_is_that_of_the_standard() -> None:
    """Grey #767676 on white has 4.54:1, the example that WCAG 2.2 techniques give (G18)."""
    assert style.contrast((0x76, 0x76, 0x76), style.PAPER) == pytest.approx(4.54, abs=0.005)


@pytest.mark.parametrize(
    ("text", "ground"),
    [
        (style.INK, style.PAPER),
        (style.MUTED, style.PAPER),
        (style.FOCUS_PLANE, style.PAPER),
        (style.SCREEN_INK, style.SCREEN),
        (style.SCREEN_MUTED, style.SCREEN),
    ],
)
def test_words_have_enough_contrast(text: style.Colour, ground: style.Colour) -> None:
    """Text reaches the 4.5:1 of WCAG 2.2, criterion 1.4.3."""
    assert style.contrast(text, ground) >= 4.5


def test_a_grey_print_tells_the_marks_apart() -> None:
    """Band, telltale and plane of sharp focus differ in lightness from the paper by 2:1."""
    for colour in (style.BAND, style.TELLTALE, style.FOCUS_PLANE, style.CAUTION):
        assert style.contrast(colour, style.PAPER) >= 2.0
