"""Tables of scene files: every mistake names file, table, key and what is allowed."""

import pytest

from render.errors import InputError
from render.world.table import Table


@pytest.mark.parametrize(
    ("values", "ask", "match"),
    [
        ({"h": "tall"}, lambda t: t.number("h", 1.0), r"a\.toml, h = 'tall': give a number"),
        ({"h": True}, lambda t: t.number("h", 1.0), "give a number"),
        ({"h": float("nan")}, lambda t: t.number("h", 1.0), "give a number"),
        ({"h": 7}, lambda t: t.number("h", 1.0, 0, 5), "from 0 to 5"),
        ({"n": 3}, lambda t: t.text("n", ""), "text in quotes"),
        ({"n": 3}, lambda t: t.flag("n", False), "true or false"),
        ({"p": [1]}, lambda t: t.numbers("p", 2), "list of 2 numbers"),
        ({"p": [[1, 2], "x"]}, lambda t: t.points("p"), "points"),
        ({"p": [[1, 2], [1, 2, 3]]}, lambda t: t.points("p"), "points"),
        ({"t": 3}, lambda t: t.table("t"), r"as a table, \[t\]"),
        ({"t": {}}, lambda t: t.tables("t"), r"\[\[t\]\]"),
    ],
)
def test_wrong_values_are_named(values: dict, ask: object, match: str) -> None:  # type: ignore[type-arg]
    """Where it stands, what was found, what to write."""
    with pytest.raises(InputError, match=match):
        ask(Table("a.toml", values))  # type: ignore[operator]


def test_unknown_keys_are_refused_with_the_known_ones() -> None:
    """A misspelt key does not pass unnoticed."""
    t = Table("a.toml", {"hight_m": 3})
    t.number("height_m", 2.0)

    with pytest.raises(InputError, match=r"hight_m = 3: no such key here; known: height_m"):
        t.finish()


def test_what_is_not_there_takes_its_start() -> None:
    """Nothing needs to be written twice."""
    t = Table("a.toml", {"w": 2, "p": [[0, 1], [2, 3]], "list": [{"kind": "box"}]})

    assert (t.number("h", 1.5), t.number("w", 0.0), t.text("n", "x")) == (1.5, 2.0, "x")
    assert t.points("p") == ((0, 1), (2, 3))
    assert "number 1 (box)" in t.tables("list")[0].where
