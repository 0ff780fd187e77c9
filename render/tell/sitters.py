"""Who of a prepared shot is alive and may move."""

import re

from render.load.prepared import Prepared
from render.optics.solving.targets import Target

__all__ = ["sitters_of"]

_FACE = "face"
#: Words by which people and parts of their faces are called, in the singular.
_PEOPLE = frozenset(
    (
        *("face", "eye", "eyelash", "eyebrow", "brow", "nose", "mouth", "lip", "chin", "cheek"),
        *("ear", "forehead", "head", "hair", "hand", "person", "people", "man", "men", "woman"),
        *("women", "boy", "girl", "child", "children", "kid", "baby", "sitter", "portrait"),
        *("bride", "groom", "couple", "guest", "dancer", "player", "singer", "speaker", "worker"),
        *("walker", "mother", "father", "sister", "brother", "daughter", "son", "friend"),
    )
)


def sitters_of(prepared: Prepared) -> tuple[Target, ...]:
    """The people that a shot names, or whose faces it names; else the faces that a scene shows."""
    things = prepared.things or {}
    named = tuple(
        thing for thing in prepared.named if _alive(thing.name) or f"{thing.name} {_FACE}" in things
    )
    if named:
        return named
    camera = prepared.scene.frame_camera
    return tuple(
        Target(x / z, y / z, z, name=name)
        for name, (x, y, z) in things.items()
        if name.split()[-1] == _FACE and z > 0 and camera.shows(x / z, y / z)
    )


def _alive(name: str) -> bool:
    words = re.findall(r"[a-z]+", name.lower())
    return any(word in _PEOPLE or word.removesuffix("s") in _PEOPLE for word in words)
