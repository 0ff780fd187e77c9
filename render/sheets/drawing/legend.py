"""The legend of the blur map: colours with px and %, and what the two kinds of line mean."""

from dataclasses import dataclass

import numpy as np
from PIL import Image

from render.sheets.drawing.canvas import Align, Drawing
from render.sheets.drawing.colourmap import HIGHEST, LOWEST, blur_colours, scale_place
from render.sheets.drawing.lettering import line_width, shortened
from render.sheets.drawing.style import HAIRLINE, INK, MUTED
from render.words import percent

__all__ = ["Circle", "draw_legend", "legend_height", "px_words"]

_LEVELS = (32, 1, 2, 4, 8, 16)  # in the order in which they find room
_NEARER, _FARTHER = "nearer than the plane of sharp focus", "farther"
#: Grey under the colours of the bar, the middle of a darkened picture.
_UNDER = 110.0


@dataclass(frozen=True, slots=True)
class Circle:
    """The circle of confusion of a picture that may be shown smaller than it is.

    Attributes
    ----------
    px : float
        In pixels as shown.
    height_px : float
        Of the picture as shown: what per cent are of.
    full_scale : float or None
        Pixels of the full picture for each one shown; None leaves pixels out.
    """

    px: float
    height_px: float
    full_scale: float | None = 1.0

    def words(self, level: float) -> tuple[str, ...]:
        """So many circles: "4c", "12 px", "0.3 %"."""
        share = percent(level * self.px / self.height_px)
        if self.full_scale is None:
            return f"{level:g}c", share
        return f"{level:g}c", px_words(level * self.px * self.full_scale), share

    @property
    def meaning(self) -> str:
        """What c is, and of which picture the pixels are."""
        text = f"c = circle of confusion, {self.words(1)[1]}"
        if self.full_scale is None:
            return f"{text} of the height"
        return text if abs(self.full_scale - 1) < 0.01 else f"{text} of the full picture"


def legend_height(width: float, size: float) -> float:
    """Height of a legend under a picture `width` wide, type of `size`."""
    return (6.6 if _is_wide(width, size) else 8.1) * size


def draw_legend(drawing: Drawing, y: float, circle: Circle, size: float) -> None:
    """Draw the legend across a drawing, from y down.

    Parameters
    ----------
    circle : Circle
    size : float
        Type size that the overlay is lettered in.
    """
    pad, small = 0.6 * size, 0.85 * size
    room = drawing.width - 2 * pad
    wide = _is_wide(drawing.width, size)
    bar = room - 24 * size if wide else room
    drawing.letters(pad, y + 1.4 * size, "Blur, diameter", small, weight="semibold")
    head = line_width("Blur, diameter  ", small, "semibold")
    meaning = shortened(circle.meaning, small, room - head)
    drawing.letters(pad + head, y + 1.4 * size, meaning, small, colour=MUTED)
    if wide:
        _draw_key(drawing, pad + bar + 1.5 * size, y + 2.5 * size, _NEARER, False, size)
        _draw_key(drawing, pad + bar + 1.5 * size, y + 4.0 * size, _FARTHER, True, size)
    else:
        y += 1.5 * size
        name = _NEARER
        if line_width(_NEARER + _FARTHER, small) + 7.5 * size > room:
            name = "nearer"
        after = _draw_key(drawing, pad, y + 1.4 * size, name, False, size)
        _draw_key(drawing, after + size, y + 1.4 * size, _FARTHER, True, size)
    _draw_bar(drawing, pad, y + 2.0 * size, bar, size)
    _draw_levels(drawing, pad, y + 2.0 * size, bar, circle, size)
    drawing.path(
        [(0, drawing.height - 0.5), (drawing.width, drawing.height - 0.5)], colour=HAIRLINE
    )


def px_words(value: float) -> str:
    """A length in px with as many figures as it deserves: "0.63 px", "12 px"."""
    return f"{value:.2g} px" if value < 10 else f"{value:.0f} px"


def _is_wide(width: float, size: float) -> bool:
    return width - 1.2 * size >= 46 * size


def _draw_bar(drawing: Drawing, left: float, top: float, width: float, size: float) -> None:
    steps = 120
    multiples = LOWEST * (HIGHEST / LOWEST) ** ((np.arange(steps) + 0.5) / steps)
    colours = blur_colours(multiples, np.full(steps, _UNDER))
    strip = Image.fromarray(colours[None])
    strip = strip.resize((max(1, round(width)), 1), Image.Resampling.NEAREST)
    drawing.picture(strip, left, top, width, 0.9 * size)


def _draw_levels(
    drawing: Drawing,
    left: float,
    top: float,
    width: float,
    circle: Circle,
    size: float,
) -> None:
    """Write each multiple under its place, as px and %, where there is room."""
    small = 0.85 * size
    taken: list[tuple[float, float]] = []
    for level in _LEVELS:
        x = left + width * float(scale_place(level))
        drawing.path([(x, top), (x, top + 1.2 * size)], width=max(1.0, 0.07 * size))
        words = circle.words(level)
        widest = max(line_width(text, small) for text in words)
        align: Align = "right" if level == _LEVELS[0] else "middle"
        start = x - widest * (1.0 if align == "right" else 0.5)
        if start < 0 or any(start < b + 0.5 * size and a < start + widest for a, b in taken):
            continue
        taken.append((start, start + widest + 0.5 * size))
        for line, text in enumerate(words):
            colour = INK if line == 0 else MUTED
            y = top + (2.2 + 1.1 * line) * size
            drawing.letters(x, y, text, small, colour=colour, align=align)


def _draw_key(drawing: Drawing, x: float, y: float, text: str, dashed: bool, size: float) -> float:
    """Draw a sample of a line with its meaning; returns where the words end."""
    dash = (0.55 * size, 0.4 * size) if dashed else None
    line = [(x, y - 0.3 * size), (x + 2 * size, y - 0.3 * size)]
    drawing.path(line, width=0.12 * size, dash=dash)
    return x + 2.4 * size + drawing.letters(x + 2.4 * size, y, text, 0.85 * size).width
