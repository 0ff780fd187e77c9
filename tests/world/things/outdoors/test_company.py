"""Who is not alone outdoors: people face each other, a dog stays on its lead, a pram has hands."""

import numpy as np
import pytest

from render.world.mesh import Mesh
from render.world.things import load_kinds
from render.world.things.kind import KINDS
from tests.world.things.shapes import check_kind

load_kinds()


def _made(name: str, seed: int = 2, **words: object) -> Mesh:
    kind = KINDS[name]
    return kind.make(kind.read(words), np.random.default_rng(seed))


def _of(mesh: Mesh, *slots: str) -> np.ndarray:
    picked = [mesh.slots.index(slot) for slot in slots if slot in mesh.slots]
    return mesh.xyz[np.isin(mesh.slot, picked)].reshape(-1, 3)


@pytest.mark.parametrize(
    "name", sorted(k for k, v in KINDS.items() if v.make.__module__.endswith(".company"))
)
def test_the_kind_can_be_made(name: str) -> None:
    """Finite triangles of known stuff, unit normals, on the ground, the same for the same seed."""
    check_kind(name)


@pytest.mark.parametrize("name", ["company", "dog walker", "pram"])
def test_it_stays_within_its_feet(name: str) -> None:
    """What is strewn beside it does not meet it: no corner lies 5 cm out of all its outlines."""
    kind = KINDS[name]
    values = kind.read({"pose": "stand"} if "pose" in kind.words else {})
    assert kind.feet is not None
    feet = kind.feet(values)
    for seed in range(4):
        corners = kind.make(values, np.random.default_rng(seed)).xyz.reshape(-1, 3)[:, :2]
        out = np.ones(len(corners), bool)
        for foot in feet:
            low, high = foot.outline_m.min(axis=0) - 0.05, foot.outline_m.max(axis=0) + 0.05
            out &= ~np.all((corners > low) & (corners < high), axis=1)
        assert not out.any(), corners[out]


def test_people_who_talk_wear_different_things() -> None:
    """The second person's top is a slot of its own, and both stand on the ground."""
    mesh = _made("company")
    first, second = _of(mesh, "top", "bottom"), _of(mesh, "top2", "bottom2")

    assert np.linalg.norm(first[:, :2].mean(axis=0) - second[:, :2].mean(axis=0)) > 0.5
    assert abs(_of(mesh, "shoe")[:, 2].min()) < 0.04


def test_a_lead_goes_from_a_hand_to_the_dog() -> None:
    """Its ends lie within 12 cm of skin and of the dog, however far the step."""
    for stride in (0.0, 0.3):
        mesh = _made("dog walker", pose="walk", stride=stride)
        lead, skin, coat = _of(mesh, "lead"), _of(mesh, "skin"), _of(mesh, "coat")

        assert min(np.linalg.norm(skin - end, axis=1).min() for end in lead) < 0.12
        assert min(np.linalg.norm(coat - end, axis=1).min() for end in lead) < 0.12


def test_a_dog_walks_on_its_own_legs() -> None:
    """Its paws have moved a quarter of a step on, and stay on the ground."""
    paws = []
    for stride in (0.0, 0.125):
        coat = _of(_made("dog walker", pose="walk", stride=stride), "coat")
        paws.append(coat[coat[:, 2] < 0.06][:, 1])
        assert abs(coat[:, 2].min()) < 0.03
    assert np.abs(np.sort(paws[0]) - np.sort(paws[1])).max() > 0.05


def test_hands_lie_on_the_handle_of_a_pram() -> None:
    """Skin within 10 cm of its bar at either side."""
    for height_m in (1.55, 1.85):
        mesh = _made("pram", height_m=height_m)
        handle = np.array([[s * 0.19, -0.42 * height_m / 1.75, 1.0] for s in (-1, 1)])
        skin = _of(mesh, "skin")

        assert all(np.linalg.norm(skin - at, axis=1).min() < 0.10 for at in handle)
