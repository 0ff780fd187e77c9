"""People: far ones are cheap, near ones have the sizes of people, a face and whole clothes."""

from functools import cache

import numpy as np
import pytest

from render.world.mesh import Mesh
from render.world.things import load_kinds
from render.world.things.kind import KINDS
from tests.world.things.shapes import check_kind

load_kinds()

POSES = ("stand", "walk", "run", "sit", "work", "wave")


@cache
def _person(seed: int = 1, **words: object) -> Mesh:
    kind = KINDS["person"]
    return kind.make(kind.read({"height_m": 1.75, **words}), np.random.default_rng(seed))


def _of(mesh: Mesh, slot: str) -> np.ndarray:
    return mesh.xyz[mesh.slot == mesh.slots.index(slot)].reshape(-1, 3)


@pytest.mark.parametrize(
    "name", sorted(k for k, v in KINDS.items() if v.make.__module__.endswith(".people"))
)
def test_the_kind_can_be_made(name: str) -> None:
    """Finite triangles of known stuff, unit normals, on the ground, the same for the same seed."""
    check_kind(name)


def test_far_people_wear_their_top_over_their_trousers_and_have_sloping_shoulders() -> None:
    """At the hips the top is wider than the trousers; at the arms it is below the neck."""
    mesh = _person(pose="stand", plain=True)
    top, bottom = _of(mesh, "top"), _of(mesh, "bottom")
    hips = bottom[bottom[:, 2] > bottom[:, 2].max() - 0.1]
    round_hips = top[(top[:, 2] < hips[:, 2].max()) & (np.abs(top[:, 0]) < 0.2)]
    out = np.abs(top[:, 0])

    assert np.all(np.abs(hips[:, :2]).max(axis=0) < np.abs(round_hips[:, :2]).max(axis=0))
    assert top[out < 0.07][:, 2].max() - top[out > 0.2][:, 2].max() > 0.06


@pytest.mark.parametrize("pose", POSES)
def test_near_people_are_whole_in_every_pose(pose: str) -> None:
    """Nothing is NaN, normals have length 1, and shoes stand on the ground."""
    mesh = _person(pose=pose, near=True)

    assert np.all(np.isfinite(mesh.xyz))
    np.testing.assert_allclose(np.linalg.norm(mesh.normal, axis=-1), 1, atol=1e-6)
    assert abs(_of(mesh, "shoe")[:, 2].min()) < 0.04
    assert {"face", "left eye", "right ear"} <= {name for name, _ in mesh.spots}


def test_a_back_reaches_out_to_arms_that_work_before_it() -> None:
    """Beside the arm there is no hollow between shoulder and waist: shoulders are no balls."""
    top = _of(_person(pose="work", near=True, cut="bald"), "top")
    beside = top[np.abs(np.abs(top[:, 0]) - 0.17) < 0.01]
    back = [beside[np.abs(beside[:, 2] - z) < 0.02][:, 1].max() for z in (1.15, 1.25, 1.3, 1.35)]

    assert np.ptp(back) < 0.02


def test_near_people_have_the_sizes_of_people() -> None:
    """Height with hair, eye height, foot and hand: from women's means to men's, 3 % more or less.

    Means of women and men scaled to a stature of 1.75 m; Gordon et al. 1989, "1988
    Anthropometric survey of US Army personnel" (NATICK/TR-89/044), from memory: stature 1.629 and
    1.756, eye height 1.517 and 1.634, foot 0.244 and 0.270, hand 0.180 and 0.194 m.
    """
    mesh = _person(pose="stand", near=True, cut="cropped")
    spots = dict(mesh.spots)
    shoe = _of(mesh, "shoe")
    left = shoe[shoe[:, 0] > 0]

    assert 1.75 < mesh.xyz[..., 2].max() < 1.79
    assert 0.97 * 1.629 < spots["left eye"][2] < 1.03 * 1.634
    assert 0.244 * 1.75 / 1.629 < np.ptp(left[:, 1]) < 1.12 * 0.270  # a shoe, not a foot
    assert spots["left eye"][0] > spots["right eye"][0]


def test_people_look_where_they_are_told() -> None:
    """With the head turned to its left the nose points to +x, and the same seed's body stays."""
    ahead, aside = _person(near=True, pose="stand"), _person(near=True, pose="stand", look_deg=60)
    nose, face = dict(aside.spots)["nose"], dict(aside.spots)["left ear"]

    assert nose[0] > 0.05
    assert face[1] > 0.03
    np.testing.assert_array_equal(_of(ahead, "shoe"), _of(aside, "shoe"))


def test_far_people_stay_cheap() -> None:
    """A crowd's figure has fewer than 3,500 faces, with or without a skirt and a bag."""
    for seed in range(6):
        assert len(_person(seed, bag=True, skirt=True).xyz) < 3500


