"""Kinds of things and the words they know."""

from typing import Any

import numpy as np
import pytest

from render.errors import InputError
from render.scene.things import load_kinds
from render.scene.things.kind import KINDS, number, outline, pick, vector, yes
from tests.scene.things.shapes import made

load_kinds()


@pytest.mark.parametrize("name", sorted(KINDS))
def test_every_kind_makes_a_sound_shape_as_it_comes(name: str) -> None:
    """Finite corners, unit normals, known slots, only foundations below, always the same."""
    needs = {"points_m": [[0, 0, 4], [8, 0, 4]], "path_m": [[0, 0], [8, 0]]}
    needs["outline_m"] = [[0, 0], [8, 0], [8, 5]]
    words = KINDS[name].words
    table = {k: v for k, v in needs.items() if k in words and not words[k].start}
    mesh = made(name, **table)

    assert len(mesh.xyz) > 0
    assert np.all(np.isfinite(mesh.xyz))
    np.testing.assert_allclose(np.linalg.norm(mesh.normal, axis=-1), 1, atol=1e-4)
    assert mesh.slot.max() < len(mesh.slots)
    assert mesh.xyz[..., 2].min() > -2.0
    np.testing.assert_array_equal(mesh.xyz, made(name, **table).xyz)


def test_an_unknown_key_is_answered_with_the_known_ones() -> None:
    """The sentence names the kind."""
    with pytest.raises(InputError, match=r'"colour" is not a key of a box: size_m'):
        KINDS["box"].read({"colour": "red"})


@pytest.mark.parametrize(
    ("word", "good", "bad"),
    [
        (number(1.0, "", 0, 5), 3, 7),
        (number(1.0, ""), 3.5, True),
        (number(1.0, ""), 0, float("nan")),
        (vector((1.0, 2.0), ""), [3, 4], [3]),
        (vector((1.0, 2.0), ""), [3, 4], [3, -1]),
        (pick("a", "", "a", "b"), "b", "c"),
        (yes(True, ""), False, 0),
        (outline(""), [[0, 0], [1, 0], [1, 1]], [[0, 0], [1, 0]]),
        (outline(""), [[0, 0], [1, 0], [1, 1]], [[0, 0], [1, 0], [1, float("inf")]]),
        (outline(""), [[0, 0], [1, 0], [1, 1]], "abc"),
    ],
)
def test_words_take_what_fits_and_nothing_else(word: Any, good: Any, bad: Any) -> None:
    """None stands for a refusal."""
    assert word.check(good) is not None
    assert word.check(bad) is None
