"""Fronts of houses: doors one can walk through, signs, and neighbours that differ."""

import numpy as np
import pytest

from render.world.mesh import Mesh, join
from render.world.things import load_kinds
from render.world.things.houses.fronts import Style, facade, style_of
from render.world.things.kind import KINDS

load_kinds()

_PLAIN = Style(
    framed=False, banded=False, boxed=0.0, hung=False, quoined=False, corniced=False, blinds=0.0
)


def _front(style: Style = _PLAIN, seed: int = 3, **words: object) -> Mesh:
    v = KINDS["house"].read(words)
    rng = np.random.default_rng(seed)
    return join(facade(v, style, (0.0, 0.0), (9.0, 0.0), 9.0, front=True, rng=rng))


def _of(mesh: Mesh, slot: str) -> np.ndarray:
    return mesh.xyz[np.array(mesh.slots)[mesh.slot] == slot]


@pytest.mark.parametrize("shop", [False, True])
def test_a_door_is_as_wide_as_a_person_needs(shop: bool) -> None:
    """Its leaf is about a metre wide and 1.8 to 2.3 m high, a shop's too."""
    leaf = _of(_front(shop=shop), "door")
    low = leaf[leaf[..., 2].max(axis=1) < 2.4]

    assert 0.9 < np.ptp(low[..., 0]) < 1.3
    assert 1.7 < np.ptp(low[..., 2]) < 2.4


def test_what_hangs_out_over_a_pavement_hangs_above_heads() -> None:
    """Signs and boxes of flowers reach no lower than 2.4 m where they reach out over 20 cm."""
    style = Style(
        framed=True, banded=True, boxed=1.0, hung=True, quoined=True, corniced=True, blinds=1.0
    )
    mesh = _front(style, shop=True)
    out = mesh.xyz[(mesh.xyz[..., 1] < -0.2).any(axis=1)]
    steps = out[..., 2].max(axis=1) < 0.2

    assert len(out[~steps]) > 0
    assert out[~steps][..., 2].min() > 2.4


def test_neighbours_differ_and_a_house_stays_the_same() -> None:
    """Of twenty houses each trait is had by some; a seed gives the same front again."""
    v = KINDS["house"].read({"shop": True})
    styles = [style_of(v, np.random.default_rng(seed)) for seed in range(20)]

    for trait in ("framed", "banded", "boxed", "hung", "headed", "wired"):
        assert 2 < sum(bool(getattr(s, trait)) for s in styles) < 18
    for drawn in ([s.glazing for s in styles], [s.sign for s in styles], [s.trade for s in styles]):
        assert len(set(drawn)) >= 4
    np.testing.assert_array_equal(_front(seed=5).xyz, _front(seed=5).xyz)


def test_leaves_of_shutters_stand_over_no_pavement() -> None:
    """On the ground floor they lie back against the wall; above, some are shut or half shut."""
    out = [_of(_front(seed=s, shutters=True), "shutter") for s in range(8)]
    low = np.concatenate([leaf[leaf[..., 2].max(axis=1) < 2.6] for leaf in out])
    high = np.concatenate([leaf[leaf[..., 2].min(axis=1) > 3.0] for leaf in out])

    assert low[..., 1].min() > -0.2
    assert high[..., 1].min() < -0.3
