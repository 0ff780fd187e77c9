"""Heads are drawn of every sort, and the file's words hold."""

from collections import Counter

import numpy as np
import pytest

from render.world.things import load_kinds
from render.world.things.kind import KINDS
from render.world.things.worn.heads import Looks, head_mesh, looks_of

load_kinds()


def _looks(seed: int, child: float = 0.0, **words: str) -> Looks:
    return looks_of(KINDS["bust"].read(words), np.random.default_rng(seed), child)


def test_of_many_heads_some_wear_each() -> None:
    """Half are women, no woman has a beard, children neither beards nor bald heads."""
    many = [_looks(k) for k in range(300)]
    small = [_looks(k, 1.0) for k in range(100)]

    assert 0.4 < np.mean([one.man < 0 for one in many]) < 0.6
    assert {one.cut for one in many if one.man < 0} == {"long", "bob", "tail", "bun", "parted"}
    assert {one.cut for one in many if one.man > 0} == {"parted", "cropped", "receding", "bald"}
    assert set(Counter(one.beard for one in many if one.man > 0)) == {"none", "stubble", "full"}
    assert {one.beard for one in many if one.man < 0} == {"none"}
    assert {one.glasses for one in many} == {"none", "round", "square"}
    assert {one.parting for one in many} == {"left", "middle", "right"}
    assert {one.beard for one in small} == {"none"}
    assert not {"bald", "receding"} & {one.cut for one in small}


@pytest.mark.parametrize(
    "words", [{"who": "woman"}, {"cut": "bob", "glasses": "round"}, {"beard": "full"}]
)
def test_what_a_file_says_holds(words: dict[str, str]) -> None:
    """Whoever is drawn, the word said is kept; a beard said is a man's."""
    for seed in range(20):
        one = _looks(seed, **words)
        assert words.get("who") != "woman" or one.man == -1.0
        assert words.get("beard") is None or one.man == 1.0
        for name in ("cut", "glasses", "beard"):
            assert getattr(one, name) == words.get(name, getattr(one, name))


def test_a_head_wears_what_its_looks_say() -> None:
    """Glasses have rims, stubble its own skin, and a woman's head is smaller than a man's."""
    man = head_mesh(
        1, Looks(1.0, 0.0, "bald", "left", "stubble", "square"), np.random.default_rng(2)
    )
    woman = head_mesh(1, Looks(-1.0, 0.0, "bald", "left", "none", "none"), np.random.default_rng(2))

    assert {"shaven", "rims"} <= set(man.slots)
    assert "skin" not in man.slots
    assert not {"shaven", "rims"} & set(woman.slots)
    tall, short = (mesh.xyz[..., 2].max() for mesh in (man, woman))
    assert short < 0.97 * tall
