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
