"""Where everything of a board lies: planned before anything is rendered.

So every picture is made at the size it will have in print. Beside or below the main picture
stand blocks, one for the place as it is and one for each alternative: a small picture, two
close-ups of the photograph's own pixels, and what it is. Blocks are stretched until they fill
the height that they have, by the height of the close-ups.
"""

import math
import re
from collections.abc import Sequence
from dataclasses import dataclass

from render.errors import InputError
from render.sheets.drawing.lettering import line_width, wrapped
from render.sheets.drawing.style import BODY, HEADING, SETTING, SMALL

__all__ = [
    "AS_PLANNED",
    "GAP",
    "LOGO_HEIGHT",
    "PAGE_MARGIN",
    "PAPERS",
    "Block",
    "BoardPlan",
    "BoardWords",
    "Box",
    "Paper",
    "best_plan",
    "caption_lead",
    "foot_lines",
    "moment_boxes",
    "paper",
    "plan_board",
    "run_in",
    "run_in_lines",
    "sentence_lines",
]

#: What is said first and stands in bold: what is got, what it needs, and anything up to a colon.
_RUN_IN = re.compile(r"(?:You get|It needs|[^:.,]{1,40}:)(?= )")
#: Long and short side, mm.
PAPERS = {"a4": (297.0, 210.0), "a3": (420.0, 297.0), "letter": (279.4, 215.9)}
_PT_PER_MM = 72 / 25.4
PAGE_MARGIN = 12.1 * _PT_PER_MM
#: Between the main picture and the blocks, between blocks, and between pictures of a block.
GAP, _APART, _CLOSE = 10.0, 12.0, 3.0
LOGO_HEIGHT = 22.0
#: What the main picture is called.
AS_PLANNED = "As planned"
#: Moments of a film beside each other, and the gap between them.
_ACROSS, _BETWEEN = 3, 5.0
#: Width over height that a close-up may have, and the least width of it and of a small picture.
_FLATTEST, _TALLEST, _SLIMMEST, _NARROWEST = 2.4, 0.6, 44.0, 62.0
#: A close-up may be so many times as large as its small picture.
_LARGEST = 1.7
#: The main picture's sizes that are tried, as shares of its largest.
_SIZES = [1.0 - 0.01 * step for step in range(60)]
#: Side of a square as large as a small picture that is read well: 3 cm.
_READ_WELL = 85.0
#: How far small pictures count beside the main one, and paper left beside it against it.
_SMALL_COUNTS = _PAPER_COSTS = 1 / 3
_SMALL_PRINT = (
    "Close-ups: the two framed places, pixel for pixel. Computed previews, not photographs. The "
    "viewpoint needs permission and safe access; local rules and licensed practice come first."
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
    setting : str
        Of the main picture, under it.
    captions : tuple of (str, str)
        Under the small pictures, in order: what it is, and its setting or nothing.
    with_logo : bool
        Keeps room for a logo at the foot.
    credit : str
        Whose data the scene is made of; ends the small print.
    coarse : str
        That the picture is enlarged so far that its pixels show, where it is; begins it.
    """

    title: str
    date: str
    author: str
    sentences: tuple[str, ...]
    setting: str
    captions: tuple[tuple[str, str], ...]
    with_logo: bool = False
    credit: str = ""
    coarse: str = ""

    @property
    def small_print(self) -> str:
        """What every board says at its foot."""
        credit = f"{self.credit}." if self.credit else ""
        return " ".join(filter(None, [self.coarse, _SMALL_PRINT, credit]))


@dataclass(frozen=True, slots=True)
class Box:
    """A place on the page."""

    x: float
    y: float
    width: float
    height: float

    @property
    def right(self) -> float:
        """Its right side."""
        return self.x + self.width

    @property
    def bottom(self) -> float:
        """Its lower side."""
        return self.y + self.height


@dataclass(frozen=True, slots=True)
class Block:
    """A small picture, its two close-ups (where it is sharp, where it is soft), its caption."""

    picture: Box
    close: tuple[Box, Box]
    caption: Box


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
    blocks: tuple[Block, ...]
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

    Less counts where small pictures can hardly be read.

    Parameters and errors as in `plan_board`.
    """
    plans = [plan_board(words, aspect, sheet) for sheet in papers]
    return max(plans, key=lambda plan: _read(plan.blocks) * plan.picture_share)


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
    width, height = sheet.width - 2 * PAGE_MARGIN, sheet.height - 2 * PAGE_MARGIN
    head = head_height(words, width)
    text = sum(1.3 * SETTING * len(lines) for lines in sentence_lines(words, width))
    top = PAGE_MARGIN + head
    room = height - head - text - 1.5 * GAP - foot_height(words, width)
    if room < 0.3 * height:
        raise InputError("the words leave no room for the picture: shorten title or sentences")
    captions = _Captions(words)
    made = [*_beside(aspect, width, room, captions), *_below(aspect, width, room, captions)]
    if not made:
        raise InputError("the words leave no room for the picture: shorten the captions")
    main, blocks = max(made, key=lambda laid: _worth(laid, width))
    main = _moved(main, PAGE_MARGIN, top)
    placed = tuple(
        Block(
            _moved(block.picture, PAGE_MARGIN, top),
            (
                _moved(block.close[0], PAGE_MARGIN, top),
                _moved(block.close[1], PAGE_MARGIN, top),
            ),
            _moved(block.caption, PAGE_MARGIN, top),
        )
        for block in blocks
    )
    used = max(
        [main.bottom + captions.main_height(main.width), *(b.caption.bottom for b in placed)]
    )
    return BoardPlan(sheet, words, main, placed, used + 0.5 * GAP)


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
    step = (main.width - width) / (_ACROSS - 1)  # out to the main picture's right side
    return [
        Box(
            main.x + (number % _ACROSS) * step,
            main.y + (number // _ACROSS) * (height + label + _BETWEEN),
            width,
            height,
        )
        for number in range(count)
    ]


def head_height(words: BoardWords, width: float) -> float:
    """Height of title and date."""
    room = width - line_width(words.date, BODY) - 2 * GAP
    return 1.25 * HEADING * len(wrapped(words.title, HEADING, room, "semibold")) + 4


def foot_height(words: BoardWords, width: float) -> float:
    """Height of logo, name and small print, with a gap above them."""
    beside = 0.3 * width + GAP if words.with_logo else 0.0
    name, small_print = foot_lines(words, beside, width)
    high = max(1.25 * BODY * len(name), 1.25 * SMALL * len(small_print))
    return max(high, LOGO_HEIGHT if words.with_logo else 0.0) + GAP


def foot_lines(words: BoardWords, beside: float, width: float) -> tuple[list[str], list[str]]:
    """The name and the small print in lines, right of what stands beside them."""
    name = wrapped(words.author, BODY, 0.4 * (width - beside), "semibold") if words.author else []
    taken = max((line_width(line, BODY, "semibold") for line in name), default=-2 * GAP) + 2 * GAP
    return name, _balanced(words.small_print, SMALL, width - beside - taken)


def _balanced(text: str, size: float, width: float) -> list[str]:
    """As few lines as a width asks for, all about as long."""
    lines = wrapped(text, size, width)
    for share in (0.5, 0.6, 0.7, 0.8, 0.9):
        if len(even := wrapped(text, size, share * width)) == len(lines):
            return even
    return lines


def sentence_lines(words: BoardWords, width: float) -> list[list[str]]:
    """The sentences, each broken into lines."""
    return [run_in_lines(text, SETTING, width, run_in(text)) for text in words.sentences]


def run_in(text: str) -> str:
    """The words that a text begins with in bold; empty where there are none."""
    found = _RUN_IN.match(text)
    return found[0] if found else ""


def caption_lead(caption: str) -> str:
    """What stands in bold of a caption: all of it, where it says one thing."""
    return run_in(caption) or caption


def run_in_lines(text: str, size: float, width: float, first: str) -> list[str]:
    """Break a text into lines with room for the bold of its first words."""
    bold = line_width(first, size, "semibold") - line_width(first, size)
    return wrapped(text, size, width - bold)


_Laid = tuple[Box, Sequence[Block]]


class _Captions:
    """How much room captions take, asked for many widths."""

    def __init__(self, words: BoardWords) -> None:
        self.captions = words.captions
        self._setting = words.setting
        self._known: dict[int, float] = {}

    def main_height(self, width: float) -> float:
        """Of the main picture's, at a width."""
        beside = line_width(f"{AS_PLANNED}  ", SMALL, "semibold")
        if beside + line_width(self._setting, SMALL) <= width:
            return 1.25 * SMALL + 3
        return 1.25 * SMALL * (1 + len(wrapped(self._setting, SMALL, width))) + 3

    def height(self, width: float) -> float:
        """Of the longest, at a width."""
        key = int(width)
        if key not in self._known:
            lines = [
                len(run_in_lines(said, SMALL, key, caption_lead(said)))
                + (len(wrapped(of, SMALL, key)) if of else 0)
                for said, of in self.captions
            ]
            self._known[key] = 1.25 * SMALL * max(lines) + 3
        return self._known[key]


def _worth(laid: _Laid, width: float) -> float:
    """The main picture counts in full, the others a part; paper beside it is taken off.

    What is gained is little where the small pictures, which are compared, can hardly be read.
    """
    main, blocks = laid
    small = sum(_area(box) for b in blocks for box in (b.picture, *b.close))
    below = blocks[0].picture.y > 0
    bare = (width - main.width) * main.height if below else 0.0
    return _read(blocks) * (_area(main) + _SMALL_COUNTS * small - _PAPER_COSTS * bare)


def _read(blocks: Sequence[Block]) -> float:
    """How well small pictures are read, up to 1; it falls slowly with their size."""
    return math.sqrt(min(1.0, math.sqrt(_area(blocks[0].picture)) / _READ_WELL))


def _area(box: Box) -> float:
    return box.width * box.height


def _beside(aspect: float, width: float, room: float, captions: _Captions) -> list[_Laid]:
    """Main picture at the left, the blocks in columns at its right, as high as it is."""
    most, count = min(width, room * aspect), len(captions.captions)
    made: list[_Laid] = []
    for columns in _columns(count):
        rows = count // columns
        for share in _SIZES:
            main = Box(0, 0, share * most, share * most / aspect)
            if main.height + captions.main_height(main.width) > room:
                continue
            block_width = (width - main.width - GAP - (columns - 1) * _APART) / columns
            high = (main.height - (rows - 1) * _APART) / rows
            block = _block(aspect, block_width, high, captions)
            if block is not None:
                blocks = _grid(block, count, columns, main.width + GAP, 0, block_width, high)
                made.append((main, blocks))
    return made


def _below(aspect: float, width: float, room: float, captions: _Captions) -> list[_Laid]:
    """Main picture above, the blocks in rows below it, down to the sentences."""
    most, count = min(width, room * aspect), len(captions.captions)
    made: list[_Laid] = []
    for columns in _columns(count):
        rows = count // columns
        block_width = (width - (columns - 1) * _APART) / columns
        for share in _SIZES:
            main = Box(0, 0, share * most, share * most / aspect)
            top = main.height + captions.main_height(main.width) + GAP
            high = (room - top - (rows - 1) * _APART) / rows
            block = _block(aspect, block_width, high, captions)
            if block is not None:
                made.append((main, _grid(block, count, columns, 0, top, block_width, high)))
    return made


def _columns(count: int) -> list[int]:
    """Numbers of columns that leave no hole."""
    return [columns for columns in range(1, count + 1) if count % columns == 0]


def _grid(
    block: Block, count: int, columns: int, left: float, top: float, width: float, height: float
) -> list[Block]:
    """The same block many times, row by row."""
    made = []
    for number in range(count):
        x = left + (number % columns) * (width + _APART)
        y = top + (number // columns) * (height + _APART)
        sharp, soft = (_moved(box, x, y) for box in block.close)
        made.append(Block(_moved(block.picture, x, y), (sharp, soft), _moved(block.caption, x, y)))
    return made


def _block(aspect: float, width: float, height: float, captions: _Captions) -> Block | None:
    """A block that fills a place as far as the shape of close-ups lets it, or None.

    Close-ups stand side by side under the picture, one under the other there, or at its right;
    of these the one that shows most.
    """
    words = captions.height(width)
    high = height - words
    if width < _NARROWEST or high < _NARROWEST / 2:
        return None
    under = Box(0, 0, width, width / aspect)
    left = high - under.height - _CLOSE
    half = (width - _CLOSE) / 2
    made = []
    if (close := _close(half, left)) is not None:
        y = under.bottom + _CLOSE
        made.append((under, (_moved(close, 0, y), _moved(close, half + _CLOSE, y))))
    if (close := _close(width, (left - _CLOSE) / 2)) is not None:
        y = under.bottom + _CLOSE
        made.append((under, (_moved(close, 0, y), _moved(close, 0, y + close.height + _CLOSE))))
    tall = Box(0, 0, high * aspect, high)
    right = width - tall.width - _CLOSE
    half = (high - _CLOSE) / 2
    x = tall.width + _CLOSE
    if tall.width >= _NARROWEST / 2:
        if (close := _close(right, half)) is not None and close.height == half:
            made.append((tall, (_moved(close, x, 0), _moved(close, x, half + _CLOSE))))
        across = (right - _CLOSE) / 2
        if (close := _close(across, high)) is not None and close.height == high:
            made.append((tall, (_moved(close, x, 0), _moved(close, x + across + _CLOSE, 0))))
    made = [one for one in made if _area(one[1][0]) <= _LARGEST * _area(one[0])]
    if not made:
        return None
    picture, pair = max(made, key=lambda one: _area(one[0]) + 2 * _area(one[1][0]))
    bottom = max(picture.bottom, pair[1].bottom)
    return Block(picture, pair, Box(0, bottom, width, words))


def _close(width: float, height: float) -> Box | None:
    """A close-up in a place: cut down where it is too slim, none where it is too flat."""
    if width < _SLIMMEST or height < width / _FLATTEST:
        return None
    return Box(0, 0, width, min(height, width / _TALLEST))


def _moved(box: Box, x: float, y: float) -> Box:
    return Box(box.x + x, box.y + y, box.width, box.height)
