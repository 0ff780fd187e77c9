"""The head has the sizes of people, is closed, and its named places lie on it."""

from functools import cache

import numpy as np
import pytest

from render.world.things.faces import EYE_MM, PARTS_MM, face_mesh, lid_edges
from render.world.things.features import shaped, typical

#: Means of men and women, mm: Gordon et al. 1989, "1988 Anthropometric survey of US Army
#: personnel" (NATICK/TR-89/044); from the bigonial breadth on Zhuang and Bradtmiller 2005,
#: "Head-and-face anthropometric survey of U.S. respirator users", J. Occup. Environ. Hyg. 2; eyes
#: and ears Farkas 1994, "Anthropometry of the head and face".  All from memory.
_SURVEY = {
    "head breadth": (151.7, 144.4),
    "head length": (197.1, 187.2),
    "menton to sellion": (121.8, 112.8),
    "between the pupils": (64.7, 62.3),
    "bizygomatic breadth": (140.5, 131.0),
    "bigonial breadth": (120.4, 110.1),
    "nose breadth": (36.6, 33.2),
    "nose protrusion": (21.1, 19.8),
    "subnasale to sellion": (52.0, 48.2),
    "lip length": (51.1, 48.0),
    "between the eyes' outer corners": (91.2, 87.8),
    "between the eyes' inner corners": (33.3, 31.8),
    "ear length": (62.4, 58.5),
}


@cache
def _sizes(man: float = 0.0, child: float = 0.0) -> dict[str, float]:
    """Measures of the typical face, taken where they lie on a head of the middle's size."""
    features = typical(man, child)
    grown = 1 + features.size
    mesh = shaped(face_mesh(2), features)
    of_skin = mesh.slot == mesh.slots.index("skin")
    skin, uv = (
        1000 / grown * mesh.xyz[of_skin].reshape(-1, 3),
        1000 * mesh.uv[of_skin].reshape(-1, 2),
    )
    x, y, z = skin.T
    middle = np.abs(x) < 2.5
    root = skin[middle & (y < -70) & (z > -4) & (z < 20)]
    sellion = root[np.argmax(root[:, 1])]
    chin = skin[middle & (y < -78) & (z < -90)]
    menton = chin[np.argmin(chin[:, 2])]
    cheek = (np.abs(y + 30) < 15) & (z < -5) & (z > -35)
    lip = skin[middle & (z > -56) & (z < -42) & (y < -85)]
    subnasale = lip[np.argmax(lip[:, 1])]
    tip = skin[middle & (z > -45) & (z < -30), 1].min()
    corners = (np.abs(np.abs(uv[:, 0]) - 18.4) < 0.5) & (np.abs(z + 66) < 2) & (y < -80)
    slit = np.concatenate([edge[:, 0] for edge in lid_edges(1, 9)]) + features.apart_mm
    slit = slit / grown
    stands_off = (np.abs(y - 12) < 30) & (x > np.where(z > 0, 77, 65))
    found = {
        "bigonial breadth": float(np.ptp(x[(z > -72) & (z < -58) & (y < 0) & (y > -35)])),
        "nose breadth": float(np.ptp(x[(z > -46) & (z < -34) & (np.abs(x) < 24) & (y < -98.5)])),
        "nose protrusion": float(subnasale[1] - tip),
        "subnasale to sellion": float(np.linalg.norm(subnasale - sellion)),
        "lip length": 2 * float(np.abs(x[corners]).mean()),
        "between the eyes' outer corners": 2 * slit.max() + 2 * 1.2,
        "between the eyes' inner corners": 2 * slit.min() - 2 * 1.7,
        "ear length": float(np.ptp(z[stands_off])),
        "head breadth": float(np.ptp(x[z > 32])),
        "head length": float(np.ptp(y[(z > 8) & (z < 80)])),
        "menton to sellion": float(np.linalg.norm(menton - sellion)),
        "between the pupils": 2000 * dict(mesh.spots)["left eye"][0] / grown,
        "bizygomatic breadth": float(np.ptp(x[cheek])),
    }
    return {name: grown * size for name, size in found.items()}


