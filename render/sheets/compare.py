"""The comparing sheet: pictures of one place under several settings, all at one scale.

Order under every picture: the setting at the left, what it reads as at the right; below it
small figures, then the verdict in words. The suggested cell has a thick rule above it and the
word; nothing else marks it.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from PIL import Image

from render.errors import InputError
from render.sheets.close_ups import CloseUps, draw_frames
from render.sheets.drawing.canvas import Drawing
from render.sheets.drawing.lettering import line_width, shortened, wrapped
from render.sheets.drawing.style import (
    BODY,
    GUTTER,
    HAIRLINE,
    HEADING,
    INK,
    MARGIN,
    MUTED,
    PT_PER_PX,
    SETTING,
    SMALL,
)

__all__ = ["MOST_CELLS", "Cell", "close_up_px", "compare_sheet", "sheet_columns"]

#: More pictures than this on one sheet are too small in print to decide by.
MOST_CELLS = 48
_NARROWEST_PX = 240
#: Between a picture and its close-ups, and between these, px.
_CLOSE = 4
#: Height of close-ups, a share of the picture's width.
_FLAT = 0.2

_SETTING, _BODY, _SMALL, _HEADING = (s / PT_PER_PX for s in (SETTING, BODY, SMALL, HEADING))


@dataclass(frozen=True, slots=True, eq=False)
class Cell:
    """One picture of a sheet and what is said under it.

    Attributes
    ----------
    picture : PIL.Image.Image
        sRGB-coded, at the size that is shown.
    setting : str
        What differs from its neighbours, in words.
    scale : str
        "reads as 1:105".
    figures : str
        Band, edge blur, score.
    verdict : str
    suggested : bool
    close : CloseUps or None
        Shown side by side under the picture, pixel for pixel.
    """

    picture: Image.Image
    setting: str
    scale: str
    figures: str
    verdict: str
    suggested: bool = False
    close: CloseUps | None = None


def sheet_columns(count: int, width_px: int, height_px: int) -> int:
    """How many pictures stand side by side: at most 4, upright ones at most 6.

    Of the widths allowed, the one that leaves the fewest gaps in the last row.
    """
    most = 6 if height_px > width_px else 4
    if width_px > 2 * height_px:
        most = 2
    if count <= most:
        return count
    return max(range(2, most + 1), key=lambda n: (-((-count) % n), n))


def close_up_px(picture_px: tuple[int, int]) -> tuple[int, int]:
    """Size of each of two close-ups that stand side by side under a picture."""
    return max(8, (picture_px[0] - _CLOSE) // 2), max(8, round(_FLAT * picture_px[0]))


def compare_sheet(
    cells: Sequence[Cell],
    *,
    title: str,
    subtitle: str,
    notes: Sequence[str] = (),
    columns: int | None = None,
) -> Drawing:
    """Lay pictures and captions out on one sheet.

    Parameters
    ----------
    cells : sequence of Cell
        In reading order.
    title, subtitle : str
        What is compared; what all cells share.
    notes : sequence of str
        Small print at the foot.
    columns : int, optional
        Pictures side by side; `sheet_columns` chooses where it is not given.

    Raises
    ------
    InputError
        If there are no cells, or more than fit on a sheet that can be read.
    """
    if not cells:
        raise InputError("there is nothing to compare: give at least one setting")
    if len(cells) > MOST_CELLS:
        raise InputError(
            f"{len(cells)} pictures are too many for one sheet: at most {MOST_CELLS}; "
            "give fewer values or make several sheets"
        )
    widest = max(cell.picture.width for cell in cells)
    tallest = max(cell.picture.height for cell in cells)
    columns = columns or sheet_columns(len(cells), widest, tallest)
    cell_width = max(widest, _NARROWEST_PX)
    captions = _captions(cells, cell_width)
    flag = 20 if any(cell.suggested for cell in cells) else 8
    rows = math.ceil(len(cells) / columns)
    strip = max((_strip_height(cell) for cell in cells), default=0)
    row_height = (
        flag + tallest + strip + max(_caption_height(lines) for lines in captions) + 2 * GUTTER
    )
    width = max(2 * MARGIN + columns * (cell_width + 2 * GUTTER) - 2 * GUTTER, 480)
    head = _head_lines(title, subtitle, width - 2 * MARGIN)
    foot = [line for note in notes for line in wrapped(note, _SMALL, width - 2 * MARGIN)]
    head_height = sum(1.45 * size for _, size in head) + 1.5 * GUTTER
    drawing = Drawing(width, MARGIN + head_height + rows * row_height + 15 * len(foot) + MARGIN)
    y = float(MARGIN)
    for text, size in head:
        heading = size == _HEADING
        drawing.letters(
            MARGIN,
            y + size,
            text,
            size,
            weight="semibold" if heading else "regular",
            colour=INK if heading else MUTED,
        )
        y += 1.45 * size
    y = MARGIN + head_height
    for number, (cell, lines) in enumerate(zip(cells, captions, strict=True)):
        x = MARGIN + (number % columns) * (cell_width + 2 * GUTTER)
        _draw_cell(drawing, cell, lines, x, y + (number // columns) * row_height, cell_width, flag)
    y += rows * row_height
    for line in foot:
        drawing.letters(MARGIN, y + 0.5 * MARGIN, line, _SMALL, colour=MUTED)
        y += 15
    return drawing


def _head_lines(title: str, subtitle: str, width: float) -> list[tuple[str, float]]:
    head = [(line, _HEADING) for line in wrapped(title, _HEADING, width, "semibold")]
    return head + [(line, _BODY) for line in wrapped(subtitle, _BODY, width)]


@dataclass(frozen=True, slots=True)
class _Caption:
    setting: list[str]
    scale_beside: bool
    figures: list[str]
    verdict: list[str]
    verdict_beside: bool


def _captions(cells: Sequence[Cell], width: float) -> list[_Caption]:
    """Break all captions alike: what stands beside in one cell stands beside in all."""
    lines = [_caption_lines(cell, width) for cell in cells]
    scale, verdict = (
        all(line.scale_beside for line in lines),
        all(line.verdict_beside for line in lines),
    )
    return [replace(line, scale_beside=scale, verdict_beside=verdict) for line in lines]


def _caption_lines(cell: Cell, width: float) -> _Caption:
    """Break a cell's words to its width; what fits beside stays on one line."""
    setting = wrapped(cell.setting, _SETTING, width, "semibold")
    beside = (
        len(setting) == 1
        and line_width(setting[0], _SETTING, "semibold") + line_width(cell.scale, _BODY) + 16
        <= width
    )
    figures = wrapped(cell.figures, _SMALL * 1.15, width)
    last = line_width(figures[-1], _SMALL * 1.15) if figures else 0.0
    verdict = wrapped(cell.verdict, _SMALL * 1.15, width, "semibold")
    whole = line_width(cell.verdict, _SMALL * 1.15, "semibold")
    return _Caption(setting, beside, figures, verdict, last + whole + 16 <= width)


