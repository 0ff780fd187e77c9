"""A `Drawing` painted to pixels, every edge and letter anti-aliased."""

import math
from collections.abc import Iterator, Sequence

import numpy as np
from PIL import Image, ImageDraw

from render.sheets.drawing.canvas import Area, Drawing, Letters, Path, Picture, Point
from render.sheets.drawing.lettering import line_width, runs, sized_font, sized_stand_in
from render.sheets.drawing.style import Colour

__all__ = ["paint"]

#: Masks are drawn this much larger and averaged down: Pillow itself draws hard edges.
_FINER = 4
_TILE = 512

Box = tuple[int, int, int, int]


def paint(drawing: Drawing, scale: float = 1.0) -> Image.Image:
    """Paint a drawing.

    Parameters
    ----------
    drawing : Drawing
    scale : float
        Pixels per unit.

    Returns
    -------
    PIL.Image.Image
        RGB, sRGB-coded.
    """
    size = (max(1, round(drawing.width * scale)), max(1, round(drawing.height * scale)))
    image = Image.new("RGB", size, drawing.ground)
    for item in drawing.items:
        match item:
            case Picture():
                _paint_picture(image, item, scale)
            case Area():
                _paint_area(image, item, scale)
            case Path():
                _paint_path(image, item, scale)
            case Letters():
                _paint_letters(image, item, scale)
    return image


def _paint_picture(image: Image.Image, item: Picture, scale: float) -> None:
    left, top = round(item.x * scale), round(item.y * scale)
    right, bottom = round((item.x + item.width) * scale), round((item.y + item.height) * scale)
    size = (max(1, right - left), max(1, bottom - top))
    picture = item.image
    if picture.size != size:
        picture = picture.resize(size, Image.Resampling.LANCZOS, reducing_gap=3.0)
    image.paste(picture, (left, top), picture if picture.mode == "RGBA" else None)


def _paint_area(image: Image.Image, item: Area, scale: float) -> None:
    points = [(x * scale, y * scale) for x, y in item.points]
    if len(points) == 4 and _is_upright_box(points):
        xs, ys = [round(x) for x, _ in points], [round(y) for _, y in points]
        box = (min(xs), min(ys), max(max(xs), min(xs) + 1), max(max(ys), min(ys) + 1))
        if item.opacity >= 1.0:
            image.paste(item.colour, box)
            return
        points = [(box[0], box[1]), (box[2], box[1]), (box[2], box[3]), (box[0], box[3])]
    for tile in _tiles(image, [_bounds(points, 1.0)]):
        mask = _empty_mask(tile)
        fine = _finer(points, (tile[0], tile[1]))
        ImageDraw.Draw(mask).polygon(fine, fill=round(255 * item.opacity))
        _blend(image, item.colour, tile, mask)


def _paint_path(image: Image.Image, item: Path, scale: float) -> None:
    runs = [[(x * scale, y * scale) for x, y in run] for run in item.runs]
    width = max(item.width * scale, 0.6)
    if item.dash is not None:
        pattern = [d * scale for d in item.dash]
        runs = [dash for run in runs for dash in _dashes(run, pattern)]
    soft = [run for run in runs if not _paint_crisp(image, run, width, item.colour)]
    reach = width + 1.0
    boxes = [_bounds(run, reach) for run in soft]
    for tile in _tiles(image, boxes):
        touching = [run for run, box in zip(soft, boxes, strict=True) if _overlap(box, tile)]
        if touching:
            mask = _empty_mask(tile)
            draw = ImageDraw.Draw(mask)
            for run in touching:
                fine = _finer(run, (tile[0], tile[1]))
                draw.line(fine, fill=255, width=max(1, round(width * _FINER)), joint="curve")
            _blend(image, item.colour, tile, mask)


