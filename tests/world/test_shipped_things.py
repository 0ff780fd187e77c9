"""Everything that a scene file can be told to hold is shown somewhere."""

import re
from importlib.resources import files

import pytest

from render.world.things import load_kinds
from render.world.things.kind import KINDS

load_kinds()


@pytest.mark.parametrize("kind", sorted(KINDS))
def test_a_kind_stands_in_some_shipped_scene(kind: str) -> None:
    """A kind that no scene shows is nobody's to look after: it is shown, or it goes."""
    texts = [
        entry.read_text(encoding="utf-8")
        for entry in files("render.shipped").iterdir()
        if entry.name.endswith(".toml")
    ]

    assert any(re.search(rf'kind = "{re.escape(kind)}"', text) for text in texts)
