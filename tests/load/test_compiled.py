"""That loops will be compiled is said once, for the room that needs it."""

from pathlib import Path

import pytest
from PIL import Image

from render.jobs.card import card
from render.jobs.judge import judge
from render.load import compiled
from render.shot.shot import Shot, merged
from render.shot.wishes import DayWishes, JudgeWishes


@pytest.mark.parametrize("room", ["engine", "trace"])
def test_it_is_said_where_nothing_was_compiled_yet(
    monkeypatch: pytest.MonkeyPatch, room: str
) -> None:
    """One line for that room, none for one that is ready."""
    said: list[str] = []
    monkeypatch.setattr(compiled, "is_compiled", lambda other: other != room)

    for each in ("engine", "trace"):
        compiled.say_compiling(lambda what, share: said.append(what), each)

    assert len(said) == 1
    assert "once on this machine" in said[0]


def test_a_fleeting_place_is_said(monkeypatch: pytest.MonkeyPatch) -> None:
    """Where nothing lasting can be written, the same line names what to set."""
    said: list[str] = []
    monkeypatch.setattr(compiled, "is_compiled", lambda room: False)
    monkeypatch.setattr(compiled, "is_lasting", lambda room: False)
    compiled.say_compiling(lambda what, share: said.append(what))

    assert "NUMBA_CACHE_DIR" in said[0]


def test_it_is_not_said_where_nothing_is_rendered(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Judging and planning compile nothing, and so promise no wait, however often they run."""
    Image.new("RGB", (60, 40), "grey").save(tmp_path / "plain.png")
    given = {"view": "44", "height": "11", "pitch": "down 19", "tilt": "up 8", "focus": "50%,58%"}
    shot = merged(Shot(picture=str(tmp_path / "plain.png")), given, "{name}")
    said: list[str] = []
    monkeypatch.setattr(compiled, "is_compiled", lambda room: False)
    judge(shot, JudgeWishes(), progress=lambda what, share: said.append(what))
    card(shot, DayWishes(weather="sun"), progress=lambda what, share: said.append(what))

    assert said
    assert not any("compiling" in what for what in said)
