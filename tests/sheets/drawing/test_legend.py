"""The legend keeps its words apart and true at any width."""

import pytest

from render.sheets.drawing.canvas import Drawing
from render.sheets.drawing.legend import Circle, draw_legend, legend_height, px_words
from render.words import percent


@pytest.mark.parametrize("width", [160, 260, 420, 768, 1600])
def test_words_never_touch_and_never_leave(width: int) -> None:
    """From very narrow to wide, no two words overlap and none is cut."""
    size = max(11.0, width / 70)
    drawing = Drawing(width, legend_height(width, size))
    draw_legend(drawing, 0.0, Circle(0.63, 400.0), size)
    boxes = [(t.x, t.y - 0.72 * t.size, t.x + t.width, t.y + 0.1 * t.size) for t in drawing.texts()]

    for left, top, right, bottom in boxes:
        assert left >= 0
        assert top >= 0
        assert right <= width
        assert bottom <= drawing.height
    for i, a in enumerate(boxes):
        for b in boxes[i + 1 :]:
            assert a[2] <= b[0] or b[2] <= a[0] or a[3] <= b[1] or b[3] <= a[1]
    texts = [t.text for t in drawing.texts()]
    assert "32c" in texts
    assert "1c" in texts
    assert "farther" in texts


def test_numbers_have_as_many_figures_as_they_deserve() -> None:
    """Two figures under 10 px or 10 %, whole numbers above."""
    assert [px_words(v) for v in (0.633, 5.08, 12.4)] == ["0.63 px", "5.1 px", "12 px"]
    assert [percent(v) for v in (0.00246, 0.02, 0.123)] == ["0.25 %", "2 %", "12 %"]


def test_a_smaller_panel_tells_blur_in_pixels_of_the_full_picture() -> None:
    """Shown at a quarter, c and its multiples are those of the summary, and say so."""
    full, small = Circle(4.8, 3200.0), Circle(1.2, 800.0, 4.0)

    assert full.words(2) == small.words(2) == ("2c", "9.6 px", "0.3 %")
    assert full.meaning == "c = circle of confusion, 4.8 px"
    assert small.meaning == "c = circle of confusion, 4.8 px of the full picture"
    assert Circle(1.2, 800.0, None).words(2) == ("2c", "0.3 %")
