"""Words in a side section, each in a place of its own: distances, movement, plane."""

import itertools
import math
from collections.abc import Sequence

import numpy as np

from render.optics.lens import LensSetting
from render.sheets.drawing.canvas import Drawing, Point
from render.sheets.drawing.lettering import line_width
from render.sheets.drawing.style import FOCUS_PLANE, MEDIUM, SOIL
from render.sheets.scaled_view import View
from render.sheets.slice import Slice, clip_line
from render.words import length_words, swing_words, tilt_words

__all__ = ["crossed", "mark_ground", "name_movement", "name_plane", "plane_in"]


def mark_ground(drawing: Drawing, view: View, cut: Slice, size: float) -> None:
    """Distances along the ground where the wedge meets it."""
    if cut.ground_m is None:
        return
    spots = [(out, float(cut.ground_up(out))) for out in sorted(cut.meets) if out > 0]
    spots = [spot for spot in spots if view.holds(spot)]
    ticks = [view.at(spot) for spot in spots]
    for x, y in ticks:
        drawing.path([(x, y - 4), (x, y + 4)], width=MEDIUM)
    if ticks:
        # to the left of the first tick, because the planes run on below the ground to the right
        text = " to ".join(length_words(out) for out, _ in spots)
        x, y = ticks[0]
        drawing.label(x, y + 5 + 0.75 * size, text, size, plate=SOIL, align="right")


def name_movement(
    drawing: Drawing, view: View, cut: Slice, setting: LensSetting, size: float
) -> None:
    """Write how the lens is turned beside the camera, off the plane of sharp focus."""
    x, y = view.at((0.0, 0.0))
    words = tilt_words(setting.tilt_deg) if cut.kind == "side" else swing_words(setting.swing_deg)
    wide = line_width(words, size, "semibold") + 0.8 * size
    plane = plane_in(view, cut)
    ways = [
        (x + out, y + up * size) for out in (12, 34, 60, 100, 140) for up in (-2.0, 0.0, 2.0, 3.4)
    ]
    inside = [way for way in ways if way[1] > 0.75 * size and way[0] + wide < drawing.width]
    free = [
        (left, middle)
        for left, middle in inside
        if not crossed(plane, left, middle, wide, 2.0 * size)
        and _is_free(drawing, left, middle, wide, size)
    ]
    drawing.label(*(free or inside or ways)[0], words, size, weight="semibold")


def plane_in(view: View, cut: Slice) -> list[Point]:
    """The ends of the plane of sharp focus as far as it is drawn; empty where it is not."""
    ends = clip_line(cut.sharp_line(), view.frame)
    return [view.at(end) for end in ends] if ends is not None else []


def name_plane(drawing: Drawing, view: View, cut: Slice, size: float) -> None:
    """Write "plane of sharp focus" beside the line, where there is room."""
    ends = clip_line(cut.sharp_line(), view.frame)
    if ends is None:
        return
    text = "plane of sharp focus"
    first, last = (view.at(p) for p in ends)
    wide = line_width(text, size) + 0.8 * size
    steep = abs(last[1] - first[1]) > 1.5 * abs(last[0] - first[0])
    lift = 0.0 if steep else math.copysign(1.1 * size, first[1] - last[1])
    best = None
    left, _, right, _ = view.frame
    scene = np.array([view.at(place) for run in cut.runs for place in run.points]).reshape(-1, 2)
    starts = (0.5 * size, -0.5 * size - wide)  # right or left of a place on the line
    for side, start, part in itertools.product((1.0, -1.0), starts, np.linspace(0.04, 0.96, 32)):
        px = first[0] + part * (last[0] - first[0]) + start
        py = first[1] + part * (last[1] - first[1]) + side * lift
        if 0 < px < view.width - wide and size < py < view.height - size:
            middle = (px + wide / 2, py)
            crowd = min(
                (abs(middle[0] - x) / wide + abs(py - y) / size for x, y in _taken(drawing)),
                default=1e9,
            )
            if cut.ground_m is not None:
                out = left + middle[0] / view.width * (right - left)
                soil = view.at((out, float(cut.ground_up(out))))[1]
                crowd -= 1e3 * (py > soil - size)  # beside the line in the air, if it can be
            off = np.abs(scene - middle)
            crowd -= 3e3 * bool(np.any((off[:, 0] < wide / 2) & (off[:, 1] < size)))  # on a thing
            crowd -= 1e4 * (side < 0)  # on its usual side
            crowd -= 2e4 * crossed((first, last), px, py, wide, size)
            crowd -= 1e5 * (not _is_free(drawing, px, py, wide, size))
            if best is None or crowd > best[0]:
                best = (crowd, px, py)
    if best is not None:
        drawing.label(best[1], best[2], text, size, colour=FOCUS_PLANE)


def crossed(line: Sequence[Point], left: float, middle: float, wide: float, high: float) -> bool:
    """Whether a straight line runs through a word's rectangle."""
    if len(line) < 2:
        return False
    parts = np.linspace(0.0, 1.0, 256)[:, None]
    points = (1 - parts) * np.asarray(line[0]) + parts * np.asarray(line[1])
    inside = (points[:, 0] > left) & (points[:, 0] < left + wide)
    return bool(np.any(inside & (np.abs(points[:, 1] - middle) < high / 2)))


def _is_free(drawing: Drawing, left: float, middle: float, wide: float, size: float) -> bool:
    """Whether a word's plate would lie on none of the words that are there."""
    pad = 0.4 * size
    return not any(
        abs(text.y - 0.36 * text.size - middle) < 0.75 * (size + text.size)
        and left < text.x + text.width + pad
        and text.x - pad < left + wide
        for text in drawing.texts()
    )


def _taken(drawing: Drawing) -> list[Point]:
    return [(t.x + t.width / 2, t.y) for t in drawing.texts()]
