"""Where the words of spots go, so that none lies on another: beside their spot, or led away."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from render.sheets.drawing.canvas import Drawing, Point
from render.sheets.drawing.lettering import line_width
from render.sheets.drawing.style import TELLTALE, Colour

__all__ = ["Placed", "Plate", "draw_lines", "draw_spots", "spread"]

_CASING: Colour = (0x10, 0x12, 0x14)
_TURNS = 24  # directions tried at each distance
_DISTANCES = (0.0, 0.6, 1.2, 2.0, 3.0, 4.2, 5.6, 7.2, 9.0, 12.0, 16.0, 22.0)  # in plate heights


@dataclass(frozen=True, slots=True)
class Plate:
    """A plate of words that belongs to a spot.

    Attributes
    ----------
    spot : (x, y)
    width, height : float
    clear : float
        How far from the spot its nearest edge should stay.
    """

    spot: Point
    width: float
    height: float
    clear: float


@dataclass(frozen=True, slots=True)
class Placed:
    """Where a plate goes.

    Attributes
    ----------
    x, y : float
        Its middle.
    led : bool
        It lies so far off that a line must lead to it.
    """

    x: float
    y: float
    led: bool


def spread(plates: Sequence[Plate], width: float, height: float) -> list[Placed]:
    """Find a place for each plate, the first ones first, that hides no plate and no spot.

    Where a drawing is too full for that, a plate goes where it hides least.
    """
    taken: list[tuple[float, float, float, float]] = []
    found = []
    for plate in plates:
        best, best_cost, best_led = plate.spot, math.inf, False
        for x, y, led in _places(plate, width, height):
            box = (x, y, plate.width, plate.height)
            hidden = sum(_shared(box, other) for other in taken)
            hidden += sum(_shared(box, _round_spot(other)) for other in plates)
            if hidden < best_cost:
                best, best_cost, best_led = (x, y), hidden, led
            if hidden == 0.0:
                break
        taken.append((*best, plate.width, plate.height))
        found.append(Placed(*best, best_led))
    return found


def _places(plate: Plate, width: float, height: float) -> list[tuple[float, float, bool]]:
    """Places inside the drawing, from beside the spot (above right first) farther and farther."""
    x0, y0 = plate.spot
    places = []
    for distance in _DISTANCES:
        for turn in range(_TURNS):
            # right, then alternately above and below it, round to the left
            angle = math.tau * ((turn + 1) // 2) / _TURNS * (-1 if turn % 2 else 1) - math.tau / 12
            dx, dy = math.cos(angle), math.sin(angle)
            reach = plate.clear + distance * plate.height
            x = x0 + dx * (reach + plate.width / 2)
            y = y0 + dy * (reach + plate.height / 2)
            inside_x = min(max(x, plate.width / 2), max(width - plate.width / 2, plate.width / 2))
            inside_y = min(
                max(y, plate.height / 2), max(height - plate.height / 2, plate.height / 2)
            )
            places.append((inside_x, inside_y, distance > 0.6))
    return places


def _round_spot(plate: Plate) -> tuple[float, float, float, float]:
    return (*plate.spot, 1.8 * plate.clear, 1.8 * plate.clear)


def _shared(a: tuple[float, float, float, float], b: tuple[float, float, float, float]) -> float:
    """Area that two boxes (middle, width, height) have in common."""
    across = (a[2] + b[2]) / 2 - abs(a[0] - b[0])
    down = (a[3] + b[3]) / 2 - abs(a[1] - b[1])
    across, down = min(across, a[2], b[2]), min(down, a[3], b[3])
    return across * down if across > 1e-9 and down > 1e-9 else 0.0


def draw_lines(
    drawing: Drawing, plates: Sequence[Plate], placed: Sequence[Placed], size: float
) -> None:
    """Lead a line from each spot to a plate that had to go elsewhere."""
    for plate, place in zip(plates, placed, strict=True):
        away = math.dist(plate.spot, (place.x, place.y))
        if place.led and away > plate.clear:
            share = max(0.0, plate.clear - 0.3 * size) / away
            x, y = plate.spot
            start = (x + share * (place.x - x), y + share * (place.y - y))
            line = [start, (place.x, place.y)]
            drawing.path(line, colour=_CASING, width=0.26 * size)
            drawing.path(line, colour=TELLTALE, width=0.13 * size)


def draw_spots(drawing: Drawing, spots: Sequence[Point], size: float) -> None:
    """Ring each spot, smaller where spots lie close, and number it; no number hides another."""
    radii = [
        min(1.5 * size, max(0.4 * size, 0.42 * min((math.dist(a, b) for b in others), default=9e9)))
        for a, others in (
            (a, [b for k, b in enumerate(spots) if k != n]) for n, a in enumerate(spots)
        )
    ]
    plates = [
        Plate(spot, line_width(f"{n}", size, "semibold") + 0.8 * size, 1.5 * size, r + 0.3 * size)
        for n, (spot, r) in enumerate(zip(spots, radii, strict=True), start=1)
    ]
    placed = spread(plates, drawing.width, drawing.height)
    draw_lines(drawing, plates, placed, size)
    for (x, y), radius in zip(spots, radii, strict=True):
        dash = (0.5 * size, 0.3 * size) if radius > size else None
        drawing.ring(
            x, y, radius, colour=_CASING, width=0.34 * size * min(1.0, radius / size + 0.3)
        )
        drawing.ring(x, y, radius, colour=TELLTALE, width=0.2 * size, dash=dash)
    for number, plate in enumerate(placed, start=1):
        drawing.label(plate.x, plate.y, str(number), size, align="middle", weight="semibold")
