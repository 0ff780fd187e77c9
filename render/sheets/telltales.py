"""Telltales outlined on the picture and numbered as in the list."""

from collections.abc import Sequence

import numpy as np
from contourpy import contour_generator
from numpy.typing import NDArray
from PIL import Image

from render.judge.verdict import Verdict
from render.judge.verdict_words import if_guessed
from render.sheets.drawing.canvas import Drawing, Point
from render.sheets.drawing.lettering import line_width, wrapped
from render.sheets.drawing.spread import Plate, draw_lines, spread
from render.sheets.drawing.style import HAIRLINE, INK, MUTED, PAPER, TELLTALE, Colour
from render.sheets.overlay import Taken, draw_taken, letter_size_px
from render.words import percent

__all__ = ["telltale_overlay", "telltale_sheet"]

_CASING: Colour = (0x10, 0x12, 0x14)
_NOTHING_KNOWN = "level ground alone is known: telltales of what stands on it cannot be seen"
#: The five parts of the score in the order of their marks.
_PARTS = ("nearness", "agreement", "visibility", "viewpoint", "picture")
_WEAKEST = "costs most"
_NEAR = "anything near the lens? It would hurt most here"
_SHOWN = 9  # more outlines than this hide the picture


def telltale_overlay(
    picture: Image.Image, verdict: Verdict, cut_out: Sequence[Taken] = ()
) -> Drawing:
    """Outline the worst telltales on the picture, each with its number and how soft it is.

    Parameters
    ----------
    picture : PIL.Image.Image
        The planned frame at any size, RGB, sRGB-coded.
    verdict : Verdict
    cut_out : sequence of Taken
        What was cut out of the picture.

    Returns
    -------
    Drawing
        As large as the picture.
    """
    drawing = Drawing(*picture.size)
    drawing.picture(picture, 0, 0, *picture.size)
    draw_taken(drawing, cut_out, picture.size)
    size = letter_size_px(*picture.size)
    numbers = verdict.telltale_map.numbers
    across, down = picture.width / numbers.shape[1], picture.height / numbers.shape[0]
    shown = verdict.telltales[:_SHOWN]
    for thing in shown:
        outline = _outline(numbers == thing.number, across, down)
        drawing.strokes(outline, colour=_CASING, width=0.36 * size)
        drawing.strokes(outline, colour=TELLTALE, width=0.2 * size)
    texts, plates = [], []
    for thing in shown:
        rows, columns = np.nonzero(numbers == thing.number)
        texts.append(
            f"{thing.number}  {percent(thing.blur)}, a model's {percent(thing.model_blur)}"
        )
        top = min(float(rows.min()) * down, picture.height - 1.5 * size)
        spot = ((float(columns.mean()) + 0.5) * across, max(top, 1.5 * size))
        wide = line_width(texts[-1], size, "semibold") + 0.8 * size
        plates.append(Plate(spot, wide, 1.5 * size, 0.2 * size))
    placed = spread(plates, *picture.size)
    draw_lines(drawing, plates, placed, size)
    for text, place in zip(texts, placed, strict=True):
        drawing.label(place.x, place.y, text, size, align="middle", weight="semibold")
    if not shown:
        drawing.label(
            picture.width / 2,
            1.5 * size,
            _NOTHING_KNOWN if verdict.bare_ground else "no telltale found",
            size,
            colour=_CASING,
            plate=PAPER,
            align="middle",
        )
    return drawing


def telltale_sheet(
    picture: Image.Image,
    verdict: Verdict,
    *,
    near: tuple[float, float, float, float] | None = None,
    cut_out: Sequence[Taken] = (),
    guessed: bool = False,
) -> Drawing:
    """The picture with its telltales over the verdict and its five parts, drawn as bars.

    The drawing is as wide as the picture, and higher.

    Parameters
    ----------
    picture, verdict, cut_out
        As in `telltale_overlay`.
    near : tuple of 4 floats, optional
        Where a near thing would hurt most, while nobody said whether there is one: left, top,
        right, bottom, shares of the picture.
    guessed : bool
        Whether the verdict stands on a guess.
    """
    size = letter_size_px(*picture.size)
    pad = 0.8 * size
    room = picture.width - 2 * pad
    sentence = if_guessed(verdict.sentence) if guessed else verdict.sentence
    lines = wrapped(sentence, size, room, "semibold")
    marks = verdict.marks.as_tuple()
    across = min(len(marks), max(1, int(room // (8 * size))))
    step = room / across
    rows = -(-len(marks) // across)
    top = picture.height + pad + 1.5 * size * len(lines)
    drawing = Drawing(picture.width, round(top + 3.1 * size * rows + 0.4 * size))
    drawing.place(telltale_overlay(picture, verdict, cut_out), 0, 0)
    if near is not None:
        _ask(drawing, picture.size, near, size)
    for number, line in enumerate(lines):
        y = picture.height + pad + (1.5 * number + 0.9) * size
        drawing.letters(pad, y, line, size, weight="semibold")
    for number, (name, mark) in enumerate(zip(_PARTS, marks, strict=True)):
        x, y = pad + step * (number % across), top + 3.1 * size * (number // across)
        width = step - 1.5 * size
        weakest = name == verdict.marks.weakest
        drawing.letters(x, y + 1.2 * size, name, 0.85 * size)
        drawing.letters(
            x + width, y + 1.2 * size, f"{mark:.2f}", 0.85 * size, align="right", colour=MUTED
        )
        drawing.box(x, y + 1.6 * size, width, 0.5 * size, colour=HAIRLINE)
        colour = TELLTALE if weakest else INK
        drawing.box(x, y + 1.6 * size, max(mark, 0.01) * width, 0.5 * size, colour=colour)
        if weakest and line_width(f"{name}  {_WEAKEST}  {mark:.2f}", 0.85 * size) <= width:
            after = x + line_width(f"{name}  ", 0.85 * size)
            drawing.letters(after, y + 1.2 * size, _WEAKEST, 0.85 * size, colour=MUTED)
    return drawing


def _ask(
    drawing: Drawing,
    picture_px: tuple[int, int],
    box: tuple[float, float, float, float],
    size: float,
) -> None:
    """Corners round the place, and the question in it."""
    inset = 0.4 * size
    left, right = (share * picture_px[0] for share in box[::2])
    top, bottom = (share * picture_px[1] for share in box[1::2])
    left, top, right, bottom = left + inset, top + inset, right - inset, bottom - inset
    arm = 0.2 * min(right - left, bottom - top)
    corners = [
        [(x + way_x * arm, y), (x, y), (x, y + way_y * arm)]
        for x, way_x in ((left, 1.0), (right, -1.0))
        for y, way_y in ((top, 1.0), (bottom, -1.0))
    ]
    drawing.strokes(corners, colour=_CASING, width=0.36 * size)
    drawing.strokes(corners, colour=PAPER, width=0.2 * size)
    drawing.label((left + right) / 2, bottom - 1.6 * size, _NEAR, size, align="middle")


def _outline(mask: NDArray[np.bool_], across: float, down: float) -> list[list[Point]]:
    """Borders of the cells of a mask, in picture pixels."""
    padded = np.pad(mask.astype(float), 1)
    lines = contour_generator(z=padded, name="serial").lines(0.5)
    return [[((x - 0.5) * across, (y - 0.5) * down) for x, y in np.asarray(line)] for line in lines]