def _caption_height(lines: _Caption) -> float:
    rows = len(lines.setting) * 22 + (0 if lines.scale_beside else 18)
    verdict = 0 if lines.verdict_beside else len(lines.verdict)
    return rows + 17 * (len(lines.figures) + verdict) + 8


def _strip_height(cell: Cell) -> int:
    return 0 if cell.close is None else cell.close.first.height + _CLOSE


def _draw_cell(
    drawing: Drawing, cell: Cell, lines: _Caption, x: float, y: float, width: float, flag: float
) -> None:
    small = _SMALL * 1.15
    if cell.suggested:
        drawing.box(x, y + flag - 4, width, 4)
        drawing.letters(x, y + flag - 8, "suggested", small, weight="semibold")
    else:
        drawing.box(x, y + flag - 1, width, 1, colour=HAIRLINE)
    y += flag
    size = cell.picture.size
    drawing.picture(cell.picture, x, y, *size, shows=cell.setting)
    y += cell.picture.height
    if cell.close is not None:
        draw_frames(drawing, cell.close.places, (x, y - size[1], *size), 1.0)
        for image, left in ((cell.close.first, x), (cell.close.second, x + size[0])):
            left -= image.width if left > x else 0
            shows = f"{cell.setting}: close-up"
            drawing.picture(image, left, y + _CLOSE, *image.size, shows=shows)
    y += _strip_height(cell) + 4
    for text in lines.setting:
        y += 22
        drawing.letters(x, y - 4, text, _SETTING, weight="semibold")
    if lines.scale_beside:
        drawing.letters(x + width, y - 4, cell.scale, _BODY, align="right")
    else:
        y += 18
        drawing.letters(x, y - 4, shortened(cell.scale, _BODY, width), _BODY)
    for text in lines.figures:
        y += 17
        drawing.letters(x, y - 4, text, small, colour=MUTED)
    if lines.verdict_beside:
        right = x + width
        drawing.letters(right, y - 4, cell.verdict, small, weight="semibold", align="right")
        return
    for text in lines.verdict:
        y += 17
        drawing.letters(x, y - 4, text, small, weight="semibold")
