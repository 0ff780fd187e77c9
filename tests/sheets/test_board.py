"""The board: picture first, nothing cut, margins kept, at any shape and length of words."""

from io import BytesIO

import pypdf
import pytest
from PIL import Image

from render.sheets.board import draw_board
from render.sheets.board_plan import (
    BoardPlan,
    Box,
    paper,
    plan_board,
)
from render.sheets.close_ups import CloseUps
from render.sheets.drawing.canvas import Drawing, Picture
from render.sheets.drawing.style import MUTED, SMALL
from render.sheets.drawing.vector import pdf_bytes
from tests.sheets.test_board_plan import CAPTIONS, SENTENCES, board_words

MARGIN_PT = 12 * 72 / 25.4
PLACES = ((0.2, 0.3, 0.1, 0.1), (0.7, 0.8, 0.1, 0.1))


def _drawn(plan: BoardPlan) -> Drawing:
    def grey(box: Box) -> Image.Image:
        return Image.new("RGB", (max(1, round(box.width)), max(1, round(box.height))), (99, 99, 99))

    logo = Image.new("RGB", (90, 30), (0, 0, 200)) if plan.words.with_logo else None
    blocks = [
        (grey(b.picture), CloseUps(grey(b.close[0]), grey(b.close[1]), PLACES)) for b in plan.blocks
    ]
    return draw_board(plan, grey(plan.main), blocks, logo)


@pytest.mark.parametrize("name", ["a4", "a3", "letter"])
@pytest.mark.parametrize("upright", [True, False])
@pytest.mark.parametrize("aspect", [1.5, 0.667, 1.0, 4.0, 0.3])
@pytest.mark.parametrize("words", ["plain", "long"])
def test_nothing_is_cut_or_laid_over_another(
    name: str, upright: bool, aspect: float, words: str
) -> None:
    """Words and pictures lie inside margins of 12 mm, apart; pictures keep their shape."""
    said = board_words()
    if words == "long":
        said = board_words(
            title="Пристань " * 16,
            author="Mara Ellingsen & Sons, makers of small pictures of large places",
            sentences=tuple(sentence + " " + sentence for sentence in SENTENCES),
            captions=(*CAPTIONS, ("A rather long caption of a fourth one", "f/4"), ("Fifth", "")),
            with_logo=True,
        )
    plan = plan_board(said, aspect, paper(name, upright=upright))
    drawing = _drawn(plan)
    pictures = [item for item in drawing.items if isinstance(item, Picture)]
    boxes = [(p.x, p.y, p.x + p.width, p.y + p.height) for p in pictures]
    boxes += [
        (t.x, t.y - 0.72 * t.size, t.x + t.width, t.y + 0.1 * t.size) for t in drawing.texts()
    ]

    for left, top, right, bottom in boxes:
        assert left >= MARGIN_PT
        assert top >= MARGIN_PT
        assert right <= drawing.width - MARGIN_PT + 0.5
        assert bottom <= drawing.height - MARGIN_PT + 0.5
    for i, a in enumerate(boxes):
        for b in boxes[i + 1 :]:
            assert a[2] <= b[0] + 0.5 or b[2] <= a[0] + 0.5 or a[3] <= b[1] or b[3] <= a[1]
    for box in (plan.main, *(block.picture for block in plan.blocks)):
        assert box.width / box.height == pytest.approx(aspect)


@pytest.mark.parametrize(
    ("name", "upright", "size_mm"),
    [("a4", True, (210, 297)), ("A3", False, (420, 297)), ("letter", False, (279.4, 215.9))],
)
def test_the_pdf_page_has_the_paper_s_size_and_its_words(
    name: str, upright: bool, size_mm: tuple[float, float]
) -> None:
    """ISO 216 and US letter sizes; title, sentences, captions, name and note are text."""
    drawing = _drawn(plan_board(board_words(), 1.5, paper(name, upright=upright)))
    page = pypdf.PdfReader(BytesIO(pdf_bytes([drawing], title="T"))).pages[0]
    text = " ".join(page.extract_text().split())

    assert float(page.mediabox.width) / 72 * 25.4 == pytest.approx(size_mm[0], abs=0.1)
    assert float(page.mediabox.height) / 72 * 25.4 == pytest.approx(size_mm[1], abs=0.1)
    said = [words for caption in CAPTIONS for words in caption]
    for words in ("Harbour at noon", "3 June 2031", "Mara Ellingsen", *SENTENCES, *said):
        assert words in text
    assert "Computed previews, not photographs." in text


def test_first_words_stand_in_bold_and_nothing_is_wider_than_its_place() -> None:
    """They lead the eye from one sentence to the next; the line they begin still fits."""
    plan = plan_board(board_words(), 1.5, paper("a4", upright=False))
    texts = _drawn(plan).texts()
    bold = [text.text for text in texts if text.weight == "semibold"]
    right = max(text.x + text.width for text in texts)

    assert {"You get", "It needs", "What could go wrong:", "Calmer:"} <= set(bold)
    assert {"The place as it is", "As planned"} <= set(bold)
    assert right <= plan.paper.width - 20
    for block, (caption, setting) in zip(plan.blocks, CAPTIONS, strict=True):
        box = block.caption
        under = [
            t
            for t in texts
            if box.x - 1 < t.x < box.right and box.y < t.y <= box.bottom and t.size == SMALL
        ]
        assert under[0].text.startswith(caption.split()[0])
        assert " ".join(t.text for t in under if t.colour == MUTED) == setting


def test_a_long_name_is_kept_whole() -> None:
    """It takes as many lines as it needs; nothing of it is cut."""
    name = "Lindqvist, Aaltonen, Fairweather-Montgomery & Daughters, makers of small pictures"
    texts = _drawn(plan_board(board_words(author=name), 0.667, paper("a4", upright=True))).texts()

    assert name in " ".join(text.text for text in texts)
