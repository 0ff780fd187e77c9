"""The board: one page for a client, the picture first.

The page is planned before anything is rendered, so that every picture is made at the size it
will have in print; of two arrangements (small pictures beside or below) the one with the
larger main picture is taken.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from PIL import Image

from render.errors import InputError
from render.sheets.canvas import Drawing
from render.sheets.lettering import line_width, shortened, wrapped
from render.sheets.style import BODY, HEADING, INK, MUTED, SETTING, SMALL
from render.sheets.vector import jpeg_bytes

__all__ = ["PAPERS", "BoardPlan", "BoardWords", "Box", "draw_board", "paper_pt", "plan_board"]

#: Long and short side, mm.
PAPERS = {"a4": (297.0, 210.0), "a3": (420.0, 297.0), "letter": (279.4, 215.9)}
_PT_PER_MM = 72 / 25.4
_MARGIN = 12.5 * _PT_PER_MM
_GAP = 8.0
_NARROWEST = 104.0
_LOGO_HEIGHT = 22.0
_SMALL_PRINT = (
    "Computed preview, not a photograph. The viewpoint needs permission and safe access; "
    "local rules and licensed practice come first."
)


@dataclass(frozen=True, slots=True)
class BoardWords:
    """Everything that is written on a board.

    Attributes
    ----------
    title, date, author : str
        `author` may be empty.
    sentences : tuple of str
        What you will get, what it needs, what could go wrong.
    captions : tuple of str
        Under the small pictures, in order.
    """

    title: str
    date: str
    author: str
    sentences: tuple[str, ...]
    captions: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Box:
    """A place on the page, points."""

    x: float
    y: float
    width: float
    height: float

    def px(self, dpi: float) -> tuple[int, int]:
        """Pixels of a picture that fills it."""
        return max(1, round(self.width / 72 * dpi)), max(1, round(self.height / 72 * dpi))


@dataclass(frozen=True, slots=True)
class BoardPlan:
    """A board before its pictures are made."""

    page: tuple[float, float]
    words: BoardWords
    main: Box
    small: tuple[Box, ...]
    text_top: float

    @property
    def picture_share(self) -> float:
        """Share of the page that the main picture takes."""
        return self.main.width * self.main.height / (self.page[0] * self.page[1])


def paper_pt(name: str, *, portrait: bool) -> tuple[float, float]:
    """Width and height of a paper, points.

    Raises
    ------
    InputError
        If the name is not known.
    """
    if name.lower() not in PAPERS:
        raise InputError(f'paper "{name}" is not known: write one of {", ".join(PAPERS)}')
    long, short = (side * _PT_PER_MM for side in PAPERS[name.lower()])
    return (short, long) if portrait else (long, short)


def plan_board(words: BoardWords, aspect: float, page: tuple[float, float]) -> BoardPlan:
    """Lay a board out.

    Parameters
    ----------
    words : BoardWords
    aspect : float
        Width over height of the pictures.
    page : (width, height)
        Points.

    Raises
    ------
    InputError
        If the words leave no room for the picture.
    """
    width, height = page[0] - 2 * _MARGIN, page[1] - 2 * _MARGIN
    head = _head_height(words, width)
    text = sum(1.3 * SETTING * len(lines) for lines in _sentence_lines(words, width))
    top = _MARGIN + head
    room = height - head - text - 2 * _GAP - _foot_height()
    if room < 0.3 * height:
        raise InputError("the words leave no room for the picture: shorten title or sentences")
    beside = _beside(aspect, width, room, words.captions)
    below = _below(aspect, width, room, words.captions)
    main, small = max(beside, below, key=lambda made: made[0].width * made[0].height)
    placed = [Box(_MARGIN + b.x, top + b.y, b.width, b.height) for b in (main, *small)]
    used = max(b.y + b.height + _caption_height(b.width, words.captions) for b in placed[1:])
    used = max(used, placed[0].y + placed[0].height)
    return BoardPlan(page, words, placed[0], tuple(placed[1:]), used + _GAP)


def draw_board(
    plan: BoardPlan,
    main: Image.Image,
    small: Sequence[Image.Image],
    logo: Image.Image | None = None,
) -> Drawing:
    """Draw a planned board with its pictures.

    Parameters
    ----------
    plan : BoardPlan
    main : PIL.Image.Image
    small : sequence of PIL.Image.Image
        As many as the plan has places.
    logo : PIL.Image.Image, optional
        Drawn at the foot, beside the author's name.
    """
    width, height = plan.page
    drawing = Drawing(width, height, unit_pt=1.0)
    words = plan.words
    y = _MARGIN
    room = width - 2 * _MARGIN - line_width(words.date, BODY) - 2 * _GAP
    for number, line in enumerate(wrapped(words.title, HEADING, room, "semibold")):
        y += 1.25 * HEADING
        drawing.letters(_MARGIN, y - 0.3 * HEADING, line, HEADING, weight="semibold")
        if number == 0:
            drawing.letters(
                width - _MARGIN, y - 0.3 * HEADING, words.date, BODY, colour=MUTED, align="right"
            )
    for box, image in zip((plan.main, *plan.small), (main, *small), strict=True):
        drawing.picture(image, box.x, box.y, box.width, box.height, jpeg=jpeg_bytes(image))
    for box, caption in zip(plan.small, words.captions, strict=True):
        y = box.y + box.height
        for line in wrapped(caption, SMALL, box.width):
            y += 1.25 * SMALL
            drawing.letters(box.x, y, line, SMALL)
    y = plan.text_top
    for lines in _sentence_lines(words, width - 2 * _MARGIN):
        for line in lines:
            y += 1.3 * SETTING
            drawing.letters(_MARGIN, y - 0.3 * SETTING, line, SETTING)
    _draw_foot(drawing, words, logo)
    return drawing


def _draw_foot(drawing: Drawing, words: BoardWords, logo: Image.Image | None) -> None:
    foot = drawing.height - _MARGIN
    x, room = _MARGIN, drawing.width - 2 * _MARGIN
    if logo is not None:
        scale = min(_LOGO_HEIGHT / logo.height, 0.3 * room / logo.width)
        drawing.picture(
            logo, x, foot - scale * logo.height, scale * logo.width, scale * logo.height
        )
        x += scale * logo.width + _GAP
    if words.author:
        name = shortened(words.author, BODY, 0.45 * room, "semibold")
        drawing.letters(x, foot - 2, name, BODY, weight="semibold")
        x += line_width(name, BODY, "semibold") + 2 * _GAP
    lines = wrapped(_SMALL_PRINT, SMALL, drawing.width - _MARGIN - x)
    for number, line in enumerate(reversed(lines)):
        drawing.letters(
            drawing.width - _MARGIN,
            foot - 2 - 1.25 * SMALL * number,
            line,
            SMALL,
            colour=MUTED,
            align="right",
        )


def _foot_height() -> float:
    return _LOGO_HEIGHT + 4


def _head_height(words: BoardWords, width: float) -> float:
    room = width - line_width(words.date, BODY) - 2 * _GAP
    return 1.25 * HEADING * len(wrapped(words.title, HEADING, room, "semibold")) + 2


def _sentence_lines(words: BoardWords, width: float) -> list[list[str]]:
    return [wrapped(sentence, SETTING, width) for sentence in words.sentences]


def _caption_height(width: float, captions: Sequence[str]) -> float:
    lines = max((len(wrapped(caption, SMALL, width)) for caption in captions), default=0)
    return 1.25 * SMALL * lines + 3


def _beside(
    aspect: float, width: float, room: float, captions: Sequence[str]
) -> tuple[Box, list[Box]]:
    """Main picture at the left, the small ones in a column at its right."""
    count = max(1, len(captions))
    main_width = min(room * aspect, width - _GAP - _NARROWEST)
    main_height = main_width / aspect
    small = width - main_width - _GAP
    for _ in range(40):  # narrower until the column is no higher than the main picture
        each = small / aspect + _caption_height(small, captions)
        if count * each + (count - 1) * _GAP <= max(main_height, 0.6 * room):
            break
        small *= 0.95
    each = small / aspect + _caption_height(small, captions) + _GAP
    boxes = [Box(main_width + _GAP, i * each, small, small / aspect) for i in range(count)]
    over = max(0.0, boxes[-1].y + boxes[-1].height + _caption_height(small, captions) - room)
    return Box(0, 0, main_width if over <= 0 else 1.0, main_height if over <= 0 else 1.0), boxes


def _below(
    aspect: float, width: float, room: float, captions: Sequence[str]
) -> tuple[Box, list[Box]]:
    """Main picture above, the small ones in a row below it."""
    count = max(1, len(captions))
    small = (width - (count - 1) * _GAP) / count
    lowest = max(0.16 * room, min(small / aspect, _NARROWEST / aspect))
    caption = _caption_height(min(small, lowest * aspect), captions)
    main_height = min(width / aspect, room - lowest - caption - _GAP)
    main_width = main_height * aspect
    small = min(small, (room - main_height - caption - _GAP) * aspect)
    boxes = [
        Box(i * (small + _GAP), main_height + _GAP, small, small / aspect) for i in range(count)
    ]
    return Box(0, 0, main_width, main_height), boxes
