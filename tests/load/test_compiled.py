"""That loops will be compiled is said once, for the room that needs it."""

import pytest

from render.load import compiled


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
