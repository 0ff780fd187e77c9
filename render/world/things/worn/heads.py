"""Heads of women, men and children with what grows on them and their glasses."""

from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from render.world.mesh import Mesh, join
from render.world.things.faces import face_mesh
from render.world.things.features import features_of, shaped
from render.world.things.hair import CUTS, PARTINGS, UNDER_M, brows_mesh, hair_mesh, lashes_mesh
from render.world.things.kind import Values, pick
from render.world.things.worn.beards import beard_mesh
from render.world.things.worn.glasses import glasses_mesh

__all__ = ["HEAD_STUFF", "HEAD_WORDS", "Looks", "head_mesh", "looks_of"]

_BEARDS = ("none", "stubble", "full")
_GLASSES = ("none", "round", "square")

#: Words of kinds whose heads are made to be looked at from near.
HEAD_WORDS: dict[str, Any] = {
    "who": pick("any", "whose proportions a near face has", "any", "woman", "man"),
    "cut": pick("any", "how the hair is worn, of people who are near", "any", *CUTS),
    "parting": pick("any", "on which side of the head hair is parted", "any", *PARTINGS),
    "beard": pick(
        "any", "a beard a day old (its skin is `shaven`), or a full one", "any", *_BEARDS
    ),
    "glasses": pick("any", "glasses of people who are near", "any", *_GLASSES),
}
#: What heads are made of beside skin and hair, by slot.
HEAD_STUFF = {"shaven": "shaven skin", "eye": "eye", "rims": "#2c2622"}

#: How often who wears what: ours, after looking at streets.
_CUT_OF = {
    "woman": (("long", 0.32), ("bob", 0.22), ("tail", 0.2), ("bun", 0.16), ("parted", 0.1)),
    "man": (("parted", 0.46), ("cropped", 0.3), ("receding", 0.16), ("bald", 0.08)),
}
_BEARD_OF = (("none", 0.6), ("stubble", 0.25), ("full", 0.15))
_GLASSES_OF = (("none", 0.72), ("square", 0.16), ("round", 0.12))
_PARTING_OF = (("left", 0.5), ("middle", 0.22), ("right", 0.28))


@dataclass(frozen=True, slots=True)
class Looks:
    """What is drawn before a face is.

    Attributes
    ----------
    man, child : float
        As `features_of` takes them.
    cut, parting, beard, glasses : str
        Values of `HEAD_WORDS` other than any.
    """

    man: float
    child: float
    cut: str
    parting: str
    beard: str
    glasses: str


def _drawn(rng: np.random.Generator, shares: tuple[tuple[str, float], ...], said: str) -> str:
    names, weights = zip(*shares, strict=True)
    one = str(rng.choice(names, p=weights))
    return one if said == "any" else said


def looks_of(v: Values, rng: np.random.Generator, child: float = 0.0) -> Looks:
    """What a file says of a head, and by chance what it leaves open.

    Long hair is more often a woman's, a beard is a man's.
    """
    chance = rng.random()
    often = 0.5 if v.cut == "any" else 0.93 if v.cut in ("long", "bob", "tail", "bun") else 0.12
    woman = v.who == "woman" or (
        v.who == "any" and v.beard not in ("stubble", "full") and chance < often
    )
    cut = _drawn(rng, _CUT_OF["woman" if woman else "man"], v.cut)
    if child > 0.0 and v.cut == "any" and cut in ("receding", "bald"):
        cut = "cropped"
    beard = _drawn(rng, _BEARD_OF, v.beard)
    if v.beard == "any" and (woman or child > 0.0):
        beard = "none"
    parting = _drawn(rng, _PARTING_OF, v.parting)
    glasses = _drawn(rng, _GLASSES_OF, v.glasses)
    if v.glasses == "any" and child > 0.5:
        glasses = "none"
    return Looks(-1.0 if woman else 1.0, child, cut, parting, beard, glasses)


def head_mesh(level: int, looks: Looks, rng: np.random.Generator) -> Mesh:
    """A head in metres, in the frame of a head (see `faces`); slots as in `HEAD_STUFF`."""
    features = features_of(rng, looks.man, looks.child)
    parts = [face_mesh(level), _darker(brows_mesh(level, features.brows))]
    if level > 1:
        parts.append(lashes_mesh())
    if looks.cut != "bald":
        parted = looks.cut in ("parted", "long")
        parts.append(hair_mesh(looks.cut, level, looks.parting if parted else "left"))
    if looks.beard == "full":
        parts.append(_darker(beard_mesh(level)))
    if looks.glasses != "none":
        parts.append(glasses_mesh(looks.glasses == "round"))
    head = shaped(join(parts), features)
    if looks.beard != "none":
        slots = tuple("shaven" if slot == "skin" else slot for slot in head.slots)
        head = replace(head, slots=slots)
    return head


def _darker(hairs: Mesh) -> Mesh:
    """Brows and beards are a little darker than the hair of the same head."""
    return replace(hairs, uv=hairs.uv - [UNDER_M, 0.0])
