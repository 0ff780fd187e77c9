"""Telltales outlined on the picture and numbered as in the list."""

import numpy as np
from contourpy import contour_generator
from numpy.typing import NDArray
from PIL import Image

from render.judge.verdict import Verdict
from render.sheets.canvas import Drawing, Point
from render.sheets.lettering import line_width
from render.sheets.overlay import letter_size_px
from render.sheets.spread import Plate, spread
from render.sheets.style import PAPER, TELLTALE, Colour

__all__ = ["telltale_overlay"]

_CASING: Colour = (0x10, 0x12, 0x14)
_SHOWN = 9  # more outlines than this hide the picture


def telltale_overlay(picture: Image.Image, verdict: Verdict) -> Drawing:
    """Outline the worst telltales on the picture, each with its number and how soft it is.

    Parameters
    ----------
    picture : PIL.Image.Image
        The planned frame at any size, RGB, sRGB-coded.
    verdict : Verdict

    Returns
    -------
    Drawing
        As large as the picture.
    """
    drawing = Drawing(*picture.size)
    drawing.picture(picture, 0, 0, *picture.size)
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
            f"{thing.number}  {100 * thing.blur:.2g} %, a model's {100 * thing.model_blur:.2g} %"
        )
        top = min(float(rows.min()) * down, picture.height - 1.5 * size)
        spot = ((float(columns.mean()) + 0.5) * across, max(top, 1.5 * size))
        wide = line_width(texts[-1], size, "semibold") + 0.8 * size
        plates.append(Plate(spot, wide, 1.5 * size, 0.2 * size))
    placed = spread(plates, *picture.size)
    for plate, place in zip(plates, placed, strict=True):
        if place.led:
            line = [plate.spot, (place.x, place.y)]
            drawing.path(line, colour=_CASING, width=0.26 * size)
            drawing.path(line, colour=TELLTALE, width=0.13 * size)
    for text, place in zip(texts, placed, strict=True):
        drawing.label(place.x, place.y, text, size, align="middle", weight="semibold")
    if not shown:
        drawing.label(
            picture.width / 2,
            1.5 * size,
            "no telltale found",
            size,
            colour=_CASING,
            plate=PAPER,
            align="middle",
        )
    return drawing


def _outline(mask: NDArray[np.bool_], across: float, down: float) -> list[list[Point]]:
    """Borders of the cells of a mask, in picture pixels."""
    padded = np.pad(mask.astype(float), 1)
    lines = contour_generator(z=padded, name="serial").lines(0.5)
    return [[((x - 0.5) * across, (y - 0.5) * down) for x, y in np.asarray(line)] for line in lines]
