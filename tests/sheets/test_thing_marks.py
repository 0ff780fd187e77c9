"""Named things in a section."""

from render.sheets.drawing.canvas import Drawing
from render.sheets.scaled_view import fit
from render.sheets.thing_marks import mark_things


def test_names_of_things_close_together_do_not_lie_on_each_other() -> None:
    """Three things in a row, a hand apart: every name is written, and none over another."""
    drawing = Drawing(400, 200, unit_pt=1.0)
    view = fit((0.0, -1.0, 10.0, 1.0), 400, 200)
    names = ("first pot", "second pot", "third pot")
    mark_things(drawing, view, [(name, (4.0 + 0.2 * k, 0.0)) for k, name in enumerate(names)], 9.0)
    words = [text for text in drawing.texts() if text.text in names]

    assert len(words) == 3
    for k, one in enumerate(words):
        for other in words[k + 1 :]:
            apart_x = abs(one.x - other.x) >= min(one.width, other.width)
            assert apart_x or abs(one.y - other.y) >= 9.0


def test_a_name_does_not_hide_the_plane_behind_its_thing() -> None:
    """A steep plane just right of an eye: the name is written to the left of it."""
    drawing = Drawing(400, 200, unit_pt=1.0)
    view = fit((0.0, -1.0, 10.0, 1.0), 400, 200)
    x, _ = view.at((5.0, 0.0))
    mark_things(drawing, view, [("left eye", (5.0, 0.0))], 9.0, [(x + 6, 0.0), (x + 9, 200.0)])
    (word,) = drawing.texts()

    assert word.x + word.width + 0.4 * 9.0 < x + 6


def test_things_outside_the_view_are_left_out() -> None:
    """What the drawing does not hold gets neither dot nor name."""
    drawing = Drawing(400, 200, unit_pt=1.0)
    mark_things(drawing, fit((0.0, -1.0, 10.0, 1.0), 400, 200), [("far", (90.0, 0.0))], 9.0)

    assert drawing.texts() == []
