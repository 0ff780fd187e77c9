"""Where things lie on a board: as large as can be, no hole, at any shape and number."""

import pytest

from render.errors import InputError
from render.sheets.board_plan import (
    BoardWords,
    best_plan,
    moment_boxes,
    paper,
    plan_board,
)
from render.sheets.drawing.style import SMALL

SENTENCES = (
    "You get the real place, but it will look like a scale model of about 1:130.",
    "It needs a lens that tilts, wide open, and a viewpoint 11 m up.",
    "What could go wrong: haze or dull light would weaken it.",
)
CAPTIONS = (
    ("The place as it is", ""),
    ("Calmer: more of the place is sharp", "45 mm · f/5.6 · lens up 8°"),
    ("With an ordinary lens", "45 mm · f/2.8 · lens level"),
)


def board_words(**changes: object) -> BoardWords:
    given = {
        "title": "Harbour at noon",
        "date": "3 June 2031",
        "author": "Mara Ellingsen",
        "sentences": SENTENCES,
        "setting": "45 mm · f/2.8 · lens up 8°",
        "captions": CAPTIONS,
    }
    return BoardWords(**(given | changes))  # type: ignore[arg-type]


@pytest.mark.parametrize("aspect", [1.5, 0.667, 4.0])
def test_moments_lie_in_the_place_of_the_main_picture(aspect: float) -> None:
    """Nine of its own shape, apart, with room for their times."""
    plan = plan_board(board_words(), aspect, paper("a4", upright=False))
    boxes, main = moment_boxes(plan, 9), plan.main

    assert all(box.width / box.height == pytest.approx(aspect) for box in boxes)
    assert all(main.x - 1e-6 <= b.x and b.x + b.width <= main.x + main.width + 1e-6 for b in boxes)
    assert all(b.y + b.height + SMALL <= main.y + main.height for b in boxes)
    assert boxes[1].x >= boxes[0].x + boxes[0].width + 4
    assert boxes[0].x == pytest.approx(main.x)
    assert boxes[8].right == pytest.approx(main.right)
    assert boxes[3].y >= boxes[0].y + boxes[0].height + SMALL


@pytest.mark.parametrize("upright", [True, False])
@pytest.mark.parametrize("aspect", [1.5, 0.667, 1.333])
@pytest.mark.parametrize("count", [2, 3, 4, 5])
def test_blocks_leave_no_hole(upright: bool, aspect: float, count: int) -> None:
    """With one alternative or four, blocks reach from the title to the sentences or the sides."""
    captions = (*CAPTIONS, ("Stronger", "f/2"), ("Fifth", "f/4"))[:count]
    plan = plan_board(board_words(captions=captions), aspect, paper("a4", upright=upright))
    left, right = plan.main.x, plan.paper.width - plan.main.x
    first, last = plan.blocks[0], plan.blocks[-1]

    assert max(*(box.right for box in last.close), last.picture.right) == pytest.approx(right)
    assert last.caption.bottom > plan.text_top - 24
    if first.picture.y > plan.main.y:
        assert first.picture.x == pytest.approx(left)
        assert plan.main.right > 0.75 * right
    else:
        assert first.picture.x - plan.main.right == pytest.approx(10)


def test_a_usual_picture_leads_its_page() -> None:
    """On the paper that suits it the main picture takes over 43 % of the page."""
    both = [paper("a4", upright=upright) for upright in (True, False)]
    plan = best_plan(board_words(), 1.5, both)

    assert plan.paper.width > plan.paper.height
    assert plan.picture_share >= 0.43
    assert plan.main.width > 3 * plan.blocks[0].picture.width
    assert best_plan(board_words(), 0.667, both).paper.height > plan.paper.height


def test_pictures_are_planned_at_the_resolution_of_print() -> None:
    """A place 100 mm wide needs 1181 px at 300 dpi, on A3 too."""
    for name in ("a4", "a3"):
        plan = plan_board(board_words(), 1.5, paper(name, upright=False))
        inches = plan.main.width * plan.paper.unit_pt / 72
        assert plan.px(plan.main, 300)[0] == pytest.approx(300 * inches, abs=0.5)


def test_unknown_paper_and_endless_words_are_refused() -> None:
    """Each in a sentence."""
    with pytest.raises(InputError, match="a4, a3, letter"):
        paper("a6", upright=True)
    with pytest.raises(InputError, match="no room for the picture"):
        plan_board(board_words(sentences=("word " * 30,) * 30), 1.5, paper("a4", upright=False))


@pytest.mark.parametrize(("aspect", "side"), [(1.5, 66), (1.0, 60), (2.46, 60), (0.667, 60)])
def test_small_pictures_can_be_compared(aspect: float, side: float) -> None:
    """With three alternatives on letter or A4 none shrinks to a stamp beside a large main one."""
    captions = (*CAPTIONS, ("Straight lens", "45 mm · f/2.8 · lens not tilted"))
    for name in ("a4", "letter"):
        both = [paper(name, upright=upright) for upright in (True, False)]
        plan = best_plan(board_words(captions=captions), aspect, both)
        small = plan.blocks[0].picture

        assert (small.width * small.height) ** 0.5 > side
        assert plan.picture_share > 0.33
