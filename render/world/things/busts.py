"""A head and shoulders, close enough for a plane through the eyes alone."""

from dataclasses import replace
from functools import cache

import numpy as np
from numpy.typing import NDArray

from render.world.isosurface import graded, isosurface
from render.world.mesh import Mesh, cylinder, join, moved
from render.world.things.fields import Fold, carved, creased, egg, limb, melted, mirrored
from render.world.things.kind import Values, kind, number
from render.world.things.worn.collars import collar_mesh, neckline_mm
from render.world.things.worn.heads import HEAD_STUFF, HEAD_WORDS, head_mesh, looks_of

__all__: list[str] = []

Floats = NDArray[np.float64]

_STUFF = {
    "skin": "clear skin",
    "hair": "hair",
    **HEAD_STUFF,
    "lash": "#20160f",
    "top": "knitwear",
    "collar": "shirt",
    "button": "button",
    "hole": "black plastic",
}


@kind(
    "bust",
    "A head and shoulders at real size, facing -y, made to be looked at from near.",
    stuff=_STUFF,
    eye_m=number(1.2, "height of the eyes above its place", 0.3, 3.0),
    **HEAD_WORDS,
)
def _bust(v: Values, rng: np.random.Generator) -> Mesh:
    face, chance = rng.spawn(2)
    head = head_mesh(2, looks_of(v, chance), face)
    return moved(join([head, _jumper(), collar_mesh()]), (0, 0, v.eye_m))


#: Top and end of the button band, and where its buttons sit, mm.
_BAND, _BUTTONS = (-196.0, -330.0), (-208.0, -246.0, -284.0, -320.0)


def _jumper_field(p: Floats) -> Floats:
    raw: Floats = np.ascontiguousarray(p.T, np.float32)
    q = mirrored(raw)
    x, y, z = q
    d = limb(q, (16, 42, -176), (152, 38, -240), 42, 44)
    d = melted(d, egg(q, (0, 26, -370), (160, 108, 220)), 50)
    d = melted(d, limb(q, (166, 38, -254), (206, 48, -600), 47, 45), 26)
    d = _folded(raw, d)
    around = np.hypot(x / 1.02, y - 19)
    d = carved(d, np.maximum(around - 62, -(z + 260)), 6)
    ring = np.hypot(np.maximum(np.abs(around - 66) - 3, 0), (z - neckline_mm(y) + 5) * 0.6) - 6.5
    rib = 0.3 * np.cos(66 * np.arctan2(raw[0], -(y - 19)))
    d = melted(d, ring - rib, 14.0)
    # the button band down the breast
    band = np.minimum(1.0, 3.0 * np.clip(1 - np.abs(raw[0]) / 15.0, 0, 1))
    band = band * np.clip((_BAND[0] - z) / 4, 0, 1) * np.clip((z - _BAND[1]) / 4, 0, 1) * (y < 0)
    return np.asarray(d - 2.4 * band)


#: Folds of the jumper: from, to, height and width, mm; fans from the armpits over the breast and
#: down the sleeves, slack lines over the belly, none the mirror of another.
_FOLDS: list[Fold] = [
    (np.array(a, float), np.array(b, float), high, wide)
    for a, b, high, wide in (
        ((150, -36, -318), (58, -86, -262), 5.0, 15),
        ((146, -40, -350), (40, -92, -330), 4.6, 17),
        ((142, -40, -384), (66, -84, -420), 5.2, 17),
        ((-152, -34, -312), (-74, -80, -250), 4.6, 14),
        ((-148, -38, -340), (-48, -92, -308), 5.2, 16),
        ((-144, -40, -372), (-52, -90, -392), 4.4, 17),
        ((-138, -44, -410), (-80, -78, -460), 5.0, 18),
        ((168, -6, -300), (236, 0, -352), 5.0, 13),
        ((166, -4, -338), (240, 4, -404), 5.6, 14),
        ((176, 0, -388), (246, 24, -446), 5.0, 15),
        ((182, 0, -440), (252, 40, -508), 5.8, 16),
        ((-164, -6, -292), (-232, 0, -332), 5.4, 13),
        ((-166, -4, -326), (-242, 8, -378), 4.8, 14),
        ((-174, 0, -372), (-246, 24, -438), 5.8, 15),
        ((-184, 0, -430), (-254, 44, -484), 5.0, 16),
        ((-186, 4, -480), (-250, 20, -540), 5.4, 16),
        ((96, -76, -470), (-20, -90, -500), 5.0, 19),
        ((20, -90, -448), (-88, -78, -480), 4.2, 18),
    )
]


def _folded(raw: Floats, d: Floats) -> Floats:
    """The field with its folds, and the set-in sleeve's seam: a cord with a hollow either side."""
    out = creased(d, raw, _FOLDS, 26)
    near = np.flatnonzero(np.abs(d) < 26)
    p = raw[:, near]
    seam = np.abs(p[0]) - 158 - 0.16 * np.maximum(p[2] + 300, -60) + 0.0022 * (p[1] - 38) ** 2
    above = np.clip((p[2] + 345) / 30, 0, 1)
    out[near] -= above * (1.5 * np.exp(-((seam / 2.6) ** 2)) - 1.6 * np.exp(-((seam / 9.0) ** 2)))
    return out


def _woven(p: Floats) -> Floats:
    """Where stitches lie (mm): across and down the body, round and along the sleeves."""
    x, y, z = p[..., 0], p[..., 1], p[..., 2]
    side = np.sign(x)
    body = np.stack([x + 26 * np.tanh(x / 60) * (y + 80) / 60, z - 0.85 * np.abs(y - 40)], -1)
    along = (np.abs(x) - 166) * 0.115 - (z + 254) * 0.993
    middle = 38 + 0.03 * along
    sleeve = np.stack([500 * side + 52 * np.arctan2(y - middle, np.abs(x) - 166 - 0.115 * along),
                       1000 - along], -1)  # fmt: skip
    one = np.abs(x).mean(axis=-1, keepdims=True) > 158 + 0.16 * np.maximum(
        z.mean(axis=-1, keepdims=True) + 300, -60
    )
    return np.asarray(np.where(one[..., None], sleeve, body))


@cache
def _jumper() -> Mesh:
    step = 5.0
    half = graded([(0, 3.0), (90, 3.0), (110, 7), (275, 8)])
    axes = (
        np.concatenate([-half[:0:-1], half]),
        graded([(-100, step), (-70, 3.5), (110, 3.5), (150, 7)]),
        graded([(-560, 9), (-230, 5), (-210, 2.6), (-110, 2.6)]),
    )
    surface = isosurface(_jumper_field, axes, step=0.8)
    mesh = surface.mesh(np.zeros((len(surface.xyz), 2)), "top")
    parts = [replace(mesh, uv=_woven(mesh.xyz) / 1000)]
    for z in _BUTTONS:
        at = np.array([[0.0, -160.0, z]])
        for _ in range(12):
            at[:, 1] += np.clip(_jumper_field(at), -20, 20)
        parts.append(_button(at[0] + [0, 0.3, 0]))
    return moved(join(parts), size=0.001)


def _button(at: Floats) -> Mesh:
    disc = join(
        [cylinder(5.0, 1.6, "button", sides=28, top_radius=4.6)]
        + [
            cylinder(0.7, 1.75, "hole", (1.4 * i, 1.4 * j, 0), sides=10)
            for i in (1, -1)
            for j in (1, -1)
        ]
    )
    ahead = np.array([[1.0, 0, 0], [0, 0, -1.0], [0, 1.0, 0]])
    return moved(disc, at.tolist(), matrix=ahead)
