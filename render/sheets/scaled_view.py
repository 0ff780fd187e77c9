"""A part of a slice shown on a page, to scale both ways, and what is drawn in any such view."""

from dataclasses import dataclass

import numpy as np

from render.sheets.drawing.canvas import Drawing, Point, hatch_lines
from render.sheets.drawing.style import BAND, MEDIUM, Colour
from render.sheets.slice import Frame, Line, Slice, clip_line, wedge_polygon
from render.units import FOOT_M, MILE_M, in_feet, round_metres

__all__ = ["View", "draw_line", "draw_scale_bar", "draw_wedge", "fit"]

_STEPS_M: tuple[float, ...] = tuple(
    step * power for power in (0.01, 0.1, 1, 10, 100, 1000) for step in (1, 2, 5)
)


@dataclass(frozen=True, slots=True)
class View:
    """A part of the slice shown in a rectangle of the page, to scale both ways."""

    frame: Frame  # metres: left, bottom, right, top
    pt_per_m: float

    @property
    def width(self) -> float:
        """Width on the page, points."""
        return (self.frame[2] - self.frame[0]) * self.pt_per_m

    @property
    def height(self) -> float:
        """Height on the page, points."""
        return (self.frame[3] - self.frame[1]) * self.pt_per_m

    def at(self, point: Point) -> Point:
        """Place on the page of a point of the slice."""
        return (
            (point[0] - self.frame[0]) * self.pt_per_m,
            (self.frame[3] - point[1]) * self.pt_per_m,
        )

    def holds(self, point: Point) -> bool:
        """Whether a point of the slice is in view."""
        left, bottom, right, top = self.frame
        return left <= point[0] <= right and bottom <= point[1] <= top


def fit(frame: Frame, width: float, height: float, left_share: float = 0.1) -> View:
    """Scale a frame into a rectangle; what is left over widens the frame."""
    left, bottom, right, top = frame
    scale = min(width / (right - left), height / (top - bottom))
    spare_x = width / scale - (right - left)
    spare_y = height / scale - (top - bottom)
    left, right = left - left_share * spare_x, right + (1 - left_share) * spare_x
    return View((left, bottom - spare_y / 2, right, top + spare_y / 2), scale)


def draw_line(
    drawing: Drawing,
    view: View,
    line: Line,
    colour: Colour,
    width: float,
    dash: tuple[float, float] | None = None,
) -> None:
    """Draw the part of a line that lies in the view."""
    ends = clip_line(line, view.frame)
    if ends is not None:
        drawing.path([view.at(p) for p in ends], colour=colour, width=width, dash=dash)


def draw_wedge(drawing: Drawing, view: View, cut: Slice) -> None:
    """Tint and hatch where blur is under the circle of confusion."""
    polygon = [view.at(p) for p in wedge_polygon(cut, view.frame)]
    if len(polygon) < 3:
        return
    drawing.area(polygon, colour=BAND, opacity=0.13)
    hatch = hatch_lines([np.asarray(polygon, float)], 7.0)
    drawing.strokes(hatch, colour=BAND, width=0.35)


def draw_scale_bar(drawing: Drawing, view: View, y: float, size: float) -> None:
    """Draw a bar of a round length, its foot at y."""
    steps = _STEPS_M
    if in_feet():
        inches = [FOOT_M / 12 * s for s in _STEPS_M if 1 <= s < 12]
        feet = [FOOT_M * s for s in _STEPS_M if 1 <= s < MILE_M / FOOT_M]
        steps = (*inches, *feet, *(MILE_M * s for s in _STEPS_M if s >= 1))
    step = max((s for s in steps if s * view.pt_per_m <= 0.3 * view.width), default=steps[0])
    length = step * view.pt_per_m
    x = 4.0
    drawing.path([(x, y - 0.7 * size), (x + length, y - 0.7 * size)], width=MEDIUM)
    for end in (x, x + length):
        drawing.path([(end, y - 1.1 * size), (end, y - 0.3 * size)], width=MEDIUM)
    drawing.letters(x + length + 0.7 * size, y - 0.35 * size, round_metres(step), size)
