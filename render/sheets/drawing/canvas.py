"""`Drawing`: a flat list of shapes, made once and painted to pixels, SVG or PDF alike.

Positions are x right, y down from the top left corner, in the drawing's own unit; the
painters are `render.sheets.drawing.raster` and `render.sheets.drawing.vector`.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Literal

import numpy as np
from numpy.typing import NDArray
from PIL import Image

from render.sheets.drawing.lettering import lacking, line_width, wrapped
from render.sheets.drawing.stand_in import stand_in_words
from render.sheets.drawing.style import INK, PAPER, Colour, Weight

__all__ = [
    "Align",
    "Area",
    "Drawing",
    "Item",
    "Letters",
    "Path",
    "Picture",
    "Point",
    "hatch_lines",
    "stand_in_notes",
]

Point = tuple[float, float]
Align = Literal["left", "middle", "right"]


@dataclass(frozen=True, slots=True)
class Letters:
    """One line of text; (x, y) is on the baseline, at its left end."""

    x: float
    y: float
    text: str
    size: float
    weight: Weight = "regular"
    colour: Colour = INK

    @property
    def width(self) -> float:
        """Width in the drawing's unit."""
        return line_width(self.text, self.size, self.weight)


@dataclass(frozen=True, slots=True)
class Path:
    """Stroked lines, each through its points."""

    runs: tuple[tuple[Point, ...], ...]
    colour: Colour = INK
    width: float = 1.0
    dash: tuple[float, float] | None = None


@dataclass(frozen=True, slots=True)
class Area:
    """A filled polygon."""

    points: tuple[Point, ...]
    colour: Colour = INK
    opacity: float = 1.0


@dataclass(frozen=True, slots=True, eq=False)
class Picture:
    """An sRGB picture drawn into a rectangle; `jpeg` holds its coded bytes, if they are known.

    `shows` says in words what it shows, for whoever cannot see it; empty where it is decoration.
    """

    image: Image.Image
    x: float
    y: float
    width: float
    height: float
    jpeg: bytes | None = None
    shows: str = ""


Item = Letters | Path | Area | Picture


@dataclass(slots=True)
class Drawing:
    """A page under construction: its size, its ground and its items, painted in order.

    Attributes
    ----------
    width, height : float
        In units.
    unit_pt : float
        Size of the unit in points: 1 for pages, 0.75 for sheets laid out in px of 96 dpi.
    ground : Colour
    """

    width: float
    height: float
    unit_pt: float = 0.75
    ground: Colour = PAPER
    items: list[Item] = field(default_factory=list)

    def letters(
        self,
        x: float,
        y: float,
        text: str,
        size: float,
        *,
        weight: Weight = "regular",
        colour: Colour = INK,
        align: Align = "left",
    ) -> Letters:
        """Add one line of text with its baseline at y; x is its left end, middle or right end."""
        shift = {"left": 0.0, "middle": 0.5, "right": 1.0}[align]
        item = Letters(x - shift * line_width(text, size, weight), y, text, size, weight, colour)
        self.items.append(item)
        return item

    def path(
        self,
        points: Sequence[Point],
        *,
        colour: Colour = INK,
        width: float = 1.0,
        dash: tuple[float, float] | None = None,
    ) -> None:
        """Add a stroked line."""
        self.strokes([points], colour=colour, width=width, dash=dash)

    def strokes(
        self,
        runs: Sequence[Sequence[Point]],
        *,
        colour: Colour = INK,
        width: float = 1.0,
        dash: tuple[float, float] | None = None,
    ) -> None:
        """Add several stroked lines of one kind."""
        self.items.append(Path(tuple(tuple(run) for run in runs), colour, width, dash))

    def area(self, points: Sequence[Point], *, colour: Colour = INK, opacity: float = 1.0) -> None:
        """Add a filled polygon."""
        self.items.append(Area(tuple(points), colour, opacity))

    def box(
        self,
        x: float,
        y: float,
        width: float,
        height: float,
        *,
        colour: Colour = INK,
        opacity: float = 1.0,
    ) -> None:
        """Add a filled rectangle."""
        corners = ((x, y), (x + width, y), (x + width, y + height), (x, y + height))
        self.area(corners, colour=colour, opacity=opacity)

    def ring(
        self,
        x: float,
        y: float,
        radius: float,
        *,
        colour: Colour = INK,
        width: float = 1.0,
        dash: tuple[float, float] | None = None,
    ) -> None:
        """Add a stroked circle."""
        turn = np.linspace(0.0, 2 * math.pi, 49)
        points = [(x + radius * math.cos(t), y + radius * math.sin(t)) for t in turn]
        self.path(points, colour=colour, width=width, dash=dash)

    def disc(self, x: float, y: float, radius: float, *, colour: Colour = INK) -> None:
        """Add a filled circle."""
        turn = np.linspace(0.0, 2 * math.pi, 48, endpoint=False)
        points = [(x + radius * math.cos(t), y + radius * math.sin(t)) for t in turn]
        self.area(points, colour=colour)

    def picture(
        self,
        image: Image.Image,
        x: float,
        y: float,
        width: float,
        height: float,
        *,
        jpeg: bytes | None = None,
        shows: str = "",
    ) -> None:
        """Add a picture."""
        self.items.append(Picture(image, x, y, width, height, jpeg, shows))

    def label(
        self,
        x: float,
        y: float,
        text: str,
        size: float,
        *,
        colour: Colour = INK,
        plate: Colour = PAPER,
        align: Align = "left",
        weight: Weight = "regular",
    ) -> None:
        """Add text on a plain plate, so that it reads on any picture; y is the plate's middle.

        The plate is moved inside the drawing where it would be cut; text that is wider than the
        drawing is set in several lines.
        """
        pad = 0.4 * size
        lines = [text]
        if line_width(text, size, weight) > self.width - 2 * pad:
            lines = wrapped(text, size, self.width - 2 * pad, weight)
        width = max(line_width(line, size, weight) for line in lines) + 2 * pad
        high = 1.3 * size * (len(lines) - 1)
        left = x - {"left": 0.0, "middle": 0.5, "right": 1.0}[align] * width
        left = max(0.0, min(left, self.width - width))
        half = 0.75 * size + high / 2
        middle = max(half, min(y, self.height - half))
        self.box(left, middle - half, width, 2 * half, colour=plate)
        for number, line in enumerate(lines):
            down = middle - high / 2 + 1.3 * size * number + 0.36 * size
            self.letters(left + pad, down, line, size, colour=colour, weight=weight)

    def place(self, other: "Drawing", x: float, y: float, scale: float = 1.0) -> None:
        """Add the items of another drawing, moved and scaled."""
        self.items.extend(_moved(item, x, y, scale) for item in other.items)

    def texts(self) -> list[Letters]:
        """Every line of text, in drawing order."""
        return [item for item in self.items if isinstance(item, Letters)]


