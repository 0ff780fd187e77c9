"""Named things in a section: a dot where each is, its name where nothing else is written."""

from collections.abc import Sequence

from render.sheets.drawing.canvas import Drawing, Point
from render.sheets.drawing.lettering import line_width
from render.sheets.drawing.style import INK
from render.sheets.scaled_view import View
from render.sheets.section_words import crossed

__all__ = ["mark_things"]

_DOT = 2.4
_HIDES = 0.5  # a name over the plane is as bad as over so much of another's height (ours)


def mark_things(
    drawing: Drawing,
    view: View,
    places: Sequence[tuple[str, Point]],
    size: float,
    plane: Sequence[Point] = (),
) -> None:
    """A dot and the name of each named thing, the name where nothing else is written or marked.

    Nor where it would hide the plane of sharp focus, a straight line by its ends.
    """
    seen = [(name, view.at(at)) for name, at in places if view.holds(at)]
    dots = [dot for _, dot in seen]
    for x, y in dots:
        drawing.disc(x, y, _DOT, colour=INK)
    for name, (x, y) in seen:
        wide = line_width(name, size, "semibold") + 0.8 * size
        spots = [
            (x + side, y + lift * size)
            for lift in (-0.9, 1.7, 0.4, -2.3, 3.1, -3.7, 4.5)
            for side in (4.0, -4.0 - wide, 14.0, -14.0 - wide)
        ]
        inside = [
            (left, base)
            for left, base in spots
            if 0 <= left <= view.width - wide and size <= base <= view.height - 0.3 * size
        ]
        worth = [
            _free(drawing, dots, spot, wide, size)
            - _HIDES * size * crossed(plane, *spot, wide, 1.5 * size)
            for spot in inside or spots[:1]
        ]
        left, base = (inside or spots[:1])[worth.index(max(worth))]
        drawing.label(left, base, name, size, weight="semibold")


def _free(drawing: Drawing, dots: Sequence[Point], spot: Point, wide: float, size: float) -> float:
    """How far a word there stays from words and dots that are there, at most what is plenty."""
    middle, half = spot[0] + wide / 2, wide / 2
    gaps = [
        max(
            abs(middle - text.x - text.width / 2) - half - text.width / 2,
            abs(spot[1] - text.y) - 1.35 * size,
        )
        for text in drawing.texts()
    ]
    gaps += [
        max(abs(middle - x) - half, abs(spot[1] - 0.36 * size - y) - 0.7 * size) - _DOT
        for x, y in dots
    ]
    return min([0.0, *gaps])
