"""What makes one face another: width of jaw and cheeks, nose, chin, brow, length, age.

One smooth displacement of everything that belongs to a head, so that skin, hair, brows and lashes
stay where they are on each other.  Millimetres in the frame of a head (see `faces`).  How far each
goes is ours, about one standard deviation of Gordon et al. 1989 (5 to 6 % of a face's width, 3 mm
of a nose, from memory) to either side.
"""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from render.world.mesh import Mesh
from render.world.things.faces import EYE_MM

__all__ = ["Features", "features_of", "shaped"]

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Features:
    """One face beside the middle one; all zero is the middle.

    Attributes
    ----------
    jaw, cheeks, nose_wide : float
        Wider by this share.
    long_mm, nose_mm, chin_mm, brow_mm, crown_mm : float
        Longer below the eyes, standing out farther, higher above the hairline.
    nose_drop_mm, mouth_mm : float
        Tip of the nose lower, corners of the mouth lower.
    folds_mm : float
        Depth of the folds from nose to mouth and under the eyes, which come with age.
    """

    jaw: float = 0.0
    cheeks: float = 0.0
    nose_wide: float = 0.0
    long_mm: float = 0.0
    nose_mm: float = 0.0
    chin_mm: float = 0.0
    brow_mm: float = 0.0
    crown_mm: float = 0.0
    nose_drop_mm: float = 0.0
    mouth_mm: float = 0.0
    folds_mm: float = 0.0


def features_of(rng: np.random.Generator) -> Features:
    """A face by chance, from numbers of its own."""
    z = np.clip(rng.spawn(1)[0].normal(size=11), -1.7, 1.7)
    return Features(
        jaw=0.055 * z[0],
        cheeks=0.035 * z[1],
        nose_wide=0.16 * z[2],
        long_mm=3.5 * z[3],
        nose_mm=2.6 * z[4],
        chin_mm=2.6 * z[5],
        brow_mm=1.3 * z[6],
        crown_mm=3.0 * z[7],
        nose_drop_mm=2.0 * z[8],
        mouth_mm=1.6 * z[9],
        folds_mm=float(np.clip(0.7 + 0.9 * z[10], 0.0, 2.0)),
    )


def shaped(mesh: Mesh, features: Features) -> Mesh:
    """A head's mesh (metres) with these features; its named places go along."""
    corners, which = _different(1000 * mesh.xyz.reshape(-1, 3))
    moved_to = _displaced(corners, features)[which]
    normal = _turned(corners, which, mesh.normal.reshape(-1, 3), features)
    names = [name for name, _ in mesh.spots]
    at = np.array([1000 * np.array(p) for _, p in mesh.spots]).reshape(-1, 3)
    there = _displaced(at, features) / 1000
    return replace(
        mesh,
        xyz=(moved_to / 1000).reshape(mesh.xyz.shape),
        normal=normal.reshape(mesh.normal.shape),
        spots=tuple((name, tuple(p)) for name, p in zip(names, there.tolist(), strict=True)),
    )


def _bump(x: Floats, middle: float, half: float) -> Floats:
    return np.asarray(np.exp(-(((x - middle) / half) ** 2)))


def _rise(x: Floats, low: float, high: float) -> Floats:
    t = np.clip((x - low) / (high - low), 0.0, 1.0)
    return np.asarray(t * t * (3 - 2 * t))


def _displaced(p: Floats, f: Features) -> Floats:
    """Places (n, 3) where the features put them."""
    x, y, z = p.T
    a = np.abs(x)
    front = _rise(-y, -30.0, 40.0)
    nose = _rise(-y, 84.0, 96.0) * np.exp(-((x / 17.0) ** 2))
    face = _rise(-y, 40.0, 75.0)
    wide = f.jaw * _bump(z, -78, 36) * _rise(-y, -45.0, 10.0)
    wide = wide + f.cheeks * _bump(z, -28, 30) * front
    wide = wide + f.nose_wide * _bump(z, -38, 13) * _rise(-y, 84.0, 98.0) * (a < 60) * np.exp(
        -((x / 24.0) ** 2)
    )
    down = f.long_mm * _rise(-z, 12.0, 100.0) * (1 - _rise(-z, 108.0, 168.0)) * front
    down = down + f.nose_drop_mm * nose * _bump(z, -36, 14)
    down = down + f.mouth_mm * face * _bump(a, 27, 9) * _bump(z, -65, 8)
    up = f.crown_mm * _rise(z, 30.0, 90.0)
    out = f.nose_mm * nose * _bump(z, -32, 22)
    out = out + f.chin_mm * front * _bump(z, -99, 17) * np.exp(-((x / 32.0) ** 2))
    out = out + f.brow_mm * face * _bump(z, 17, 9) * np.exp(-((x / 44.0) ** 2))
    out = out - f.folds_mm * face * _folds(a, z)
    eye = np.linalg.norm(np.stack([a, y, z], -1) - EYE_MM, axis=1)
    free = _rise(eye, 15.0, 26.0)  # an eye stays round
    return np.stack([x * (1 + free * wide), y - free * out, z - free * down + free * up], -1)


def _folds(a: Floats, z: Floats) -> Floats:
    """The furrow from the nose's wing past the mouth, and the one under the eye, 0 to 1."""
    share = np.clip((-z - 36.0) / 38.0, 0.0, 1.0)
    past = 20.0 + 13.0 * share**0.8
    furrow = np.exp(-(((a - past) / 3.2) ** 2)) * _rise(-z, 32.0, 40.0) * (1 - _rise(-z, 66, 80))
    sag = np.exp(-(((z + 15.5 - 0.012 * (a - 30) ** 2) / 2.6) ** 2)) * _bump(a, 29, 12)
    return np.asarray(furrow + 0.6 * sag)


def _different(p: Floats) -> tuple[Floats, NDArray[np.int64]]:
    """Of places (n, 3), of which a mesh names each some six times, each once; and which each is."""
    order = np.lexsort(p.T)
    ordered = p[order]
    new = np.append(True, np.any(ordered[1:] != ordered[:-1], axis=1))
    which = np.empty(len(p), np.int64)
    which[order] = np.cumsum(new) - 1
    return ordered[new], which


def _turned(p: Floats, which: NDArray[np.int64], normal: Floats, f: Features) -> Floats:
    """Normals (n, 3), each of one of the places, after the displacement there.

    They turn by the inverse of its slopes, transposed.
    """
    step = 0.25
    slopes = [(_displaced(p + d, f) - _displaced(p - d, f)) / (2 * step) for d in step * np.eye(3)]
    inverse = np.linalg.inv(np.stack(slopes, axis=-1))
    turned = np.einsum("nji,nj->ni", inverse[which], normal)
    return np.asarray(turned / np.maximum(np.linalg.norm(turned, axis=1, keepdims=True), 1e-12))
