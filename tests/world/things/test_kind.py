"""Words of kinds: what is allowed is let through in the maker's type, the rest is refused."""

import pickle
from typing import Any

import pytest

from render.errors import InputError
from render.world.things import load_kinds
from render.world.things.kind import (
    KINDS,
    Kind,
    Values,
    Word,
    kind,
    number,
    outline,
    pick,
    vector,
    yes,
)


@pytest.mark.parametrize(
    ("word", "good", "bad"),
    [
        (number(1.0, "", 0, 5), 3, [-1, 6, "3", True, float("nan")]),
        (vector((1.0, 1.0), ""), [2, 3], [[1], [1, -1], "ab", [1, float("nan")]]),
        (pick("a", "", "a", "b"), "b", ["c", 1, ["a"]]),
        (yes(False, ""), True, [1, "true"]),
        (outline(""), [[0, 0], [1, 0], [1, 1]], [[[0, 0]], [[0, 0, 0]] * 3, "x", [[0, "a"]] * 3]),
    ],
)
def test_values_are_checked(word: Word, good: Any, bad: list[Any]) -> None:
    """NaN and wrong kinds are refused too."""
    assert word.check(good) is not None
    assert [word.check(value) for value in bad] == [None] * len(bad)


def test_an_error_names_the_key_and_the_kind() -> None:
    """And lists what else there is."""
    kind = Kind(
        "post", "A post.", lambda v, rng: None, {"h_m": number(1.0, "height")}, {"side": "x"}
    )  # type: ignore[arg-type, return-value]

    assert kind.read({"h_m": 2}) == Values(h_m=2.0)
    with pytest.raises(InputError, match='"w" is not a key of a post: h_m, side'):
        kind.read({"w": 2})
    with pytest.raises(InputError, match="h_m = -1: a number from 0"):
        kind.read({"h_m": -1})


def test_a_kind_goes_to_another_process_by_its_name() -> None:
    """A traced scene comes back from a process of its own, with every kind it holds."""
    load_kinds()

    assert [pickle.loads(pickle.dumps(kind)) for kind in KINDS.values()] == [*KINDS.values()]


def test_no_two_kinds_have_one_name() -> None:
    """The second would silently take the first one's place in every scene."""
    with pytest.raises(ValueError, match='two kinds of things are called "box"'):
        kind("box", "Another box.")(KINDS["box"].make)
