"""What can be taken away."""

from pathlib import Path
from typing import Any

import pytest
from PIL import Image

from render.errors import HingelineError, InputError
from render.files.shots import read_shot
from render.load.progress import silent
from render.page.orders import KINDS, Order, fill, read_order
from render.shot.shot import Shot, merged

VALUES = {"focal-35": "28", "height": "12", "horizon": "20%", "tilt": "up 8"}


def _shot(street: Path) -> Shot:
    return merged(Shot(picture=str(street)), dict(VALUES), "{name}")


def test_an_order_is_read_with_its_kind_of_file() -> None:
    """JPEG unless said."""
    assert read_order({"kind": "photograph"}) == Order("photograph", "jpg")
    assert read_order({"kind": "photograph", "options": {"ending": "tif"}}).ending == "tif"


@pytest.mark.parametrize(
    "wish",
    [
        {},
        {"kind": "everything"},
        {"kind": ["photograph"]},
        {"kind": "photograph", "options": {"ending": "/../x"}},
        {"kind": "photograph", "options": "tif"},
        {"kind": "board", "options": {"title": 7}},
        {"kind": "board", "options": {"title": "x" * 500}},
        {"kind": "board", "options": {"weather": "sun"}},
        {"kind": "board", "options": {"logo": "/etc/passwd"}},
        {"kind": "board", "options": {"say": "one of several"}},
    ],
)
def test_an_unknown_order_is_refused(wish: dict[str, Any]) -> None:
    """Nothing but what is listed is made."""
    with pytest.raises(InputError, match=r"not made here|up to 80 letters|not known here"):
        read_order(wish)


def test_the_photograph_is_as_large_as_the_picture_allows(street: Path, tmp_path: Path) -> None:
    """Full size of the planned frame, in the folder that was given."""
    made = fill(Order("photograph"), [_shot(street)], tmp_path, silent)

    assert made.parent == tmp_path
    with Image.open(made) as photo:
        assert photo.width > 550


@pytest.mark.parametrize("kind", ["shown", "stops", "board", "section", "card"])
def test_sheets_come_from_the_jobs_of_the_commands(street: Path, tmp_path: Path, kind: str) -> None:
    """Each is one file in the folder that was given; a board shows what else was pinned."""
    other = merged(_shot(street), {"f": "8", "tilt": "up 3", "focus": "50%,70%"}, "{name}")
    words = {
        "board": {"title": "Square at noon", "by": "Mara Ellingsen"},
        "card": {"weather": "sun", "title": "Square"},
    }
    order = read_order({"kind": kind, "options": words.get(kind, {})})
    made = fill(order, [_shot(street), other], tmp_path, silent)

    assert made.parent == tmp_path
    assert made.stat().st_size > 3000


def test_the_exact_lens_is_for_demo_scenes(street: Path, tmp_path: Path) -> None:
    """A picture holds only what its own lens saw, and that is said."""
    with pytest.raises(HingelineError, match="demo scene"):
        fill(Order("exact"), [_shot(street)], tmp_path, silent)


def test_a_shot_file_repeats_the_shot(street: Path, tmp_path: Path) -> None:
    """It reads back as what the page had."""
    made = fill(Order("shot"), [_shot(street)], tmp_path, silent)

    assert read_shot(made) == _shot(street)


def test_every_kind_needs_a_shot(tmp_path: Path) -> None:
    """Without a setting there is nothing to make."""
    for kind in KINDS:
        with pytest.raises(InputError, match="no setting"):
            fill(Order(kind), [], tmp_path, silent)
