"""Who may move before the lens."""

from types import SimpleNamespace

from render.optics.camera import Camera
from render.optics.solving.targets import Target
from render.tell.sitters import sitters_of


def test_people_are_told_from_things_by_name_else_by_their_faces():
    """Parts of a face, people of the scene by name; faces in the frame where none is named."""
    scene = SimpleNamespace(frame_camera=Camera(120, 80, 100.0))
    things = {"Ann": (0, 0, 2.0), "Ann face": (0, -0.3, 2.0), "Ben face": (3.0, 0, 2.0)}

    def names(*named: str) -> list[str]:
        asked = tuple(Target(0.0, 0.0, 2.0, name=name) for name in named)
        found = sitters_of(SimpleNamespace(scene=scene, things=things, named=asked))
        return [person.name for person in found]

    assert names("left eye", "first pot", "the guests' Lips") == ["left eye", "the guests' Lips"]
    assert names("Ann", "pot") == ["Ann"]
    assert names("surface", "bear") == names() == ["Ann face"]
