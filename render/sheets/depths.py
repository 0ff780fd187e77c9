"""Depth as a picture: near light, far dark, sky plain, with the marks and a legend in metres."""

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray
from PIL import Image

from render.sheets.drawing.canvas import Align, Drawing, Point
from render.sheets.drawing.colourmap import HIGHEST, LOWEST, blur_colours
from render.sheets.drawing.style import INK, TELLTALE, Colour
from render.sheets.overlay import Taken, draw_taken, letter_size_px
from render.units import FOOT_M, in_feet
from render.words import length_words

__all__ = ["depth_sheet"]

_CASING: Colour = (0x10, 0x12, 0x14)
_SKY = (0x9A, 0xA4, 0xAE)
_HOLE = (0xB0, 0x30, 0x60)


def depth_sheet(
    picture: Image.Image,
    depth_m: NDArray[np.float32],
    marks: Sequence[tuple[Point, str]] = (),
    *,
    heading: str = "",
    taken: Sequence[Taken] = (),
) -> Drawing:
    """Draw depth as colour over the darkened grey picture, even steps for each doubling.

    Parameters
    ----------
    picture : PIL.Image.Image
        RGB, sRGB-coded, as large as the depth.
    depth_m : ndarray, shape (H, W)
        ``inf`` is drawn as plain sky, NaN as a hole.
    marks : sequence of ((x, y), words)
        Spots in px and what is written beside them.
    heading : str
        One line over the legend.
    taken : sequence of Taken
        What was cut out of the picture.

    Returns
    -------
    Drawing
        As wide as the picture, higher by the legend.
    """
    size = letter_size_px(*picture.size)
    near, far = _range(depth_m)
    with np.errstate(divide="ignore", invalid="ignore"):
        place = 1.0 - np.log(np.clip(depth_m, near, far) / near) / math.log(far / near)
    colours = _coloured(np.nan_to_num(place), np.asarray(picture.convert("L")))
    colours[np.isposinf(depth_m)] = _SKY
    colours[np.isnan(depth_m)] = _HOLE
    drawing = Drawing(picture.width, picture.height + round(6.2 * size))
    drawing.picture(Image.fromarray(colours), 0, 0, *picture.size)
    draw_taken(drawing, taken, picture.size)
    for (x, y), words in marks:
        drawing.disc(x, y, 0.45 * size, colour=_CASING)
        drawing.disc(x, y, 0.3 * size, colour=TELLTALE)
        side: Align = "left" if x < 0.8 * picture.width else "right"
        step = 0.8 * size if side == "left" else -0.8 * size
        drawing.label(x + step, y, words, size, align=side)
    _legend(drawing, picture, near, far, size, heading)
    return drawing


def _range(depth_m: NDArray[np.float32]) -> tuple[float, float]:
    known = depth_m[np.isfinite(depth_m)]
    if known.size == 0:
        return 1.0, 2.0
    near, far = (float(v) for v in np.percentile(known, [0.5, 99.5]))
    return near, max(far, 1.2 * near)


def _coloured(place: NDArray[np.floating], grey: NDArray[np.uint8]) -> NDArray[np.uint8]:
    """Colours of places 0 (far) to 1 (near) on the scale all maps share."""
    multiple = LOWEST * (HIGHEST / LOWEST) ** place
    return np.array(blur_colours(multiple, grey))


def _legend(
    drawing: Drawing, picture: Image.Image, near: float, far: float, size: float, heading: str
) -> None:
    top = picture.height + 2.4 * size
    left, width = 1.2 * size, picture.width - 2.4 * size
    if heading:
        drawing.letters(left, picture.height + 1.6 * size, heading, size, colour=INK)
    strip = _coloured(np.linspace(0, 1, 512)[None, :], np.full((1, 512), 96, np.uint8))
    drawing.picture(Image.fromarray(strip), left, top, width, 1.2 * size)
    placed = -math.inf
    for depth in sorted(_round_depths(near, far), reverse=True):
        x = left + width * (1 - math.log(depth / near) / math.log(far / near))
        if x - placed < 5 * size:
            continue
        placed = x
        drawing.strokes([((x, top), (x, top + 1.5 * size))], colour=INK, width=0.08 * size)
        place = min(max(x, 2.2 * size), picture.width - 2.2 * size)
        drawing.letters(
            place, top + 2.7 * size, length_words(depth), size, colour=INK, align="middle"
        )


def _round_depths(near: float, far: float) -> list[float]:
    """Depths of 1, 2 and 5 times a power of ten inside a range; in a short one also between.

    They are round in the unit that they are told in.
    """
    unit = FOOT_M if in_feet() else 1.0
    near, far = near / unit, far / unit
    powers = range(math.floor(math.log10(near)), math.ceil(math.log10(far)) + 1)
    marked = (1, 2, 5) if far > 12 * near else (1, 1.2, 1.5, 2, 2.5, 3, 4, 5, 6, 7, 8, 9)
    steps = [m * 10.0**power for power in powers for m in marked]
    return [unit * step for step in steps if near <= step <= far]