def _paint_crisp(image: Image.Image, points: Sequence[Point], width: float, colour: Colour) -> bool:
    """Snap a single upright or level line to whole pixels; False if it is not such a line."""
    if len(points) != 2:
        return False
    (x0, y0), (x1, y1) = points
    thick = max(1, round(width))
    if abs(y0 - y1) < 1e-6:
        top = round(y0 - thick / 2)
        image.paste(colour, (round(min(x0, x1)), top, round(max(x0, x1)), top + thick))
        return True
    if abs(x0 - x1) < 1e-6:
        left = round(x0 - thick / 2)
        image.paste(colour, (left, round(min(y0, y1)), left + thick, round(max(y0, y1))))
        return True
    return False


def _paint_letters(image: Image.Image, item: Letters, scale: float) -> None:
    size = item.size * scale
    if not item.text.strip() or size < 0.5:
        return
    x, y = item.x * scale, item.y * scale
    fine_px = round(size * _FINER, 2)
    for other, text in runs(item.text):
        font = (
            sized_stand_in(frozenset(text), fine_px) if other else sized_font(item.weight, fine_px)
        )
        ends = [(x, y - size), (x + font.getlength(text) / _FINER, y)]
        for tile in _tiles(image, [_bounds(ends, 0.4 * size)]):
            mask = _empty_mask(tile)
            where = ((x - tile[0]) * _FINER, (y - tile[1]) * _FINER)
            ImageDraw.Draw(mask).text(where, text, font=font, fill=255, anchor="ls")
            _blend(image, item.colour, tile, mask)
        x += line_width(text, size, item.weight)


def _bounds(points: Sequence[Point], reach: float) -> Box:
    xs, ys = [x for x, _ in points], [y for _, y in points]
    return (
        math.floor(min(xs) - reach),
        math.floor(min(ys) - reach),
        math.ceil(max(xs) + reach),
        math.ceil(max(ys) + reach),
    )


def _overlap(first: Box, second: Box) -> bool:
    return (
        first[0] < second[2]
        and second[0] < first[2]
        and first[1] < second[3]
        and second[1] < first[3]
    )


def _tiles(image: Image.Image, boxes: Sequence[Box]) -> Iterator[Box]:
    """Cut the part of the image that boxes touch into tiles, so that masks stay small."""
    if not boxes:
        return
    left, top = max(0, min(b[0] for b in boxes)), max(0, min(b[1] for b in boxes))
    right = min(image.width, max(b[2] for b in boxes))
    bottom = min(image.height, max(b[3] for b in boxes))
    for y in range(top, bottom, _TILE):
        for x in range(left, right, _TILE):
            yield x, y, min(x + _TILE, right), min(y + _TILE, bottom)


def _empty_mask(box: Box) -> Image.Image:
    return Image.new("L", ((box[2] - box[0]) * _FINER, (box[3] - box[1]) * _FINER))


def _blend(image: Image.Image, colour: Colour, box: Box, mask: Image.Image) -> None:
    image.paste(colour, box, mask.reduce(_FINER))


def _finer(points: Sequence[Point], corner: tuple[int, int]) -> list[Point]:
    return [((x - corner[0]) * _FINER, (y - corner[1]) * _FINER) for x, y in points]


def _is_upright_box(points: Sequence[Point]) -> bool:
    return len({x for x, _ in points}) <= 2 and len({y for _, y in points}) <= 2


def _dashes(points: Sequence[Point], dash: Sequence[float]) -> list[list[Point]]:
    """Cut a line into its drawn dashes."""
    line = np.asarray(points, float)
    lengths = np.hypot(*np.diff(line, axis=0).T)
    far = np.concatenate([[0.0], np.cumsum(lengths)])
    on, period = max(dash[0], 1.0), max(sum(dash), 2.0)
    runs = []
    for start in np.arange(0.0, far[-1], period):
        stop = min(start + on, far[-1])
        inside = (far > start) & (far < stop)
        where = np.concatenate([[start], far[inside], [stop]])
        x, y = (np.interp(where, far, along).tolist() for along in line.T)
        runs.append(list(zip(x, y, strict=True)))
    return runs
