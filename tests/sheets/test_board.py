"""The board: picture first, nothing cut, margins kept, at any shape and length of words."""

from io import BytesIO

import pypdf
import pytest
from PIL import Image

from render.errors import InputError
from render.sheets.board import (
    BoardPlan,
    BoardWords,
    best_plan,
    draw_board,
    moment_boxes,
    paper,
    plan_board,
)
from render.sheets.drawing.canvas import Drawing, Picture
from render.sheets.drawing.style import SMALL
from render.sheets.drawing.vector import pdf_bytes

MARGIN_PT = 12 * 72 / 25.4
SENTENCES = (
    "You get the real place, but it will look like a scale model of about 1:130.",
    "It needs a lens that tilts, wide open, and a viewpoint 11 m up.",
    "What could go wrong: haze or dull light would weaken it.",
)
CAPTIONS = ("The place as it is", "Calmer: more of the place is sharp", "With an ordinary lens")


def _words(**changes: object) -> BoardWords:
    given = {
        "title": "Harbour at noon",
        "date": "3 June 2031",
        "author": "Mara Ellingsen",
        "sentences": SENTENCES,
        "captions": CAPTIONS,
    }
    return BoardWords(**(given | changes))  # type: ignore[arg-type]


def _drawn(plan: BoardPlan) -> Drawing:
    def grey(width: float, height: float) -> Image.Image:
        return Image.new("RGB", (max(1, round(width)), max(1, round(height))), (99, 99, 99))

    logo = Image.new("RGB", (90, 30), (0, 0, 200)) if plan.words.with_logo else None
    small = [grey(box.width, box.height) for box in plan.small]
    return draw_board(plan, grey(plan.main.width, plan.main.height), small, logo)


@pytest.mark.parametrize("aspect", [1.5, 0.667, 4.0])
def test_moments_lie_in_the_place_of_the_main_picture(aspect: float) -> None:
    """Nine of its own shape, apart, with room for their times."""
    plan = plan_board(_words(), aspect, paper("a4", upright=False))
    boxes, main = moment_boxes(plan, 9), plan.main

    assert all(box.width / box.height == pytest.approx(aspect) for box in boxes)
    assert all(main.x - 1e-6 <= b.x and b.x + b.width <= main.x + main.width + 1e-6 for b in boxes)
    assert all(b.y + b.height + SMALL <= main.y + main.height for b in boxes)
    assert boxes[1].x >= boxes[0].x + boxes[0].width + 4
    assert boxes[3].y >= boxes[0].y + boxes[0].height + SMALL


@pytest.mark.parametrize("name", ["a4", "a3", "letter"])
@pytest.mark.parametrize("upright", [True, False])
@pytest.mark.parametrize("aspect", [1.5, 0.667, 1.0, 4.0, 0.3])
@pytest.mark.parametrize("words", ["plain", "long"])
def test_nothing_is_cut_or_laid_over_another(
    name: str, upright: bool, aspect: float, words: str
) -> None:
    """Words and pictures lie inside margins of 12 mm, apart; pictures keep their shape."""
    said = _words()
    if words == "long":
        said = _words(
            title="Пристань " * 16,
            author="Mara Ellingsen & Sons, makers of small pictures of large places",
            sentences=tuple(sentence + " " + sentence for sentence in SENTENCES),
            captions=(*CAPTIONS, "A rather long caption of a fourth one", "Fifth"),
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
    for box in (plan.main, *plan.small):
        assert box.width / box.height == pytest.approx(aspect)


def test_the_picture_takes_more_than_half_of_the_page() -> None:
    """A usual picture on the paper that suits it takes over 53 % of the page and leads the rest."""
    both = [paper("a4", upright=upright) for upright in (True, False)]
    plan = best_plan(_words(), 1.5, both)

    assert plan.paper.width > plan.paper.height
    assert plan.picture_share >= 0.53
    assert plan.main.width > 3 * plan.small[0].width
    assert best_plan(_words(), 0.667, both).paper.height > plan.paper.height


def test_pictures_are_planned_at_the_resolution_of_print() -> None:
    """A place 100 mm wide needs 1181 px at 300 dpi, on A3 too."""
    for name in ("a4", "a3"):
        plan = plan_board(_words(), 1.5, paper(name, upright=False))
        inches = plan.main.width * plan.paper.unit_pt / 72
        assert plan.px(plan.main, 300)[0] == pytest.approx(300 * inches, abs=0.5)


@pytest.mark.parametrize(
    ("name", "upright", "size_mm"),
    [("a4", True, (210, 297)), ("A3", False, (420, 297)), ("letter", False, (279.4, 215.9))],
)
def test_the_pdf_page_has_the_paper_s_size_and_its_words(
    name: str, upright: bool, size_mm: tuple[float, float]
) -> None:
    """ISO 216 and US letter sizes; title, sentences, captions, name and note are text."""
    drawing = _drawn(plan_board(_words(), 1.5, paper(name, upright=upright)))
    page = pypdf.PdfReader(BytesIO(pdf_bytes([drawing], title="T"))).pages[0]
    text = " ".join(page.extract_text().split())

    assert float(page.mediabox.width) / 72 * 25.4 == pytest.approx(size_mm[0], abs=0.1)
    assert float(page.mediabox.height) / 72 * 25.4 == pytest.approx(size_mm[1], abs=0.1)
    for words in ("Harbour at noon", "3 June 2031", "Mara Ellingsen", *SENTENCES, *CAPTIONS):
        assert words in text
    assert "Computed preview, not a photograph." in text


def test_unknown_paper_and_endless_words_are_refused() -> None:
    """Each in a sentence."""
    with pytest.raises(InputError, match="a4, a3, letter"):
        paper("a6", upright=True)
    with pytest.raises(InputError, match="no room for the picture"):
        plan_board(_words(sentences=("word " * 30,) * 30), 1.5, paper("a4", upright=False))


def test_first_words_stand_in_bold_and_nothing_is_wider_than_its_place() -> None:
    """They lead the eye from one sentence to the next; the line they begin still fits."""
    plan = plan_board(_words(), 1.5, paper("a4", upright=False))
    texts = _drawn(plan).texts()
    bold = [text.text for text in texts if text.weight == "semibold"]
    right = max(text.x + text.width for text in texts)

    assert {"You get", "It needs", "What could go wrong:", "Calmer:"} <= set(bold)
    assert "The place as it is" not in bold
    assert right <= plan.paper.width - 20
    for box, caption in zip(plan.small, CAPTIONS, strict=True):
        words = caption.split()
        under = [t for t in texts if abs(t.x - box.x) < 1 and t.y > box.y + box.height - 1]
        assert any(t.text.startswith(words[0]) for t in under)