@pytest.mark.parametrize("name", list(_SURVEY))
def test_the_head_has_the_size_of_a_person(name: str) -> None:
    """Every measure lies between the women's and the men's mean, give or take 2 %."""
    high, low = _SURVEY[name]

    assert 0.98 * low <= _sizes()[name] <= 1.02 * high


@pytest.mark.parametrize("name", list(_SURVEY))
def test_men_and_women_have_their_own_sizes(name: str) -> None:
    """Every measure of the typical man and woman is their survey's mean, give or take 2 %."""
    for man, mean in zip((1.0, -1.0), _SURVEY[name], strict=True):
        assert _sizes(man)[name] == pytest.approx(mean, rel=0.02)


def test_a_child_of_six_has_a_childs_proportions() -> None:
    """Beside a braincase nearly grown the face is short, its jaw and nose are small.

    Shares of the head's breadth, after Farkas 1994, "Anthropometry of the head and face", and
    Snyder et al. 1977, from memory: face 0.69 (0.80 of adults), nose 0.205, pupils 0.375.
    """
    child, grown = _sizes(0.0, 1.0), _sizes()
    share = {k: v / child["head breadth"] for k, v in child.items()}

    assert share["menton to sellion"] == pytest.approx(0.69, rel=0.05)
    assert share["nose breadth"] == pytest.approx(0.205, rel=0.05)
    assert share["between the pupils"] == pytest.approx(0.375, rel=0.05)
    for name in ("bigonial breadth", "nose protrusion", "lip length", "subnasale to sellion"):
        assert share[name] < 0.95 * grown[name] / grown["head breadth"]


@pytest.mark.parametrize("level", [0, 1, 2])
def test_the_skin_is_closed_but_for_the_neck(level: int) -> None:
    """Edges that belong to one face only lie at the neck's lower end."""
    mesh = face_mesh(level)
    skin = np.round(1e6 * mesh.xyz[mesh.slot == mesh.slots.index("skin")]).astype(np.int64)
    wide = 1 << 20  # um: a place and an edge are each one number, which is sorted sooner
    places = (skin.reshape(-1, 3) + wide // 2) @ np.array([wide * wide, wide, 1])
    points, number = np.unique(places, return_inverse=True)
    faces = number.reshape(-1, 3)
    faces = faces[(np.diff(np.sort(faces, axis=1)) > 0).all(axis=1)]
    edges = np.sort(np.concatenate([faces[:, [k, (k + 1) % 3]] for k in range(3)]), axis=1)
    known, count = np.unique(edges @ np.array([len(points), 1]), return_counts=True)
    odd = known[count % 2 == 1]
    heights_um = points[np.concatenate([odd // len(points), odd % len(points)])] % wide - wide // 2

    assert len(odd) > 0
    assert heights_um.max() < -0.13e6
    np.testing.assert_allclose(np.linalg.norm(mesh.normal, axis=-1), 1, atol=1e-6)


def test_named_places_lie_on_the_surface() -> None:
    """Within 4 mm of some corner of the shape, metres there and millimetres here."""
    mesh = face_mesh(2)
    corners = mesh.xyz.reshape(-1, 3)
    off = {
        name: 1000 * np.linalg.norm(corners - np.array(place), axis=1).min()
        for name, place in mesh.spots
    }

    assert set(off) == set(PARTS_MM)
    assert {name: d for name, d in off.items() if not d < 4} == {}


def test_the_eyes_are_open() -> None:
    """In front of the pupil nothing but the eyeball; lids meet the eye within 2 mm."""
    mesh = face_mesh(2)
    middle = mesh.xyz.mean(axis=1) * 1000
    near = np.hypot(middle[:, 0] - EYE_MM[0], middle[:, 2] - EYE_MM[2]) < 3
    first = middle[near & (middle[:, 1] < EYE_MM[1])]
    slot = mesh.slot[near & (middle[:, 1] < EYE_MM[1])]

    assert slot[np.argmin(first[:, 1])] == mesh.slots.index("eye")
    for edge in lid_edges(1, 9):
        away = np.linalg.norm(edge - np.array(EYE_MM), axis=1) - 12.0
        assert np.all((away > 0.5) & (away < 4))
