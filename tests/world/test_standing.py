"""Nothing stands inside another: what is strewn keeps clear, and so do the shipped scenes."""

import re
from importlib.resources import files

import numpy as np
import pytest

from render.load.scenes import load_scene
from render.world.standing import inside
from tests.world.insides import things_inside, things_sunk
from tests.world.worlds import described

_SCENES = sorted(
    entry.name.removesuffix(".toml")
    for entry in files("render.shipped").iterdir()
    if entry.name.endswith(".toml")
)
#: Someone sits on the bench.
_MEANT = {("corner", "bench", "person")}
_SQUARE = [[0, 0], [12, 0], [12, 12], [0, 12]]


@pytest.mark.parametrize("scene", _SCENES)
def test_nothing_stands_inside_another_nor_walks_through_it(scene: str) -> None:
    """No thing of a shipped scene reaches more than 5 cm into another, by their faces.

    At first and at a later moment, when whoever waits at the crossing has gone; nor is anything
    sunk into the pavement it stands on.
    """
    made = load_scene(scene)
    found = [
        one
        for one in things_inside(made, 0.0, 27.3)
        if (scene, _kind(one.what), _kind(one.into)) not in _MEANT
    ]

    assert found == []
    assert list(things_sunk(made, 0.0, 27.3)) == []


def _kind(called: str) -> str:
    """The kind in "name (kind)", or the kind itself."""
    named = re.search(r"\((.+)\)$", called)
    return named[1] if named else called


def test_the_measure_finds_who_stands_in_a_container() -> None:
    """A person half a metre inside its wall is found, one beside it is not."""
    box = {"kind": "container", "at_m": [0, 0]}
    inner, outer = ({"kind": "person", "at_m": [x, 0], "pose": "stand"} for x in (0.8, 1.7))

    found = list(things_inside(described([box, inner]), 0.0))
    assert {(one.what, one.into) for one in found} == {("person", "container")}
    assert not list(things_inside(described([box, outer]), 0.0))


def test_the_measure_finds_who_walks_through_a_wall() -> None:
    """At the moment when he is in it, and at no other."""
    wall = {"kind": "box", "at_m": [0, 0], "size_m": [4, 1.4, 3]}
    walker = {"kind": "person", "moves": {"path_m": [[0, -10], [0, 10]], "speed_m_s": 1}}
    scene = described([wall, walker])

    assert not list(things_inside(scene, 3.0, 17.0))
    assert {(one.what, one.into) for one in things_inside(scene, 10.0)} == {("person", "box")}


@pytest.mark.parametrize("late", [False, True])
def test_what_is_strewn_keeps_clear_of_what_stands(late: bool) -> None:
    """Of a container turned askew, wherever the file says it, and of a walker's whole way."""
    box = {"kind": "container", "at_m": [6, 6], "turn_deg": 30}
    walker = {"kind": "person", "moves": {"path_m": [[0, 2], [12, 2]]}}
    crowd = {"kind": "person", "scatter": {"outline_m": _SQUARE, "count": 80, "apart_m": 0.6}}
    things = [crowd, box, walker] if late else [box, walker, crowd]
    made = described(things)
    spots = np.array(next(t for t in made.things if len(t.places) > 1).places)[:, :2]

    assert not any(inside(p - [6, 6], _turned(30)) for p in spots)
    assert np.abs(spots[:, 1] - 2).min() > 0.27
    assert len(spots) == 80


def _turned(degrees: float) -> np.ndarray:
    a = np.radians(degrees)
    corners = np.array([(-1.22, -3.03), (1.22, -3.03), (1.22, 3.03), (-1.22, 3.03)])
    return corners @ np.array([[np.cos(a), np.sin(a)], [-np.sin(a), np.cos(a)]])


def test_others_stay_where_they_were_strewn() -> None:
    """Only who would stand in the way is put elsewhere."""
    crowd = {"kind": "person", "scatter": {"outline_m": _SQUARE, "count": 40}}
    alone = np.array(described([crowd]).things[0].places)
    table = {"kind": "cafe table", "at_m": [6, 6]}
    beside = np.array(described([crowd, table]).things[0].places)

    stayed = np.all(alone == beside, axis=1)
    assert stayed.mean() > 0.8
    assert np.all(np.hypot(*(alone[~stayed, :2] - 6).T) < 1.0 + 0.28)
    assert np.all(np.hypot(*(beside[:, :2] - 6).T) > 1.0)


def test_what_stands_above_or_below_is_not_in_the_way() -> None:
    """People may stand under a roof and on a quay."""
    roof = {"kind": "box", "size_m": [12, 12, 0.2], "at_m": [6, 6, 3]}
    quay = {"kind": "box", "size_m": [12, 12, 2], "at_m": [6, 6, -2]}
    crowd = {"kind": "person", "scatter": {"outline_m": _SQUARE, "count": 20}}

    assert len(described([roof, quay, crowd]).things[2].places) == 20


def test_whoever_stands_on_a_pavement_is_not_sunk_into_it() -> None:
    """Lifted unless the file gives a height, or the way leaves the pavement; houses stay."""
    slab = {"kind": "area", "at_m": [1, 0], "turn_deg": 90, "lift_m": 0.13,
            "outline_m": [[0, 0], [4, 0], [4, 8], [0, 8]]}  # fmt: skip
    upon, off = {"kind": "person", "at_m": [-5, 2]}, {"kind": "person", "at_m": [2, 2]}
    walks, leaves = ({**upon, "moves": {"path_m": [[-5, 2], [x, 2]]}} for x in (0, 2))
    given, house = {**upon, "at_m": [-5, 2, 0.05]}, {"kind": "house", "at_m": [-5, 2]}
    things = described([upon, off, walks, leaves, given, house, slab]).things

    assert [t.places[0][2] for t in things] == [0.13, 0, 0.13, 0, 0.05, 0, 0]


def test_whoever_strolls_has_a_free_way() -> None:
    """Within the outline, clear of what stands and of all other ways; some find none and stand."""
    box = {"kind": "container", "at_m": [6, 6], "turn_deg": 30}
    strewn = {"outline_m": _SQUARE, "count": 30, "apart_m": 0.8, "stroll_m": 4}
    scene = described([box, {"kind": "person", "scatter": strewn}])
    strolls = scene.things[1].strolls
    ways = [
        np.linspace(*np.array(w.path_m), 60) if w else np.array(p)[None, :2]
        for w, p in zip(strolls, scene.things[1].places, strict=True)
    ]
    free = [
        np.hypot(*(a[:, None] - b).transpose(2, 0, 1)).min()
        for i, a in enumerate(ways)
        for b in ways[:i]
    ]

    assert sum(w is not None for w in strolls) > 5
    assert min(free) > 0.54
    assert all(inside(p, np.array(_SQUARE, float)) for way in ways for p in way)
    assert not any(inside(p - [6, 6], _turned(30)) for way in ways for p in way)
    assert not list(things_inside(scene, 0.0, 2.0, 5.0))
