"""The board: one page for a client, the picture first."""

from collections.abc import Sequence

from PIL import Image

from render.sheets.board_plan import (
    AS_PLANNED,
    GAP,
    LOGO_HEIGHT,
    PAGE_MARGIN,
    BoardPlan,
    BoardWords,
    Box,
    caption_lead,
    foot_lines,
    moment_boxes,
    run_in,
    run_in_lines,
    sentence_lines,
)
from render.sheets.close_ups import CloseUps, draw_frames
from render.sheets.drawing.canvas import Drawing
from render.sheets.drawing.lettering import line_width, wrapped
from render.sheets.drawing.style import BODY, HEADING, MUTED, SETTING, SMALL
from render.sheets.drawing.vector import jpeg_bytes

__all__ = ["draw_board"]

#: A picture that leaves more of its place's longer side than this has another format, not a pixel
#: more or less, and keeps its shape.
_OTHER_SHAPE = 0.03


def draw_board(
    plan: BoardPlan,
    main: Image.Image | Sequence[tuple[Image.Image, str]],
    blocks: Sequence[tuple[Image.Image, CloseUps]],
    logo: Image.Image | None = None,
) -> Drawing:
    """Draw a planned board with its pictures.

    Parameters
    ----------
    plan : BoardPlan
    main : PIL.Image.Image, or a sequence of them with their times
        Moments of a film in place of one picture.
    blocks : sequence of (PIL.Image.Image, CloseUps)
        As many as the plan has places.
    logo : PIL.Image.Image, optional
        Drawn at the foot, beside the author's name.
    """
    drawing = Drawing(plan.paper.width, plan.paper.height, unit_pt=plan.paper.unit_pt)
    words = plan.words
    _draw_head(drawing, words)
    if isinstance(main, Image.Image):
        _draw_picture(drawing, plan.main, main, f"The photograph as planned: {words.title}")
    else:
        for box, (image, time) in zip(moment_boxes(plan, len(main)), main, strict=True):
            _draw_picture(drawing, box, image, f"{words.title}, {time}")
            drawing.letters(box.x, box.bottom + SMALL, time, SMALL, colour=MUTED)
    _draw_caption(
        drawing, Box(plan.main.x, plan.main.bottom, plan.main.width, 0), AS_PLANNED, words.setting
    )
    for block, (picture, close), said in zip(plan.blocks, blocks, words.captions, strict=True):
        (caption, setting), box = said, block.picture
        box = _draw_picture(drawing, box, picture, caption)
        draw_frames(drawing, close.places, (box.x, box.y, box.width, box.height), 0.7)
        for box, image, where in zip(
            block.close, (close.first, close.second), close.planned, strict=True
        ):
            _draw_picture(drawing, box, image, f"{caption}: close-up of what is planned {where}")
        _draw_caption(drawing, block.caption, caption, setting)
    y = plan.text_top
    by_sentence = sentence_lines(words, drawing.width - 2 * PAGE_MARGIN)
    for sentence, lines in zip(words.sentences, by_sentence, strict=True):
        for number, line in enumerate(lines):
            y += 1.3 * SETTING
            bold = run_in(sentence) if number == 0 else ""
            _draw_line(drawing, PAGE_MARGIN, y - 0.3 * SETTING, line, SETTING, bold)
    _draw_foot(drawing, words, logo)
    return drawing


def _draw_head(drawing: Drawing, words: BoardWords) -> None:
    right = drawing.width - PAGE_MARGIN
    room = right - PAGE_MARGIN - line_width(words.date, BODY) - 2 * GAP
    y = PAGE_MARGIN
    for number, line in enumerate(wrapped(words.title, HEADING, room, "semibold")):
        y += 1.25 * HEADING
        drawing.letters(PAGE_MARGIN, y - 0.3 * HEADING, line, HEADING, weight="semibold")
        if number == 0:
            base = y - 0.3 * HEADING
            drawing.letters(right, base, words.date, BODY, colour=MUTED, align="right")


def _draw_picture(drawing: Drawing, box: Box, image: Image.Image, shows: str) -> Box:
    """Draw a picture into its place, in its own shape; returns where it lies."""
    scale = min(box.width / image.width, box.height / image.height)
    width, height = scale * image.width, scale * image.height
    if max(box.width - width, box.height - height) > _OTHER_SHAPE * max(box.width, box.height):
        box = Box(box.x, box.y, width, height)
    jpeg = jpeg_bytes(image)
    drawing.picture(image, box.x, box.y, box.width, box.height, jpeg=jpeg, shows=shows)
    return box


def _draw_caption(drawing: Drawing, under: Box, caption: str, setting: str) -> None:
    """What it is, its first words in bold, and its setting: beside it where there is room."""
    x, y = under.x, under.y + 1
    lead = caption_lead(caption)
    lines = run_in_lines(caption, SMALL, under.width, lead)
    for number, line in enumerate(lines):
        y += 1.25 * SMALL
        all_bold = lead == caption
        _draw_line(drawing, x, y, line, SMALL, line if all_bold else lead if number == 0 else "")
    after = line_width(caption, SMALL, "semibold") + line_width("  ", SMALL)
    if len(lines) == 1 and after + line_width(setting, SMALL) <= under.width:
        drawing.letters(x + after, y, setting, SMALL, colour=MUTED)
        return
    for line in wrapped(setting, SMALL, under.width) if setting else ():
        y += 1.25 * SMALL
        drawing.letters(x, y, line, SMALL, colour=MUTED)


def _draw_foot(drawing: Drawing, words: BoardWords, logo: Image.Image | None) -> None:
    foot = drawing.height - PAGE_MARGIN
    x, room = PAGE_MARGIN, drawing.width - 2 * PAGE_MARGIN
    if logo is not None:
        scale = min(LOGO_HEIGHT / logo.height, 0.3 * room / logo.width)
        drawing.picture(
            logo, x, foot - scale * logo.height, scale * logo.width, scale * logo.height
        )
        x += scale * logo.width + GAP
    name, small_print = foot_lines(words, x - PAGE_MARGIN, room)
    for number, line in enumerate(name, start=1 - len(name)):
        drawing.letters(x, foot - 2 + 1.25 * BODY * number, line, BODY, weight="semibold")
    right = drawing.width - PAGE_MARGIN
    for number, line in enumerate(small_print, start=1 - len(small_print)):
        y = foot - 2 + 1.25 * SMALL * number
        drawing.letters(right, y, line, SMALL, colour=MUTED, align="right")


def _draw_line(drawing: Drawing, x: float, y: float, line: str, size: float, first: str) -> None:
    """One line, its first words in bold."""
    if first and not line.startswith(first):
        first = line if first.startswith(line) else ""
    if first:
        x += drawing.letters(x, y, first, size, weight="semibold").width
        line = line[len(first) :].lstrip()
        x += line_width(" ", size)
    if line:
        drawing.letters(x, y, line, size)
