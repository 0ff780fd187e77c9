"""Drawings: alignment, plates kept inside, hatching."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from render.sheets.drawing.canvas import Area, Drawing, Letters, hatch_lines


@pytest.mark.parametrize(("align", "share"), [("left", 0.0), ("middle", 0.5), ("right", 1.0)])
def test_text_is_aligned_by_its_own_width(align: str, share: float) -> None:
    """X is the left end, the middle or the right end of the text."""
    item = Drawing(400, 100).letters(200, 50, "sharp band", 12, align=align)  # type: ignore[arg-type]

    assert item.x + share * item.width == pytest.approx(200)


@given(st.floats(-50, 450), st.floats(-50, 150))
def test_a_label_is_never_cut_by_the_edge(x: float, y: float) -> None:
    """Plate and words are moved inside the drawing."""
    drawing = Drawing(400, 100)
    drawing.label(x, y, "nearer", 12)
    plate = next(item for item in drawing.items if isinstance(item, Area))

    assert all(-1e-9 <= px <= 400 + 1e-9 and -1e-9 <= py <= 100 + 1e-9 for px, py in plate.points)


@pytest.mark.parametrize("wide", [90, 160])
def test_a_label_wider_than_the_drawing_is_set_in_lines(wide: int) -> None:
    """No word is cut, and every line stays inside."""
    drawing = Drawing(wide, 200)
    drawing.label(wide / 2, 0, "anything near the lens? It would hurt most here", 11)
    lines = drawing.texts()

    assert len(lines) > 1
    assert " ".join(line.text for line in lines) == (
        "anything near the lens? It would hurt most here"
    )
    assert all(line.x >= 0 and line.x + line.width <= wide for line in lines)
    assert all(line.y > 0.7 * 11 for line in lines)


def test_placing_a_drawing_moves_and_scales_all_of_it() -> None:
    """Text, lines, areas and their weights keep their proportions."""
    inner = Drawing(10, 10)
    inner.letters(1, 2, "c", 3)
    inner.path([(0, 0), (1, 1)], width=2, dash=(1, 2))
    outer = Drawing(100, 100)
    outer.place(inner, 50, 60, 4.0)
    letters, path = outer.items

    assert isinstance(letters, Letters)
    assert (letters.x, letters.y, letters.size) == (54, 68, 12)
    assert (path.runs, path.width, path.dash) == ((((50, 60), (54, 64)),), 8, (4, 8))  # type: ignore[union-attr]


def test_hatching_covers_the_area_and_spares_the_hole() -> None:
    """Line length times gap is the area of a square with a hole (midpoint rule, within 3 %)."""
    square = np.array([[0, 0], [100, 0], [100, 100], [0, 100]], float)
    hole = np.array([[30, 30], [70, 30], [70, 70], [30, 70]], float)
    lines = hatch_lines([square, hole], 0.5)
    length = sum(math.dist(a, b) for a, b in lines)

    assert length * 0.5 == pytest.approx(100**2 - 40**2, rel=0.03)
    assert hatch_lines([], 1.0) == []
