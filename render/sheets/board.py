"""The board: one page for a client, the picture first.

The page is planned before anything is rendered, so that every picture is made at the size it
will have in print; of two arrangements (small pictures beside or below) the one with the
larger main picture is taken.
"""

import re
from collections.abc import Sequence
from dataclasses import dataclass

from PIL import Image

from render.errors import InputError
from render.sheets.drawing.canvas import Drawing
from render.sheets.drawing.lettering import line_width, shortened, wrapped
from render.sheets.drawing.style import BODY, HEADING, MUTED, SETTING, SMALL
from render.sheets.drawing.vector import jpeg_bytes

__all__ = [
    "PAPERS",
    "BoardPlan",
    "BoardWords",
    "Box",
    "Paper",
    "best_plan",
    "draw_board",
    "moment_boxes",
    "paper",
    "plan_board",
]

#: Long and short side, mm.
#: What is said first and stands in bold: what is got, what it needs, and anything up to a colon.
_RUN_IN = re.compile(r"(?:You get|It needs|[^:.,]{1,40}:)(?= )")
PAPERS = {"a4": (297.0, 210.0), "a3": (420.0, 297.0), "letter": (279.4, 215.9)}
_PT_PER_MM = 72 / 25.4
_MARGIN = 12.1 * _PT_PER_MM
_GAP = 8.0
_NARROWEST = 104.0
#: Moments of a film beside each other, and the gap between them.
_ACROSS, _BETWEEN = 3, 5.0
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
    with_logo : bool
        Keeps room for a logo at the foot.
    credit : str
        Whose data the scene is made of; ends the small print.
    """

    title: str
    date: str
    author: str
    sentences: tuple[str, ...]
    captions: tuple[str, ...]
    with_logo: bool = False
    credit: str = ""

    @property
    def small_print(self) -> str:
        """What every board says at its foot."""
        return f"{_SMALL_PRINT} {self.credit}." if self.credit else _SMALL_PRINT


@dataclass(frozen=True, slots=True)
class Box:
    """A place on the page."""

    x: float
    y: float
    width: float
    height: float


@dataclass(frozen=True, slots=True)
class Paper:
    """A page to lay out: its size in units, and the unit's size.

    The unit is a point on A4 and letter; larger papers enlarge everything with them.
    """

    width: float
    height: float
    unit_pt: float


@dataclass(frozen=True, slots=True)
class BoardPlan:
    """A board before its pictures are made; places are in the paper's unit."""

    paper: Paper
    words: BoardWords
    main: Box
    small: tuple[Box, ...]
    text_top: float

    @property
    def picture_share(self) -> float:
        """Share of the page that the main picture takes."""
        return self.main.width * self.main.height / (self.paper.width * self.paper.height)

    def px(self, box: Box, dpi: float) -> tuple[int, int]:
        """Pixels of a picture that fills a place."""
        scale = self.paper.unit_pt * dpi / 72
        return max(1, round(box.width * scale)), max(1, round(box.height * scale))


def paper(name: str, *, upright: bool) -> Paper:
    """Return a paper by its name.

    Raises
    ------
    InputError
        If the name is not known.
    """
    if name.lower() not in PAPERS:
        raise InputError(f'paper "{name}" is not known: write one of {", ".join(PAPERS)}')
    long, short = PAPERS[name.lower()]
    unit = long / PAPERS["a4"][0] if name.lower() == "a3" else 1.0
    sides = (short, long) if upright else (long, short)
    return Paper(sides[0] * _PT_PER_MM / unit, sides[1] * _PT_PER_MM / unit, unit)


def best_plan(words: BoardWords, aspect: float, papers: Sequence[Paper]) -> BoardPlan:
    """Return the plan on that paper where the main picture takes the largest share.

    Parameters and errors as in `plan_board`.
    """
    plans = [plan_board(words, aspect, sheet) for sheet in papers]
    return max(plans, key=lambda plan: plan.picture_share)