def test_plain_people_carry_nothing() -> None:
    """Players, bathers and skiers have neither skirt nor bag, whoever they are drawn as."""
    slots = [set(_person(seed, plain=True).slots) for seed in range(12)]
    others = [set(_person(seed).slots) for seed in range(12)]

    assert not any({"bag", "pack", "shirt"} & found for found in slots)
    assert any({"bag", "pack", "shirt"} & found for found in others)


@pytest.mark.parametrize("near", [False, True])
def test_a_walker_puts_one_foot_before_the_other(near: bool) -> None:
    """Half of two steps on, left and right have changed places; a foot is always on the ground."""
    person = KINDS["person"]
    assert person.gait is not None
    values = person.read({"near": near, "pose": "walk", "plain": True, "height_m": 1.75})
    made = {}
    for share in (0.0, 0.25, 0.5, 0.75):
        mesh = person.make(person.gait.values(values, share), np.random.default_rng(3))
        made[share] = mesh.xyz[mesh.slot == mesh.slots.index("shoe")].reshape(-1, 3)
        assert abs(mesh.xyz[..., 2].min()) < 0.03
    ahead = {
        share: feet[feet[:, 0] > 0][:, 1].mean() - feet[feet[:, 0] < 0][:, 1].mean()
        for share, feet in made.items()
    }

    assert ahead[0.0] < -0.4 < 0.4 < ahead[0.5]
    assert abs(ahead[0.25]) < 0.45
    assert person.gait.length_m(values) == pytest.approx(1.39, abs=0.05)


def test_shorts_bare_the_leg_from_above_the_knee_to_the_foot() -> None:
    """Skin hides the trousers below the hem; without shorts none is seen below the hands."""
    bare = _of(_person(pose="stand", shorts=True), "skin")
    cloth = _of(_person(pose="stand", shorts=False), "skin")

    assert bare[:, 2].min() < 0.15
    assert cloth[:, 2].min() > 0.5


@pytest.mark.parametrize("near", [False, True])
def test_children_have_large_heads_and_short_legs(near: bool) -> None:
    """Crowns stay at their height; at 1.15 m a head is a sixth of it, a grown-up's an eighth.

    Snyder et al. 1977, "Anthropometry of infants, children, and youths to age 18", from memory:
    19.4 cm from chin to crown at 1.15 m, 22.5 at 1.75 m; legs 45 and 48 % of the height.
    """
    child, grown = (
        _person(pose="stand", plain=True, near=near, cut="cropped", height_m=h)
        for h in (1.15, 1.75)
    )
    crown = [m.xyz[..., 2].max() / h for m, h in ((child, 1.15), (grown, 1.75))]
    wide = [np.ptp(_of(m, "hair")[:, 0]) / h for m, h in ((child, 1.15), (grown, 1.75))]
    hips = [_of(m, "bottom")[:, 2].max() / h for m, h in ((child, 1.15), (grown, 1.75))]

    assert crown[0] == pytest.approx(crown[1], abs=0.02)
    assert wide[0] / wide[1] == pytest.approx((0.194 / 1.15) / (0.225 / 1.75), rel=0.04)
    assert hips[0] / hips[1] == pytest.approx(0.45 / 0.48, abs=0.03)


def test_a_short_legged_walker_takes_short_steps() -> None:
    """Two steps of a child are as long as its feet are apart, twice over, so none slides."""
    person = KINDS["person"]
    assert person.gait is not None
    values = person.read({"pose": "walk", "plain": True, "height_m": 1.15})
    mesh = person.make(person.gait.values(values, 0.0), np.random.default_rng(3))
    shoe = _of(mesh, "shoe")
    apart = shoe[shoe[:, 0] < 0][:, 1].mean() - shoe[shoe[:, 0] > 0][:, 1].mean()
    grown = person.read({"pose": "walk", "plain": True, "height_m": 1.75})

    assert person.gait.length_m(values) < 0.97 * 1.15 / 1.75 * person.gait.length_m(grown)
    assert person.gait.length_m(values) == pytest.approx(2 * apart, rel=0.12)


def test_an_apron_hangs_before_the_body() -> None:
    """Its cloth reaches from the breast to above the knees, in front of the top."""
    mesh = _person(pose="work", near=True, apron=True, cut="bald")
    bib, top = _of(mesh, "bib"), _of(mesh, "top")
    middle = np.abs(bib[:, 0]) < 0.05
    waist = np.abs(bib[:, 2] - 1.15) < 0.03
    before = top[(np.abs(top[:, 0]) < 0.05) & (np.abs(top[:, 2] - 1.15) < 0.03)][:, 1].min()

    assert bib[middle & (bib[:, 1] < 0)][:, 2].min() < 0.62
    assert bib[:, 2].max() > 1.35
    assert bib[middle & waist][:, 1].min() < before
