"""What is seen where, by name."""

from pathlib import Path
from types import SimpleNamespace
from typing import cast

import pytest

from render.judge.verdict import judge_case
from render.load.case import case_of
from render.load.prepare import prepare
from render.load.prepared import Prepared
from render.load.progress import silent
from render.optics.camera import Camera
from render.optics.solving.targets import Target
from render.shot.shot import Shot, merged
from render.tell.seen import drawn_soft, focused_name, name_of, sharp_names, shown_of, sitters_of
from tests.places import two_crates


@pytest.fixture
def crates(tmp_path: Path) -> Prepared:
    """Two crates, the near one in focus."""
    path = two_crates(tmp_path, far_m=(2, 6), tall_m=5)
    given = {"width": "240", "f": "2.8", "lens": "90"}
    shot = merged(Shot(scene=str(path)), given, "{name}")
    return prepare(shot, silent, for_render=False)


def test_what_is_sharp_is_called_by_its_name(crates: Prepared) -> None:
    """The crate in focus is named, the soft one is not; what the shot names goes first."""
    named = prepare(merged(crates.shot, {"check": ("lid=50%,45%",)}, "{name}"), silent)

    assert sharp_names(crates) == ("near crate",)
    assert sharp_names(named) == ("lid",)
    assert focused_name(crates) == "near crate"
    aside = prepare(merged(crates.shot, {"focus": "8%,90%"}, "{name}"), silent, for_render=False)
    assert focused_name(aside) == ""


def test_what_will_be_sharp_and_is_drawn_soft_is_known(crates: Prepared) -> None:
    """What is said to stand before what the depth shows there, and only that."""
    depth_m = crates.setting.focus.depth_m  # type: ignore[union-attr]
    checks = (f"pole=50%,5%, {depth_m:.3f} m", "wall=50%,5%", "near crate")
    shot = merged(crates.shot, {"tilt": "0", "check": checks}, "{name}")
    named = prepare(shot, silent, for_render=False)

    assert drawn_soft(named, case_of(named)) == ("pole",)
    shown = shown_of(named)  # a spot is a place; of a thing with a name all that shows counts
    assert list(shown) == ["near crate"]
    assert len(shown["near crate"].inverse_depth) > 12
    assert not drawn_soft(crates, case_of(crates))


def test_a_telltale_is_a_thing_or_a_place(crates: Prepared) -> None:
    """Every telltale is called something a client can find; no thirds, no commas."""
    verdict = judge_case(case_of(crates), crates.setting)
    names = [name_of(tale, crates) for tale in verdict.telltales]

    assert names
    assert all(name.startswith(("the ", "what stands ")) for name in names)
    assert not any("third" in name or "," in name for name in names)


def test_people_are_told_from_things_by_name_else_by_their_faces() -> None:
    """Parts of a face, people of the scene by name; faces in the frame where none is named."""
    scene = SimpleNamespace(frame_camera=Camera(120, 80, 100.0))
    things = {"Ann": (0, 0, 2.0), "Ann face": (0, -0.3, 2.0), "Ben face": (3.0, 0, 2.0)}

    def names(*named: str) -> list[str]:
        asked = tuple(Target(0.0, 0.0, 2.0, name=name) for name in named)
        found = sitters_of(cast(Prepared, SimpleNamespace(scene=scene, things=things, named=asked)))
        called = [person.name for person in found.people]
        return ["if", *called] if found.supposed else called

    assert names("left eye", "first pot", "the guests' Lips") == ["left eye", "the guests' Lips"]
    assert names("Ann", "pot") == ["Ann"]
    assert names("surface", "bear") == names() == ["Ann face"]
    assert names("Cleo", "Pot A", "vase") == ["if", "Cleo"]
    assert names("Cleo", "his chin") == ["his chin", "Cleo"]