def stand_in_notes(drawings: Sequence[Drawing]) -> tuple[str, ...]:
    """Say which fonts besides the bundled one set letters of these drawings, if any do."""
    texts = (item.text for drawing in drawings for item in drawing.texts())
    return tuple(filter(None, [stand_in_words(frozenset().union(*map(lacking, texts)))]))


def hatch_lines(
    polygons: Sequence[NDArray[np.float64]], gap: float, angle_deg: float = 45.0
) -> list[tuple[Point, Point]]:
    """Parallel lines that fill polygons (even-odd rule), as pairs of end points.

    Parameters
    ----------
    polygons : sequence of ndarray, shape (n, 2)
        Outlines; a hole is an outline inside another.
    gap : float
        Distance between lines, in the polygons' unit.
    """
    turn = math.radians(angle_deg)
    along = np.array([math.cos(turn), math.sin(turn)])
    across = np.array([-along[1], along[0]])
    starts = np.concatenate(list(polygons)) if polygons else np.empty((0, 2))
    ends = np.concatenate([np.roll(p, -1, axis=0) for p in polygons]) if polygons else starts
    if len(starts) == 0:
        return []
    s0, s1 = starts @ across, ends @ across
    lines: list[tuple[Point, Point]] = []
    for level in np.arange(math.ceil(s0.min() / gap) * gap, s0.max(), gap):
        crosses = (s0 <= level) != (s1 <= level)
        part = (level - s0[crosses]) / (s1[crosses] - s0[crosses])
        t0, t1 = starts[crosses] @ along, ends[crosses] @ along
        where = np.sort(t0 + part * (t1 - t0))
        for left, right in zip(where[::2], where[1::2], strict=False):
            first, last = left * along + level * across, right * along + level * across
            lines.append(((float(first[0]), float(first[1])), (float(last[0]), float(last[1]))))
    return lines


def _moved(item: Item, x: float, y: float, scale: float) -> Item:
    match item:
        case Letters():
            return Letters(
                x + scale * item.x,
                y + scale * item.y,
                item.text,
                scale * item.size,
                item.weight,
                item.colour,
            )
        case Path():
            dash = None if item.dash is None else (scale * item.dash[0], scale * item.dash[1])
            runs = tuple(
                tuple((x + scale * px, y + scale * py) for px, py in run) for run in item.runs
            )
            return Path(runs, item.colour, scale * item.width, dash)
        case Area():
            points = tuple((x + scale * px, y + scale * py) for px, py in item.points)
            return Area(points, item.colour, item.opacity)
        case Picture():
            return Picture(
                item.image,
                x + scale * item.x,
                y + scale * item.y,
                scale * item.width,
                scale * item.height,
                item.jpeg,
                item.shows,
            )
