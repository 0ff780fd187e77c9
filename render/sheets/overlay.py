"""What is drawn over a picture: the blur map, the sharp band, spots, horizon and thirds.

Overlays are drawings in the picture's own pixels, so painting one at scale 1 keeps every
pixel of the picture. Lines are cased, words stand on plates: both read on any picture.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import scipy
from contourpy import contour_generator
from numpy.typing import NDArray
from PIL import Image

from render.errors import InputError
from render.optics.band import level_ground_per_m
from render.optics.blur import BlurField
from render.optics.camera import Camera, Vantage
from render.sheets.drawing.canvas import Drawing, Point, hatch_lines
from render.sheets.drawing.colourmap import blur_colours
from render.sheets.drawing.legend import Circle, draw_legend, legend_height
from render.sheets.drawing.lettering import line_width
from render.sheets.drawing.spread import draw_spots
from render.sheets.drawing.style import BAND, INK, MUTED, PAPER, Colour

__all__ = [
    "Marks",
    "Taken",
    "band_overlay",
    "band_regions",
    "blur_map",
    "draw_marks",
    "draw_taken",
    "letter_size_px",
    "near_outlines",
    "taken_outlines",
    "triptych",
]

_LEVELS = (1, 2, 4, 8)
_CASING: Colour = (0x10, 0x12, 0x14)
#: Contours are drawn on a grid of at most this many points along the longer side.
_CONTOUR_GRID = 480
#: What is near may be a wire: its outlines are drawn on a finer one.
_NEAR_GRID, _NEAR_LEVEL, _MOST_NEAR = 960, 0.4, 200


@dataclass(frozen=True, slots=True)
class Marks:
    """What else to show over a picture.

    Attributes
    ----------
    telltales : tuple of (x, y)
        Spots to check, px; they are numbered from 1.
    focus : (x, y) or None
        The focus spot, px.
    vantage : Vantage or None
        Draws the horizon.
    thirds : bool
    taken : tuple of Taken
        What was cut out of the picture.
    """

    telltales: tuple[Point, ...] = ()
    focus: Point | None = None
    vantage: Vantage | None = None
    thirds: bool = False
    taken: "tuple[Taken, ...]" = ()


@dataclass(frozen=True, slots=True)
class Taken:
    """What was cut out of a picture, in words, and its outlines, shares of the picture."""

    words: str
    lines: tuple[list[Point], ...]


def letter_size_px(width_px: float, height_px: float) -> float:
    """Type size that suits a picture: a seventieth of its longer side, at least 11 px."""
    return max(11.0, max(width_px, height_px) / 70)


def blur_map(
    picture: Image.Image,
    field: BlurField,
    coc_mm: float,
    *,
    full_scale: float | None = 1.0,
    lettered: bool = True,
) -> Drawing:
    """Blur as colour over the darkened grey picture, with contours and a legend below.

    Parameters
    ----------
    picture : PIL.Image.Image
        RGB, sRGB-coded, as large as the field.
    field : BlurField
    coc_mm : float
        Circle of confusion, mm.
    full_scale : float or None
        Pixels of the full picture for each one here, in which blur is told; None tells it as
        per cent of the height alone.
    lettered : bool
        With the legend and names on the contours; a screen has room for them elsewhere.

    Returns
    -------
    Drawing
        As wide as the picture, higher by the legend.

    Raises
    ------
    InputError
        If picture and field differ in size.
    """
    _check_size(picture, field)
    size = letter_size_px(*picture.size)
    multiple = _multiples(field, coc_mm)
    coloured = Image.fromarray(blur_colours(np.abs(multiple), np.asarray(picture.convert("L"))))
    below = round(legend_height(picture.width, size)) if lettered else 0
    drawing = Drawing(picture.width, picture.height + below)
    drawing.picture(coloured, 0, 0, picture.width, picture.height)
    for _, line, nearer in _contours(multiple, _LEVELS):
        dash = None if nearer else (0.55 * size, 0.4 * size)
        drawing.path(line, colour=_CASING, width=0.24 * size, dash=dash)
        drawing.path(line, colour=PAPER, width=0.12 * size, dash=dash)
    if not lettered:
        return drawing
    circle = Circle(coc_mm * field.px_per_mm, picture.height, full_scale)
    _label_contours(drawing, multiple, circle, picture.size, size)
    draw_legend(drawing, picture.height, circle, size)
    return drawing


def band_overlay(
    picture: Image.Image, field: BlurField, coc_mm: float, marks: Marks | None = None
) -> Drawing:
    """Outline and hatch the sharp band on the picture, with any marks.

    Parameters and errors as in `blur_map`; the drawing is as large as the picture.
    """
    _check_size(picture, field)
    size = letter_size_px(*picture.size)
    drawing = Drawing(*picture.size)
    drawing.picture(picture, 0, 0, *picture.size)
    multiple = np.abs(_multiples(field, coc_mm))
    grid, step_x, step_y = _grid(multiple)
    outlines = _regions(grid, step_x, step_y)
    slant = _hatch_angle(grid)
    hatch = [line for region in outlines for line in hatch_lines(region, 1.1 * size, slant)]
    drawing.strokes(hatch, colour=PAPER, width=0.16 * size)
    drawing.strokes(hatch, colour=BAND, width=0.09 * size)
    edges = _lines(np.log2(grid), 0.0, step_x, step_y, size)
    drawing.strokes(edges, colour=PAPER, width=0.34 * size)
    drawing.strokes(edges, colour=BAND, width=0.2 * size)
    where = _band_label_place(grid <= 1.0, step_x, step_y)
    if where is None:
        drawing.label(
            picture.width / 2, 1.5 * size, "nothing in the picture is sharp", size, align="middle"
        )
    else:
        drawing.label(*where, "sharp band", size, align="middle", weight="semibold")
    draw_marks(drawing, field.camera, marks or Marks(), size)
    return drawing


def band_regions(field: BlurField, coc_mm: float) -> list[list[NDArray[np.float64]]]:
    """Outlines of the sharp band, for drawing it elsewhere.

    Returns
    -------
    list of list of ndarray, shape (n, 2)
        Each region's outline and its holes, as places (x, y) in px.
    """
    return _regions(*_grid(np.abs(_multiples(field, coc_mm))))


def draw_marks(drawing: Drawing, camera: Camera, marks: Marks, size: float) -> None:
    """Draw thirds, horizon, focus spot and numbered spots in the pixels of `camera`."""
    width, height = camera.width_px, camera.height_px
    if marks.thirds:
        lines = [((width * k / 3, 0.0), (width * k / 3, float(height))) for k in (1, 2)]
        lines += [((0.0, height * k / 3), (float(width), height * k / 3)) for k in (1, 2)]
        drawing.strokes(lines, colour=_CASING, width=0.16 * size)
        drawing.strokes(lines, colour=PAPER, width=0.08 * size)
    if marks.vantage is not None:
        _draw_horizon(drawing, camera, marks.vantage, size)
    if marks.focus is not None:
        _draw_focus(drawing, marks.focus, size)
    draw_taken(drawing, marks.taken, (width, height))
    draw_spots(drawing, marks.telltales, size)


def near_outlines(region: NDArray[np.bool_] | None) -> tuple[list[Point], ...]:
    """Outlines of what was cut out as near, as shares of the picture, largest first."""
    if region is None or not region.any():
        return ()
    height, width = region.shape
    shrink = max(1.0, max(region.shape) / _NEAR_GRID)
    size = max(2, round(width / shrink)), max(2, round(height / shrink))
    small = Image.fromarray(region.astype(np.float32)).resize(size, Image.Resampling.BOX)
    grid = np.pad(np.asarray(small, float), 1)
    lines = contour_generator(z=grid, name="serial").lines(_NEAR_LEVEL)
    shares = [(np.asarray(line, float) - 0.5) / size for line in lines]
    shares.sort(key=lambda line: -float(np.hypot(*np.ptp(line, axis=0))))
    return tuple([(float(x), float(y)) for x, y in line] for line in shares[:_MOST_NEAR])


def taken_outlines(regions: Sequence[tuple[str, NDArray[np.bool_]]]) -> tuple[Taken, ...]:
    """Outlines of what was cut out, each region (H, W) with its words."""
    return tuple(Taken(words, near_outlines(region)) for words, region in regions)


def draw_taken(drawing: Drawing, taken: Sequence[Taken], picture_px: tuple[int, int]) -> None:
    """Draw outlines of what was cut out of a picture, dashed, the largest with its words."""
    width, height = picture_px
    size = letter_size_px(width, height)
    for each in taken:
        lines = [[(x * width, y * height) for x, y in line] for line in each.lines]
        for line in lines:
            drawing.path(line, colour=_CASING, width=0.22 * size)
            drawing.path(line, colour=PAPER, width=0.12 * size, dash=(0.5 * size, 0.35 * size))
        if lines:
            x, y = np.mean(lines[0], axis=0)
            top, foot = (end(place[1] for place in lines[0]) for end in (min, max))
            if foot - top < 5 * size:  # words within would cover what they name
                y = foot + size if foot + 2 * size < height else top - size
            drawing.label(float(x), float(y), each.words, size, align="middle", weight="semibold")


def triptych(
    before: Image.Image,
    field: BlurField,
    after: Image.Image,
    coc_mm: float,
    *,
    setting: str,
    full_scale: float = 1.0,
) -> Drawing:
    """Before, blur map and after in one drawing: side by side, or stacked where pictures are wide.

    Parameters
    ----------
    before, after : PIL.Image.Image
        RGB, as large as the field.
    setting : str
        The lens setting in words, for the caption of the last.
    full_scale : float
        As in `blur_map`.
    """
    panels = [
        ("Before", _plain(before)),
        ("Blur map", blur_map(before, field, coc_mm, full_scale=full_scale)),
        ("After", _plain(after)),
    ]
    width, height = before.size
    size, gap = 1.15 * letter_size_px(width, height), max(8.0, width / 60)
    beside = width <= 2.4 * height
    caption = 2.0 * size
    tallest = max(panel.height for _, panel in panels)
    if beside:
        drawing = Drawing(3 * width + 4 * gap, tallest + caption + 2 * gap)
    else:
        total = sum(panel.height for _, panel in panels)
        drawing = Drawing(width + 2 * gap, total + 3 * (caption + gap) + gap)
    x = y = gap
    for name, panel in panels:
        drawing.letters(x, y + 1.2 * size, name, size, weight="semibold")
        if name == "After":
            start = x + line_width(name, size, "semibold") + size
            drawing.letters(start, y + 1.2 * size, setting, size, colour=MUTED)
        drawing.place(panel, x, y + caption)
        if beside:
            x += width + gap
        else:
            y += panel.height + caption + gap
    return drawing


def _plain(picture: Image.Image) -> Drawing:
    drawing = Drawing(*picture.size)
    drawing.picture(picture, 0, 0, *picture.size)
    return drawing


def _check_size(picture: Image.Image, field: BlurField) -> None:
    if picture.size != (field.camera.width_px, field.camera.height_px):
        raise InputError(
            f"the picture is {picture.width} x {picture.height} px, the blur field "
            f"{field.camera.width_px} x {field.camera.height_px}: draw them at one size"
        )


def _multiples(field: BlurField, coc_mm: float) -> NDArray[np.float32]:
    """Signed blur diameter over the circle of confusion."""
    if not coc_mm > 0:
        raise InputError(f"the circle of confusion must be above 0 mm, not {coc_mm!r}")
    scale = 2.0 * field.lens.aperture_radius_mm / coc_mm
    return np.asarray(field.defocus * np.float32(scale), np.float32)


def _grid(values: NDArray[np.float32]) -> tuple[NDArray[np.float64], float, float]:
    """Average down to the contour grid and calm it; returns it with the px of one step."""
    height, width = values.shape
    shrink = max(1.0, max(values.shape) / _CONTOUR_GRID)
    size = (max(2, round(width / shrink)), max(2, round(height / shrink)))
    small = Image.fromarray(values).resize(size, Image.Resampling.BOX)
    calm = scipy.ndimage.median_filter(np.asarray(small, float), 3, mode="nearest")
    return np.asarray(np.maximum(calm, 1e-6)), width / size[0], height / size[1]


def _lines(
    grid: NDArray[np.float64], level: float, step_x: float, step_y: float, shortest: float
) -> list[list[Point]]:
    """Level lines in picture pixels, without crumbs."""
    runs = []
    for line in contour_generator(z=grid, name="serial").lines(level):
        points = np.asarray(line, float)
        if len(points) < 2 or np.hypot(*np.ptp(points, axis=0)) * max(step_x, step_y) < shortest:
            continue
        x, y = (points[:, 0] + 0.5) * step_x, (points[:, 1] + 0.5) * step_y
        runs.append(list(zip(x.tolist(), y.tolist(), strict=True)))
    return runs


def _contours(
    multiple: NDArray[np.float32], levels: Sequence[int]
) -> list[tuple[int, list[Point], bool]]:
    """Level lines of |blur| with whether they lie nearer than the plane of sharp focus."""
    grid, step_x, step_y = _grid(np.abs(multiple))
    height, width = multiple.shape
    found = []
    for level in levels:
        for line in _lines(np.log2(grid), math.log2(level), step_x, step_y, 0.03 * width):
            rows = np.clip([int(y) for _, y in line], 0, height - 1)
            columns = np.clip([int(x) for x, _ in line], 0, width - 1)
            found.append((level, line, float(np.median(multiple[rows, columns])) > 0))
    return found


def _regions(
    grid: NDArray[np.float64], step_x: float, step_y: float
) -> list[list[NDArray[np.float64]]]:
    """Outlines, holes included, of the parts where blur is under the circle of confusion."""
    generator = contour_generator(z=np.log2(grid), name="serial", fill_type="OuterOffset")
    regions = []
    points, offsets = generator.filled(-100.0, 0.0)[:2]
    for outline, cuts in zip(points, offsets, strict=True):
        scaled = (np.asarray(outline, float) + 0.5) * (step_x, step_y)
        regions.append([scaled[a:b] for a, b in pairwise(np.asarray(cuts).tolist())])
    return regions


def _hatch_angle(grid: NDArray[np.float64]) -> float:
    """Return an angle that crosses the band aslant: 45 degrees from where blur grows fastest."""
    down, across = np.gradient(np.minimum(grid, 4.0))
    grows = 0.5 * math.atan2(
        2.0 * float(np.mean(across * down)), float(np.mean(across**2 - down**2))
    )
    return math.degrees(grows) - 45.0


def _band_label_place(sharp: NDArray[np.bool_], step_x: float, step_y: float) -> Point | None:
    """Return a roomy place in the band, a sixth of the width in: the focus spot is rarely there."""
    if not sharp.any():
        return None
    roomy = np.asarray(scipy.ndimage.distance_transform_edt(np.pad(sharp, 1)))[1:-1, 1:-1]
    columns = np.arange(sharp.shape[1]) / sharp.shape[1]
    row, column = np.unravel_index(
        int(np.argmax(roomy * (1 - np.abs(columns - 1 / 6)))), sharp.shape
    )
    return (float(column) + 0.5) * step_x, (float(row) + 0.5) * step_y


def _label_contours(
    drawing: Drawing,
    multiple: NDArray[np.float32],
    circle: Circle,
    picture_size: tuple[int, int],
    size: float,
) -> None:
    """Name the longest line of each level on each side, where there is room for the words."""
    width, height = picture_size
    small = 0.85 * size
    taken: list[Point] = []
    longest: dict[tuple[int, bool], list[Point]] = {}
    for level, line, nearer in _contours(multiple, _LEVELS):
        if len(line) > len(longest.get((level, nearer), [])):
            longest[level, nearer] = line
    for (level, _), line in longest.items():
        text = "  ".join(circle.words(level))
        half = line_width(text, small) / 2 + small
        places = [p for p in line if half < p[0] < width - half and size < p[1] < height - size]
        clear = [
            p
            for p in places
            if all(abs(p[0] - q[0]) > 2 * half or abs(p[1] - q[1]) > 2 * size for q in taken)
        ]
        if clear:
            x, y = min(clear, key=lambda p: abs(p[0] - 0.5 * width))
            taken.append((x, y))
            drawing.label(x, y, text, small, colour=PAPER, plate=_CASING, align="middle")


def _draw_horizon(drawing: Drawing, camera: Camera, vantage: Vantage, size: float) -> None:
    """Draw where level ground meets the sky: ``down . ray = 0``."""
    down = level_ground_per_m(vantage)
    if abs(down[1]) < 1e-9:
        return
    ends = []
    for x in (0.0, float(camera.width_px)):
        slope_x = (x - camera.centre_x_px) / camera.focal_px
        slope_y = -(down[0] * slope_x + down[2]) / down[1]
        ends.append((x, camera.centre_y_px + float(slope_y) * camera.focal_px))
    inside = [0 <= y <= camera.height_px for _, y in ends]
    if any(inside):
        drawing.path(ends, colour=_CASING, width=0.22 * size)
        drawing.path(ends, colour=PAPER, width=0.12 * size, dash=(1.2 * size, 0.6 * size))
        x, y = ends[inside.index(True)]
        drawing.label(x if x else size, y - size, "horizon", 0.85 * size)


def _draw_focus(drawing: Drawing, focus: Point, size: float) -> None:
    x, y = focus
    arms = [
        ((x - 1.6 * size, y), (x - 0.5 * size, y)),
        ((x + 0.5 * size, y), (x + 1.6 * size, y)),
        ((x, y - 1.6 * size), (x, y - 0.5 * size)),
        ((x, y + 0.5 * size), (x, y + 1.6 * size)),
    ]
    drawing.strokes(arms, colour=PAPER, width=0.34 * size)
    drawing.strokes(arms, colour=INK, width=0.18 * size)
    drawing.label(x + 2 * size, y + 1.2 * size, "focus here", 0.85 * size)
