"""What the page asks besides a shot."""

from pathlib import Path
from typing import Any

import pytest

from render.errors import InputError
from render.page.asks import JUDGING, Ask, one_of, read_answers
from render.page.desk import Desk

ASKS = (Ask("title", "Title"), Ask("paper", "Paper", choices=one_of("a4", "a3")))


def test_what_is_empty_is_not_answered() -> None:
    """Blanks say nothing, a choice is one of those offered, a file is where it lies."""
    assert read_answers(ASKS, {"title": "  ", "paper": "a3"}, Desk()) == {"paper": "a3"}


def test_a_file_is_answered_by_what_it_is_called_on_the_desk(tmp_path: Path) -> None:
    """Never by a path of the page's own."""
    (tmp_path / "tilted.jpg").write_bytes(b"x")
    desk = Desk()
    paper = desk.lay(tmp_path / "tilted.jpg")

    assert read_answers(JUDGING, {"rendered": paper.id}, desk) == {"rendered": str(paper.path)}
    with pytest.raises(InputError, match="no longer open"):
        read_answers(JUDGING, {"rendered": str(paper.path)}, desk)


@pytest.mark.parametrize(
    "given", [["title"], {"title": 7}, {"colour": "red"}, {"paper": "a9"}, {"title": "x" * 300}]
)
def test_what_was_not_asked_is_refused(given: Any) -> None:
    """In one sentence."""
    with pytest.raises(InputError):
        read_answers(ASKS, given, Desk())
