"""What makes one face another: jaw, cheeks, nose, chin, brow, lids, lips, length, age, askew.

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
    lid_mm, slant_mm : float
        Edge of the upper lid lower, outer corners of the eyes higher.
    lips, mouth_wide, ears : float
        Lips higher, mouth wider, ears larger by this share.
    hump_mm, lift_mm : float
        Bridge of the nose standing out, eyebrows higher.
    askew_mm : float
        How far nose, a brow and a corner of the mouth are from where the other side has them.
    brows : int
        Which shape of eyebrows `hair.brows_mesh` makes.
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
    lid_mm: float = 0.0
    slant_mm: float = 0.0
    lips: float = 0.0
    mouth_wide: float = 0.0
    ears: float = 0.0
    hump_mm: float = 0.0
    lift_mm: float = 0.0
    askew_mm: float = 0.0
    brows: int = 0


def features_of(rng: np.random.Generator) -> Features:
    """A face by chance, from numbers of its own."""
    own = rng.spawn(1)[0]
    z = np.clip(own.normal(size=19), -1.7, 1.7)
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
        lid_mm=0.3 + 0.7 * z[11],
        slant_mm=1.0 * z[12],
        lips=0.16 * z[13],
        mouth_wide=0.06 * z[14],
        ears=0.06 * z[15],
        hump_mm=1.3 * z[16],
        lift_mm=1.6 * z[17],
        askew_mm=0.8 * z[18],
        brows=int(own.integers(6)),
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
    mouth = face * _bump(a, 0, 34) * _bump(z, -66, 13)
    wide = wide + f.mouth_wide * mouth
    wide = wide + f.nose_wide * _bump(z, -33, 13) * _rise(-y, 84.0, 98.0) * (a < 60) * np.exp(
        -((x / 24.0) ** 2)
    )
    down = f.long_mm * _rise(-z, 12.0, 100.0) * (1 - _rise(-z, 108.0, 168.0)) * front
    down = down + f.nose_drop_mm * nose * _bump(z, -31, 14)
    down = down + f.mouth_mm * face * _bump(a, 27, 9) * _bump(z, -65, 8)
    up = f.crown_mm * _rise(z, 30.0, 90.0)
    up = up + f.lift_mm * face * _bump(z, 20, 10) * _bump(a, 30, 30)
    up = up + f.lips * (z + 66.2) * mouth
    out = f.nose_mm * nose * _bump(z, -29, 21)
    out = out + f.hump_mm * nose * _bump(z, -11, 10)
    out = out + f.chin_mm * front * _bump(z, -99, 17) * np.exp(-((x / 32.0) ** 2))
    out = out + f.brow_mm * face * _bump(z, 17, 9) * np.exp(-((x / 44.0) ** 2))
    out = out - f.folds_mm * face * _folds(a, z)
    aside = f.askew_mm * nose * _bump(z, -31, 26)
    aslant = np.tanh(x / 25.0) * face * (_bump(z, 18, 10) - 0.8 * _bump(z, -66, 12))
    up = up + f.askew_mm * aslant
    ear = _rise(a, 62.0, 76.0) * _bump(y, 10.0, 34.0) * _bump(z, -8.0, 34.0) * f.ears
    eye = np.stack([a, y, z], -1) - EYE_MM
    free = _rise(np.linalg.norm(eye, axis=1), 15.0, 26.0)  # an eye stays round
    x, y, z = (p + _lids(eye, x, f)).T
    return np.stack(
        [
            x * (1 + free * wide) + free * aside,
            y - free * out + ear * (y - 2.0),
            z - free * down + free * up + ear * (z + 8.0),
        ],
        -1,
    )


def _lids(eye: Floats, x: Floats, f: Features) -> Floats:
    """How far lids slide over the eyeball, which stays: steps (n, 3) round its middle."""
    r = np.linalg.norm(eye, axis=1)
    there = _rise(r, 12.6, 12.95) * (1 - _rise(r, 16.0, 26.0))
    lower = f.lid_mm * _rise(eye[:, 2], -1.5, 3.0) * (1 - _bump(eye[:, 0], 14.0, 5.0))
    step = there * (f.slant_mm * eye[:, 0] / 14.0 - lower)
    slid = eye + step[:, None] * [0.0, 0.0, 1.0]
    slid *= (r / np.maximum(np.linalg.norm(slid, axis=1), 1e-9))[:, None]
    return np.asarray((slid - eye) * np.stack([np.sign(x), 0 * x + 1, 0 * x + 1], -1))


def _folds(a: Floats, z: Floats) -> Floats:
    """The furrow from the nose's wing past the mouth, and the one under the eye, 0 to 1."""
    share = np.clip((-z - 31.0) / 43.0, 0.0, 1.0)
    past = 20.0 + 13.0 * share**0.8
    furrow = np.exp(-(((a - past) / 3.2) ** 2)) * _rise(-z, 27.0, 35.0) * (1 - _rise(-z, 66, 80))
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
