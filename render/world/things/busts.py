"""A head and shoulders, close enough for a plane through the eyes alone."""

import numpy as np
from numpy.typing import NDArray

from render.world.isosurface import graded, isosurface
from render.world.mesh import Mesh, cylinder, join, moved
from render.world.things.bodies import cloth
from render.world.things.faces import face_mesh
from render.world.things.features import features_of, shaped
from render.world.things.fields import carved, egg, limb, melted, mirrored
from render.world.things.hair import CUTS, brows_mesh, hair_mesh, lashes_mesh
from render.world.things.kind import Values, kind, number, pick

__all__: list[str] = []

Floats = NDArray[np.float64]

_STUFF = {
    "skin": "skin",
    "eye": "eye",
    "hair": "hair",
    "brow": "hair",
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
    cut=pick("parted", "how the hair is worn", *CUTS),
)
def _bust(v: Values, rng: np.random.Generator) -> Mesh:
    head = [face_mesh(2), brows_mesh(2), lashes_mesh()]
    if v.cut != "bald":
        head.append(hair_mesh(v.cut, 2))
    own = shaped(join(head), features_of(rng))
    return moved(join([own, _jumper(), _collar()]), (0, 0, v.eye_m))


def _neckline(y: Floats) -> Floats:
    """Height (mm) of the line where clothes meet the neck."""
    return np.asarray(-166 + 0.40 * (y - 20))


#: Top and end of the button band, and where its buttons sit, mm.
_BAND, _BUTTONS = (-196.0, -330.0), (-208.0, -246.0, -284.0, -320.0)


def _jumper_field(p: Floats) -> Floats:
    raw = np.ascontiguousarray(p.T, np.float64)
    q = mirrored(raw)
    x, y, z = q
    d = limb(q, (16, 42, -176), (160, 36, -222), 40, 47)
    d = melted(d, egg(q, (0, 26, -370), (168, 108, 220)), 50)
    d = melted(d, limb(q, (176, 36, -230), (212, 46, -600), 49, 44), 34)
    folds = np.sin(0.085 * raw[2] + 0.045 * x + 0.6 * np.sin(0.031 * raw[0]))
    folds *= np.exp(-(((x - 150) / 60) ** 2) - ((z + 350) / 90) ** 2)
    soft = 1.4 * np.sin(0.05 * raw[0] + 0.03 * z) * np.sin(0.04 * z + 1.0)
    d = d - 3.2 * folds - soft
    around = np.hypot(x / 1.02, y - 19)
    d = carved(d, np.maximum(around - 62, -(z + 260)), 6)
    ring = np.hypot(np.maximum(np.abs(around - 66) - 3, 0), (z - _neckline(y) + 5) * 0.6) - 6.5
    rib = 0.5 * np.cos(66 * np.arctan2(raw[0], -(y - 19)))
    d = melted(d, ring - rib, 14.0)
    # the button band down the breast
    band = np.minimum(1.0, 3.0 * np.clip(1 - np.abs(raw[0]) / 15.0, 0, 1))
    band = band * np.clip((_BAND[0] - z) / 4, 0, 1) * np.clip((z - _BAND[1]) / 4, 0, 1) * (y < 0)
    return np.asarray(d - 2.4 * band)


def _jumper() -> Mesh:
    step = 5.0
    half = graded([(0, 3.0), (90, 3.0), (110, 7), (275, 8)])
    axes = (
        np.concatenate([-half[:0:-1], half]),
        graded([(-100, step), (-70, 3.5), (110, 3.5), (150, 7)]),
        graded([(-560, 14), (-230, 6), (-210, 2.6), (-110, 2.6)]),
    )
    surface = isosurface(_jumper_field, axes, step=0.8)
    p = surface.xyz
    uv = np.stack([130 * np.arctan2(p[:, 0], 60 - p[:, 1]), p[:, 2]], -1) / 1000
    parts = [surface.mesh(uv, "top")]
    for z in _BUTTONS:
        at = np.array([[0.0, -160.0, z]])
        for _ in range(12):
            at[:, 1] += np.clip(_jumper_field(at), -20, 20)
        parts.append(_button(at[0] + [0, 0.3, 0]))
    return moved(join(parts), size=0.001)


#: Half a collar's profile from the neck up over the fold and down, at back and front:
#: distance from the middle of the neck and height over the neckline, mm.
_BACK = [(57, -14), (55.5, 6), (55, 24), (56, 33), (59, 35), (62, 33), (67, 21), (72, 10)]
_FRONT = [(59, -14), (56.5, 4), (55, 18), (56.5, 26), (61, 27), (67, 24), (75, 15), (83, 5)]


def _collar() -> Mesh:
    """A shirt's collar, open at the throat, its points buttoned down."""
    turn = np.radians(np.linspace(13, 180, 60))
    s = np.linspace(0, len(_BACK) - 1, 40)
    along = np.arange(len(_BACK))
    to_front = np.exp(-((turn / 0.62) ** 2))[:, None]
    shape = [
        to_front * np.interp(s, along, [f[c] for f in _FRONT])
        + (1 - to_front) * np.interp(s, along, [b[c] for b in _BACK])
        for c in (0, 1)
    ]
    kernel = np.array([1, 2, 3, 2, 1]) / 9
    shape = [
        np.stack([np.convolve(np.pad(row, 2, mode="edge"), kernel, "valid") for row in c])
        for c in shape
    ]
    # the fall's front edge leans away from the throat
    spread = turn[:, None] + 0.34 * to_front**2 * np.clip((s - 5) / 2, 0, 1)[None]
    x, y = shape[0] * np.sin(spread), 19 - shape[0] * np.cos(spread)
    grid = np.stack([x, y, _neckline(y) + shape[1]], -1)
    uv = np.stack(np.broadcast_arrays(turn[:, None] * 60, s[None] * 8), -1) / 1000
    half = [cloth(grid, uv, "collar"), cloth(grid * [-1, 1, 1], uv * [-1, 1], "collar")]
    return moved(join(half), size=0.001)


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