def plan_board(words: BoardWords, aspect: float, sheet: Paper) -> BoardPlan:
    """Lay a board out.

    Parameters
    ----------
    words : BoardWords
    aspect : float
        Width over height of the pictures.
    sheet : Paper

    Raises
    ------
    InputError
        If the words leave no room for the picture.
    """
    width, height = sheet.width - 2 * _MARGIN, sheet.height - 2 * _MARGIN
    head = _head_height(words, width)
    text = sum(1.3 * SETTING * len(lines) for lines in _sentence_lines(words, width))
    top = _MARGIN + head
    room = height - head - text - 1.5 * _GAP - _foot_height(words, width)
    if room < 0.3 * height:
        raise InputError("the words leave no room for the picture: shorten title or sentences")
    captions = words.captions
    made = [_beside(aspect, width, room, captions), _row_beside(aspect, width, room, captions)]
    made += [_below(aspect, width, room, captions, n) for n in {1, len(captions)}]
    main, small = max((m for m in made if m is not None), key=_worth)
    placed = [Box(_MARGIN + b.x, top + b.y, b.width, b.height) for b in (main, *small)]
    used = max(b.y + b.height + _caption_height(b.width, words.captions) for b in placed[1:])
    used = max(used, placed[0].y + placed[0].height)
    return BoardPlan(sheet, words, placed[0], tuple(placed[1:]), used + _GAP)


