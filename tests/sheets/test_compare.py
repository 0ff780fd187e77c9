"""The comparing sheet: order, alignment, nothing cut, at any shape and number."""

from itertools import pairwise

import pytest
from PIL import Image

from render.errors import InputError
from render.sheets.compare import MOST_CELLS, Cell, compare_sheet, sheet_columns
from render.sheets.drawing.canvas import Area, Drawing, Picture

LONG = (
    "Lens up 8° and right 12.5° · f/5.6 · focus at 123 m (50%, 62%) · rise 6 mm · "
    "shift left 12 mm, as tried on the second evening from the customs house"
)

GUESSED = "If the guess is right: reads as a model, if mostly open ground"


def _cell(width: int = 300, height: int = 200, *, best: bool = False, setting: str = "") -> Cell:
    return Cell(
        picture=Image.new("RGB", (width, height), (120, 140, 160)),
        setting=setting or "f/2.8 · lens up 8°",
        scale="reads as 1:105",
        figures="band 5 % · edges 2.6 % · score 92",
        verdict=GUESSED if setting else "reads as a model",
        suggested=best,
    )


def _sheet(*cells: Cell, **how: object) -> Drawing:
    return compare_sheet(cells, title="Stop sheet", subtitle="45 mm", **how)  # type: ignore[arg-type]


@pytest.mark.parametrize("count", [1, 2, 5, 6, 24, MOST_CELLS])
@pytest.mark.parametrize("size", [(300, 200), (200, 300), (480, 60), (40, 480)])
def test_nothing_is_cut_or_laid_over_another(count: int, size: tuple[int, int]) -> None:
    """Every word lies on the sheet; pictures and lines of text do not overlap."""
    cells = [_cell(*size, setting=LONG if i % 2 else "", best=i == 1) for i in range(count)]
    drawing = _sheet(*cells, notes=("Small print. " * 20,))
    pictures = [item for item in drawing.items if isinstance(item, Picture)]
    boxes = [(p.x, p.y, p.x + p.width, p.y + p.height) for p in pictures]
    boxes += [
        (t.x, t.y - 0.72 * t.size, t.x + t.width, t.y + 0.1 * t.size) for t in drawing.texts()
    ]

    assert len(pictures) == count
    assert not [text for text in drawing.texts() if "…" in str(text)]
    for left, top, right, bottom in boxes:
        assert left >= 0
        assert top >= 0
        assert right <= drawing.width + 0.5
        assert bottom <= drawing.height
    for i, a in enumerate(boxes):
        for b in boxes[i + 1 :]:
            assert a[2] <= b[0] + 0.5 or b[2] <= a[0] + 0.5 or a[3] <= b[1] or b[3] <= a[1]


def test_pictures_keep_their_order_and_their_size() -> None:
    """Left to right, then down; no picture is scaled."""
    drawing = _sheet(*[_cell() for _ in range(6)], columns=3)
    pictures = [item for item in drawing.items if isinstance(item, Picture)]

    assert all((p.width, p.height) == p.image.size for p in pictures)
    assert all((a.y, a.x) < (b.y, b.x) for a, b in pairwise(pictures))
    assert len({p.y for p in pictures}) == 2


def test_only_the_suggested_cell_has_a_thick_rule_and_the_word() -> None:
    """One rule of 4 px above the suggested picture, and the word once."""
    drawing = _sheet(_cell(), _cell(best=True), _cell())
    rules = [
        item
        for item in drawing.items
        if isinstance(item, Area) and round(item.points[2][1] - item.points[0][1]) == 4
    ]
    second = [item for item in drawing.items if isinstance(item, Picture)][1]

    assert len(rules) == 1
    assert rules[0].points[0][0] == second.x
    assert [t.text for t in drawing.texts()].count("suggested") == 1


def test_captions_stand_alike_in_all_cells() -> None:
    """If the scale does not fit beside one setting, it stands below in every cell."""
    drawing = _sheet(_cell(), _cell(setting=LONG))
    scales = [t for t in drawing.texts() if t.text == "reads as 1:105"]
    pictures = [item for item in drawing.items if isinstance(item, Picture)]

    assert [t.x for t in scales] == [p.x for p in pictures]


@pytest.mark.parametrize(
    ("count", "size", "columns"),
    [
        (6, (3, 2), 3),
        (4, (3, 2), 4),
        (24, (3, 2), 4),
        (6, (2, 3), 6),
        (3, (5, 1), 2),
        (1, (3, 2), 1),
    ],
)
def test_columns_leave_few_gaps(count: int, size: tuple[int, int], columns: int) -> None:
    """At most four side by side, six for upright and two for very wide pictures."""
    assert sheet_columns(count, *size) == columns


def test_no_cells_and_too_many_cells_are_refused() -> None:
    """An empty sheet, and one of 500 pictures, end in a sentence."""
    with pytest.raises(InputError, match="nothing to compare"):
        _sheet()
    with pytest.raises(InputError, match="500 pictures are too many"):
        _sheet(*[_cell(30, 20)] * 500)
