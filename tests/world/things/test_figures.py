"""What far figures wear: cloth hides striding legs, hats and packs are drawn, plain is plain."""

from collections import Counter

import numpy as np

from render.world.mesh import Mesh
from render.world.things.figures import BAGS, HAIR, PLAIN, Outfit, few_faces, outfit_of
from render.world.things.people import posed


def _of(mesh: Mesh, *slots: str) -> np.ndarray:
    picked = [mesh.slots.index(slot) for slot in slots if slot in mesh.slots]
    return mesh.xyz[np.isin(mesh.slot, picked)].reshape(-1, 3)


def _walker(worn: Outfit, stride: float = 0.0) -> Mesh:
    rng = np.random.default_rng(1)
    return few_faces(posed("walk", rng, stride), worn)


def test_skirts_dresses_and_coats_hide_striding_thighs() -> None:
    """No leg comes through the cloth above its hem, in front or behind."""
    for over, leg, cloth in (("skirt", "skin", "bottom"), ("dress", "skin", "top")):
        mesh = _walker(Outfit(over=over))
        legs, hung = _of(mesh, leg), _of(mesh, cloth)
        high = legs[(legs[:, 2] > 0.5) & (legs[:, 2] < 0.7) & (np.abs(legs[:, 0]) < 0.16)]
        low = hung[(hung[:, 2] > 0.35) & (hung[:, 2] < 0.7)]

        assert len(high) > 10
        assert high[:, 1].min() > low[:, 1].min() - 0.02
        assert high[:, 1].max() < low[:, 1].max() + 0.02


def test_a_coat_is_of_the_trousers_cloth_and_shows_what_is_under_it() -> None:
    """Its shoulders are of the slot "bottom"; of the pullover little more than the neck is seen."""
    coat = _walker(Outfit(over="coat"))
    shown = _of(coat, "top")

    assert _of(coat, "bottom")[:, 2].max() > 1.3
    assert 0 < np.ptp(shown[:, 0]) < 0.15
    assert shown[:, 1].max() < 0.0


def test_sleeves_hats_and_packs_are_where_they_belong() -> None:
    """Bare forearms, a hat above the brow, a pack behind the back."""
    plain = _walker(PLAIN)
    worn = _walker(Outfit(short=True, hat="brim", pack=True))

    assert len(_of(worn, "skin")) > len(_of(plain, "skin"))
    assert _of(worn, "hat")[:, 2].min() > _of(worn, "skin")[:, 2].max() - 0.12
    assert _of(worn, "pack")[:, 1].max() > 0.2
    assert not {"hat", "pack", "shirt"} & set(plain.slots)


def test_outfits_are_drawn_of_every_sort() -> None:
    """Of 300 people some wear each; who sits has no pack, who asks for a skirt gets one."""
    many = [outfit_of(np.random.default_rng(k), bool(k % 2), False, k % 5 == 0) for k in range(300)]
    over, hats = Counter(w.over for w in many), Counter(w.hat for w in many)

    assert set(over) == {"", "jacket", "dress", "skirt", "coat"}
    assert set(hats) == {"", "cap", "brim", "wool"}
    assert not any(w.pack for w in many[::5])
    assert all(w.over in ("dress", "skirt", "coat") for w in many[1::2])


def test_people_are_built_and_wear_their_hair_differently() -> None:
    """Stout ones are broader, women narrower at the shoulders; every sort of hair is drawn."""
    many = [outfit_of(np.random.default_rng(k), bool(k % 2), False, False) for k in range(300)]
    wide = {
        worn: np.ptp(_of(_walker(worn), "top")[:, 0])
        for worn in (PLAIN, Outfit(build=1.0), Outfit(build=-1.0), Outfit(woman=1.0))
    }
    plain, stout, slim, woman = wide.values()
    back = {hair: _of(_walker(Outfit(hair=hair)), "hair") for hair in HAIR}

    assert slim < 0.96 * plain < plain < 0.96 * stout
    assert woman < plain
    assert {worn.hair for worn in many} == set(HAIR)
    assert all(worn.hair != "bald" for worn in many[1::2])
    assert back["bald"][:, 2].max() < back["short"][:, 2].max() - 0.04
    for hung in ("long", "bob", "tail"):
        assert back[hung][:, 2].min() < back["short"][:, 2].min() - 0.03
    assert np.ptp(_of(_walker(Outfit(scarf=True)), "hat")[:, 2]) > 0.05


def test_bags_differ_and_hang_on_whoever_carries_them() -> None:
    """Four sorts, off the ground, with straps above the bag; who sits has none at the hand."""
    drawn = [outfit_of(np.random.default_rng(k), False, True, k % 2 == 0).bag for k in range(60)]
    assert set(drawn[1::2]) == set(BAGS)
    assert set(drawn[::2]) == {"shoulder"}
    plain = len(_walker(PLAIN).xyz)
    for bag in BAGS:
        more = _walker(Outfit(bag=bag)).xyz[plain:].reshape(-1, 3)
        assert more[:, 2].min() > 0.2
        assert np.ptp(more[:, 2]) > 0.38
        assert np.abs(more[:, 0]).max() < 0.33