def moment_boxes(plan: BoardPlan, count: int) -> list[Box]:
    """Places of that many moments in place of the main picture, three beside each other.

    Each has the pictures' own shape, and room for its time under it.
    """
    rows, main = -(-count // _ACROSS), plan.main
    label = 1.25 * SMALL
    wide = (main.width - (_ACROSS - 1) * _BETWEEN) / _ACROSS
    high = (main.height - (rows - 1) * _BETWEEN) / rows - label
    scale = min(1.0, high / (wide * main.height / main.width))
    width, height = scale * wide, scale * wide * main.height / main.width
    return [
        Box(
            main.x + (number % _ACROSS) * (width + _BETWEEN),
            main.y + (number // _ACROSS) * (height + label + _BETWEEN),
            width,
            height,
        )
        for number in range(count)
    ]


def draw_board(
    plan: BoardPlan,
    main: Image.Image | Sequence[tuple[Image.Image, str]],
    small: Sequence[Image.Image],
    logo: Image.Image | None = None,
) -> Drawing:
    """Draw a planned board with its pictures.

    Parameters
    ----------
    plan : BoardPlan
    main : PIL.Image.Image, or a sequence of them with their times
        Moments of a film in place of one picture.
    small : sequence of PIL.Image.Image
        As many as the plan has places.
    logo : PIL.Image.Image, optional
        Drawn at the foot, beside the author's name.
    """
    width = plan.paper.width
    drawing = Drawing(width, plan.paper.height, unit_pt=plan.paper.unit_pt)
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
    if isinstance(main, Image.Image):
        first = [(plan.main, main, f"The photograph as planned: {words.title}")]
    else:
        boxes = moment_boxes(plan, len(main))
        first = [
            (box, image, f"{words.title}, {time}")
            for box, (image, time) in zip(boxes, main, strict=True)
        ]
        for box, (_, time) in zip(boxes, main, strict=True):
            drawing.letters(box.x, box.y + box.height + SMALL, time, SMALL, colour=MUTED)
    others = zip(plan.small, small, words.captions, strict=True)
    for box, image, shows in (*first, *others):
        jpeg = jpeg_bytes(image)
        drawing.picture(image, box.x, box.y, box.width, box.height, jpeg=jpeg, shows=shows)
    for box, caption in zip(plan.small, words.captions, strict=True):
        y = box.y + box.height
        for number, line in enumerate(_run_in_lines(caption, SMALL, box.width)):
            y += 1.25 * SMALL
            _draw_line(drawing, box.x, y, line, SMALL, _run_in(caption) if number == 0 else "")
    y = plan.text_top
    by_sentence = _sentence_lines(words, width - 2 * _MARGIN)
    for sentence, lines in zip(words.sentences, by_sentence, strict=True):
        for number, line in enumerate(lines):
            y += 1.3 * SETTING
            bold = _run_in(sentence) if number == 0 else ""
            _draw_line(drawing, _MARGIN, y - 0.3 * SETTING, line, SETTING, bold)
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
    lines = wrapped(words.small_print, SMALL, drawing.width - _MARGIN - x)
    for number, line in enumerate(lines, start=1 - len(lines)):
        drawing.letters(
            drawing.width - _MARGIN,
            foot - 2 + 1.25 * SMALL * number,
            line,
            SMALL,
            colour=MUTED,
            align="right",
        )


def _foot_height(words: BoardWords, width: float) -> float:
    if words.with_logo:
        return _LOGO_HEIGHT + 4
    room = width - (line_width(words.author, BODY, "semibold") + 2 * _GAP if words.author else 0)
    return 1.25 * SMALL * len(wrapped(words.small_print, SMALL, room)) + _GAP


def _head_height(words: BoardWords, width: float) -> float:
    room = width - line_width(words.date, BODY) - 2 * _GAP
    return 1.25 * HEADING * len(wrapped(words.title, HEADING, room, "semibold")) + 2


def _sentence_lines(words: BoardWords, width: float) -> list[list[str]]:
    return [_run_in_lines(sentence, SETTING, width) for sentence in words.sentences]


def _run_in(text: str) -> str:
    """The words that a sentence or a caption begins with in bold; empty where there are none."""
    found = _RUN_IN.match(text)
    return found[0] if found else ""


def _run_in_lines(text: str, size: float, width: float) -> list[str]:
    """Break a text into lines with room for the bold of its first words."""
    first = _run_in(text)
    bold = line_width(first, size, "semibold") - line_width(first, size)
    return wrapped(text, size, width - bold)


def _draw_line(drawing: Drawing, x: float, y: float, line: str, size: float, first: str) -> None:
    """One line, its first words in bold."""
    if first and line.startswith(first):
        x += drawing.letters(x, y, first, size, weight="semibold").width
        line = line[len(first) :].lstrip()
        x += line_width(" ", size)
    if line:
        drawing.letters(x, y, line, size)


def _caption_height(width: float, captions: Sequence[str]) -> float:
    lines = max((len(_run_in_lines(caption, SMALL, width)) for caption in captions), default=0)
    return 1.25 * SMALL * lines + 3


_Places = tuple[Box, list[Box]]


def _worth(places: _Places) -> float:
    """The main picture counts in full, the small ones a third."""
    main, small = places
    return main.width * main.height + sum(b.width * b.height for b in small) / 3


def _beside(aspect: float, width: float, room: float, captions: Sequence[str]) -> _Places | None:
    """Main picture at the left, the small ones in a column at its right; None if they don't fit."""
    count = len(captions)
    main_width = min(room * aspect, width - _GAP - _NARROWEST)
    main_height = main_width / aspect
    small = width - main_width - _GAP
    while small > _NARROWEST / 2:
        each = small / aspect + _caption_height(small, captions) + _GAP
        if count * each - _GAP <= max(main_height, 0.6 * room):
            break
        small *= 0.97
    else:
        return None
    if count > 1:  # spread down to the main picture's foot
        each = max(each, (main_height - (each - _GAP)) / (count - 1))
    boxes = [Box(main_width + _GAP, i * each, small, small / aspect) for i in range(count)]
    return Box(0, 0, main_width, main_height), boxes


def _row_beside(
    aspect: float, width: float, room: float, captions: Sequence[str]
) -> _Places | None:
    """Upright pictures: the main one at the left, the small ones in a row at its right."""
    count = len(captions)
    left = room * aspect
    small = min((width - left) / count - _GAP, 0.6 * left)
    if small < _NARROWEST / 2:
        return None
    boxes = [Box(left + _GAP + i * (small + _GAP), 0, small, small / aspect) for i in range(count)]
    return Box(0, 0, left, room), boxes


def _below(
    aspect: float, width: float, room: float, captions: Sequence[str], columns: int
) -> _Places | None:
    """Main picture above, the small ones in rows below it; None if they don't fit."""
    rows = -(-len(captions) // columns)
    widest = (width - (columns - 1) * _GAP) / columns
    small = min(widest, max(0.16 * room * aspect, _NARROWEST))
    caption = _caption_height(small, captions)
    main_height = min(width / aspect, room - rows * (small / aspect + caption + _GAP))
    if main_height <= small / aspect:
        return None
    left = (room - main_height) / rows - caption - _GAP
    small = min(widest, left * aspect)
    each = small / aspect + caption + _GAP
    boxes = [
        Box(
            (i % columns) * (small + _GAP),
            main_height + _GAP + (i // columns) * each,
            small,
            small / aspect,
        )
        for i in range(len(captions))
    ]
    return Box(0, 0, main_height * aspect, main_height), boxes
