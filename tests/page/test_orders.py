"""What can be taken away."""

import json
from pathlib import Path
from typing import Any

import pytest
from PIL import Image

from render.errors import HingelineError, InputError
from render.files.shots import read_shot
from render.load.progress import silent
from render.page.desk import Desk
from render.page.making import Order
from render.page.orders import KINDS, fill, read_order, with_own
from render.shot.shot import Shot, merged

VALUES = {"focal-35": "28", "height": "12", "horizon": "20%", "tilt": "up 8"}


def _shot(street: Path) -> Shot:
    return merged(Shot(picture=str(street)), dict(VALUES), "{name}")


def test_an_order_is_read_with_its_kind_of_file() -> None:
    """The first kind of file unless said; nothing is answered where nothing was said."""
    desk = Desk()
    assert read_order({"kind": "photograph"}, desk).ending == "jpg"
    order = read_order({"kind": "card", "options": {"ending": "txt", "weather": "lamplight"}}, desk)
    assert (order.ending, order.answers, order.desk) == (
        "txt",
        {"weather": "lamplight"},
        desk.folder,
    )
    desk.clear()


@pytest.mark.parametrize(
    "wish",
    [
        {},
        {"kind": "everything"},
        {"kind": ["photograph"]},
        {"kind": "photograph", "options": {"ending": "/../x"}},
        {"kind": "photograph", "options": {"ending": ["tif"]}},
        {"kind": "photograph", "options": "tif"},
        {"kind": "board", "options": {"title": 7}},
        {"kind": "board", "options": {"title": "x" * 500}},
        {"kind": "board", "options": {"weather": "sun"}},
        {"kind": "board", "options": {"logo": "/etc/passwd"}},
        {"kind": "verdict", "judging": {"colour": "red"}},
    ],
)
def test_an_unknown_order_is_refused(wish: dict[str, Any]) -> None:
    """Nothing but what is listed is made, and of nothing but what was handed in."""
    with pytest.raises(InputError, match=r"not made here|up to 200|not known here|no longer open"):
        read_order(wish, Desk())


def test_the_photograph_is_as_large_as_the_picture_allows(street: Path, tmp_path: Path) -> None:
    """Full size of the planned frame, in the folder that was given."""
    order = Order("photograph", "jpg", {"grain": "0.02", "fall-off": "true"})
    made = fill(order, [_shot(street)], tmp_path, silent)

    assert made.parent == tmp_path
    with Image.open(made) as photo:
        assert photo.width > 550


MADE = [
    ("shown", {"ending": "band"}),
    ("sheet", {}),
    ("sheet", {"ending": "html", "across": "f=2.8,8", "cell": "200"}),
    ("sheet", {"ending": "zip", "across": "f=2.8,8", "cell": "200"}),
    ("board", {"title": "Square at noon", "by": "Mara Ellingsen", "say": "You get a toy town."}),
    ("section", {"ending": "svg"}),
    ("loupe", {"sensor-px": "2000"}),
    ("card", {"weather": "sun", "title": "Square"}),
    ("card", {"weather": "sun", "ending": "txt"}),
    ("verdict", {"ending": "json"}),
    ("depth", {"ending": "npz"}),
]


@pytest.mark.parametrize(("kind", "options"), MADE)
def test_things_come_from_the_jobs_of_the_commands(
    street: Path, tmp_path: Path, kind: str, options: dict[str, str]
) -> None:
    """Each is one file in the folder that was given; a board shows what else was pinned."""
    other = merged(_shot(street), {"f": "8", "tilt": "up 3", "focus": "50%,70%"}, "{name}")
    desk = Desk()
    order = read_order({"kind": kind, "options": options, "judging": {"as": "87"}}, desk)
    made = fill(order, [_shot(street), other], tmp_path, silent)
    desk.clear()

    assert made.parent == tmp_path
    assert made.stat().st_size > 1000
    if kind == "verdict":
        assert json.loads(made.read_text())["f_number_for_scale"] > 0


def test_the_exact_lens_is_for_demo_scenes(street: Path, tmp_path: Path) -> None:
    """A picture holds only what its own lens saw, and that is said."""
    with pytest.raises(HingelineError, match="demo scene"):
        fill(Order("scene", "jpg", {"exact": "64"}), [_shot(street)], tmp_path, silent)


def test_a_shot_file_repeats_the_shot(street: Path, tmp_path: Path) -> None:
    """It reads back as what the page had; what was dropped is called by its bare name."""
    made = fill(Order("shot", "toml"), [_shot(street)], tmp_path, silent)
    assert read_shot(made) == _shot(street)

    away = tmp_path / "away"
    away.mkdir()
    dropped = fill(Order("shot", "toml", desk=street.parent), [_shot(street)], away, silent)
    assert 'picture = "square.jpg"' in dropped.read_text(encoding="utf-8")


def test_every_kind_needs_a_shot(tmp_path: Path) -> None:
    """Without a setting there is nothing to make."""
    for kind in KINDS:
        with pytest.raises(InputError, match="no setting"):
            fill(Order(kind, "jpg"), [], tmp_path, silent)


def test_what_is_not_answered_is_as_its_owner_always_has_it() -> None:
    """The questions say so; another answer wins, also the one that is usual elsewhere."""
    desk = Desk(own={"by": "Mara", "paper": "letter", "lens": "90"})
    asks = {ask.name: ask for ask in with_own(KINDS["board"], desk.own).asks}
    silent_one = read_order({"kind": "board"}, desk)
    said = read_order({"kind": "board", "options": {"paper": "a4", "by": "Ellingsen"}}, desk)

    assert asks["by"].empty == "yours: Mara"
    assert asks["paper"].choices[:2] == (("", "yours: letter"), ("a4", "a4"))
    assert silent_one.answers == {"by": "Mara", "paper": "letter"}
    assert said.answers == {"by": "Ellingsen", "paper": "a4"}
    desk.clear()
