"""Beards, hair by hair on the skin of a head (see `faces`)."""

from functools import cache

import numpy as np
from numpy.typing import NDArray

from render.world.mesh import Mesh
from render.world.things.faces import face_mesh, head_field
from render.world.things.hair import combed, ribbons

__all__ = ["beard_mesh"]

Floats = NDArray[np.float64]


def _grows(p: Floats) -> Floats:
    """How densely a beard grows at points (n, 3) of the skin, mm: 0 to 1."""
    a, y, z = np.abs(p[:, 0]), p[:, 1], p[:, 2]
    # under a line from the ear to the corner of the mouth, over one round under the jaw
    line = np.interp(a, [0, 24, 34, 56, 66], [-81, -72, -57, -38, 6])
    under = np.interp(y, [-85, -40, 0], [-112, -106, -78])
    jaw = np.clip((line - z) / 7, 0, 1) * np.clip((z - under) / 9, 0, 1) * (y < 2)
    lip = (a < 27) & (y < -84) & (z > -60.5 - 0.16 * a) & (z < -44 - 0.1 * a)
    beside = (a > 22) & (a < 33) & (z < -56) & (z > -84) & (y < -70)  # from the lip to the chin
    return np.asarray(np.maximum(np.maximum(jaw, lip * np.clip(a / 3, 0.3, 1)), 0.8 * beside))


@cache
def beard_mesh(level: int) -> Mesh:
    """A short full beard in metres, slot hair; fewer and broader hairs at level 1."""
    rng = np.random.default_rng(11 + level)
    face = face_mesh(level)
    skin = 1000 * face.xyz[face.slot == face.slots.index("skin")]
    size = np.linalg.norm(np.cross(skin[:, 1] - skin[:, 0], skin[:, 2] - skin[:, 0]), axis=1)
    weight = size * _grows(skin.mean(axis=1))
    count = (0, 2400, 9500)[level]
    at = skin[rng.choice(len(skin), count, p=weight / weight.sum())]
    b, c = np.sort(rng.random((2, count)), axis=0)
    root = np.einsum("nk,nkc->nc", np.stack([b, c - b, 1 - c], -1), at)
    x, y, z = root.T
    lip = np.clip((z + 66) / 6, 0, 1) * (np.abs(x) < 30) * (y < -80)  # a moustache parts
    way = np.stack([(0.25 + 0.8 * lip) * np.sign(x), 0.1 - 0.5 * (z < -84), -0.9 + 0 * x], -1)
    way += rng.normal(0, 0.22, way.shape)
    reach = rng.uniform(5, 11, count) * (1 - 0.5 * lip)
    stands = 1.0 + 1.6 * np.clip((-z - 70) / 30, 0, 1)
    lift = np.array([-0.4, 0.9, 1.9, 2.4])
    path, normal = combed(lambda q: head_field(q, level), root, way, lift, reach, 4)
    path = (
        path
        + (normal * (stands * rng.uniform(0, 1.2, count))[:, None, None])
        * np.linspace(0, 1, 4)[:, None]
    )
    width = rng.uniform(0.6, 1.0, count) * (0, 1.5, 0.38)[level]
    return ribbons(path, normal, width, "hair", rng.uniform(0, 3.0, count), (0, 0.25, 0.6)[level])
