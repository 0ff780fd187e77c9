"""What makes one face another: jaw, cheeks, nose, chin, brow, lids, lips, length, age, askew.

One smooth displacement of everything that belongs to a head, so that skin, hair, brows and lashes
stay where they are on each other.  Millimetres in the frame of a head (see `faces`).  How far each
goes is ours, about one standard deviation of Gordon et al. 1989 (5 to 6 % of a face's width, 3 mm
of a nose, from memory) to either side.
"""

from dataclasses import dataclass, fields, replace

import numpy as np
from numpy.typing import NDArray

from render.world.mesh import Mesh
from render.world.things.faces import EYE_MM

__all__ = ["Features", "features_of", "shaped", "typical"]

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
    size, eyes : float
        The whole head larger, the eyeballs with their lids larger, by this share.
    apart_mm : float
        Each eye farther from the middle.
    skull, neck, chin_wide : float
        Braincase, neck and chin wider by this share.
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
    size: float = 0.0
    eyes: float = 0.0
    apart_mm: float = 0.0
    skull: float = 0.0
    neck: float = 0.0
    chin_wide: float = 0.0
    askew_mm: float = 0.0
    brows: int = 0


#: What the mean faces of men and of women have beside the shape of `faces`.  Set so that they have
#: the survey's sizes (`tests/world/things/test_faces.py`); brow, lips, lids and bridge ours.
_MAN = Features(
    size=-0.003, apart_mm=0.75, jaw=0.014, cheeks=-0.012, nose_wide=0.095, ears=0.26, long_mm=1.8,
    brow_mm=1.2, chin_mm=0.8, chin_wide=0.06, hump_mm=0.9, nose_mm=0.6, nose_drop_mm=0.3,
    lips=-0.12, lift_mm=-1.2, lid_mm=0.4, folds_mm=0.3, neck=0.05,
)  # fmt: skip
_WOMAN = Features(
    size=-0.052, apart_mm=-0.4, jaw=-0.022, cheeks=-0.026, nose_wide=0.045, ears=0.23, long_mm=-1.0,
    brow_mm=-1.5, chin_mm=-0.6, chin_wide=-0.09, hump_mm=-1.0, nose_mm=0.6, nose_drop_mm=-1.0,
    lips=0.18, mouth_mm=-0.4, mouth_wide=-0.005, lift_mm=1.6, lid_mm=-0.5, slant_mm=0.5,
    folds_mm=-0.35, neck=-0.06,
)  # fmt: skip
#: Eyebrows (`hair.brows_mesh`) of women and children, and of others.
_THIN, _THICK = (0, 2, 4), (0, 1, 3, 5)
#: What a child of six has beside the middle face that is as high from chin to crown.  After Farkas
#: 1994 and Snyder et al. 1977 (from memory): braincase nearly grown, jaw, nose and neck least so.
_CHILD = Features(
    skull=0.03, apart_mm=-1.2, jaw=-0.055, chin_wide=-0.06, cheeks=-0.01, nose_wide=-0.07,
    long_mm=-5.0, nose_mm=-3.6, chin_mm=-2.0, brow_mm=-1.8, crown_mm=4.0, nose_drop_mm=-2.2,
    lips=0.06, mouth_wide=-0.04, folds_mm=-1.2, hump_mm=-2.0, lid_mm=-0.4, eyes=0.07, neck=-0.11,
)  # fmt: skip


def typical(man: float, child: float = 0.0) -> Features:
    """The mean face of men (`man` 1), of women (-1), or that of `faces`; `child` 1 is six."""
    shares = {
        f.name: (1 - child)
        * (max(man, 0.0) * getattr(_MAN, f.name) + max(-man, 0.0) * getattr(_WOMAN, f.name))
        + child * getattr(_CHILD, f.name)
        for f in fields(Features)
        if f.name != "brows"
    }
    return Features(**shares)


def features_of(rng: np.random.Generator, man: float = 0.0, child: float = 0.0) -> Features:
    """A face by chance about the `typical` one."""
    z = np.clip(rng.normal(size=19), -1.7, 1.7)
    one = Features(
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
        folds_mm=float(np.clip(0.55 + 0.7 * z[10], 0.0, 1.8)),
        lid_mm=0.3 + 0.7 * z[11],
        slant_mm=1.0 * z[12],
        lips=0.16 * z[13],
        mouth_wide=0.06 * z[14],
        ears=0.06 * z[15],
        hump_mm=1.3 * z[16],
        lift_mm=1.6 * z[17],
        askew_mm=0.8 * z[18],
        brows=int(rng.integers(12)),
    )
    mean, spread = typical(man, child), 1.0 - 0.5 * child  # children differ less
    both = {
        f.name: getattr(mean, f.name) + spread * getattr(one, f.name)
        for f in fields(Features)
        if f.name != "brows"
    }
    both["folds_mm"] = max(both["folds_mm"], 0.0)
    shapes = _THIN if man < 0.0 or child > 0.5 else _THICK
    return Features(**both, brows=shapes[one.brows % len(shapes)])


def shaped(mesh: Mesh, features: Features) -> Mesh:
    """A head's mesh (metres) with these features; its named places go along.

    Normals turn where skin is: strands are lit by their own shape, and eyes stay round.
    """
    corners, which = _different(1000 * mesh.xyz.reshape(-1, 3))
    names = [name for name, _ in mesh.spots]
    at = np.array([1000 * np.array(p) for _, p in mesh.spots]).reshape(-1, 3)
    there = (at + _steps(at, features)) / 1000
    steps = _steps(corners, features)
    normal = mesh.normal.copy()
    skin = np.isin(mesh.slot, [k for k, slot in enumerate(mesh.slots) if slot == "skin"])
    if skin.any():
        own = np.repeat(skin, 3)
        used = np.zeros(len(corners), bool)
        used[which[own]] = True
        rank = np.cumsum(used) - 1
        turned = _turned(
            corners[used], steps[used], rank[which[own]], mesh.normal[skin].reshape(-1, 3), features
        )
        normal[skin] = turned.reshape(-1, 3, 3)
    return replace(
        mesh,
        xyz=((corners + steps) / 1000)[which].reshape(mesh.xyz.shape),
        normal=normal,
        spots=tuple((name, tuple(p)) for name, p in zip(names, there.tolist(), strict=True)),
    )


def _bump(x: Floats, middle: float, half: float) -> Floats:
    return np.asarray(np.exp(-(((x - middle) / half) ** 2)))


def _rise(x: Floats, low: float, high: float) -> Floats:
    t = np.clip((x - low) / (high - low), 0.0, 1.0)
    return np.asarray(t * t * (3 - 2 * t))


def _steps(places: Floats, f: Features) -> Floats:
    """How far places (n, 3) go."""
    p: Floats = np.ascontiguousarray(places, np.float32)
    step = _whole(p, f)
    for part, where in (
        (_beside, np.abs(p[:, 0]) > 62.0),
        (_before, p[:, 1] < 45.0),
        (_in_front, p[:, 1] < -40.0),
    ):
        some = np.flatnonzero(where)
        step[some] += part(p[some], f)
    some = np.flatnonzero((p[:, 1] < -40.0) & (np.abs(p[:, 2]) < 27.0))
    step[some] = _round_eyes(p[some], step[some], f)
    return np.asarray(step)


def _whole(p: Floats, f: Features) -> Floats:
    """Size, braincase, crown and neck."""
    x, y, z = p.T
    size = f.size * (1 - _rise(-z, 115.0, 170.0)) + f.skull * _rise(z, -5.0, 50.0)
    slim = f.neck * _rise(-z, 86.0, 118.0) * (1 - _rise(np.hypot(x, y - 24.0), 60.0, 84.0))
    up = f.crown_mm * _rise(z, 30.0, 90.0) + f.size * (1 - _rise(-z, 115.0, 170.0)) * z
    return np.stack([x * (size + slim), y * size + (y - 24.0) * slim, up], -1)


def _beside(p: Floats, f: Features) -> Floats:
    """Ears, about their holes."""
    x, y, z = p.T
    ear = _rise(np.abs(x), 62.0, 76.0) * _bump(y, 10.0, 34.0) * _bump(z, -8.0, 34.0) * f.ears
    return np.stack([0 * x, ear * (y - 2.0), ear * (z + 8.0)], -1)


def _before(p: Floats, f: Features) -> Floats:
    """Jaw, cheeks, chin and length, which begin before the ears."""
    x, y, z = p.T
    front = _rise(-y, -30.0, 40.0)
    wide = f.jaw * _bump(z, -78, 36) * _rise(-y, -45.0, 10.0)
    wide = wide + f.cheeks * _bump(z, -28, 30) * front
    wide = wide + f.chin_wide * _rise(-z, 74.0, 96.0) * (1 - _rise(-z, 106.0, 130.0)) * front
    down = f.long_mm * _rise(-z, 12.0, 100.0) * (1 - _rise(-z, 108.0, 168.0)) * front
    out = f.chin_mm * front * _bump(z, -99, 17) * np.exp(-((x / 32.0) ** 2))
    return np.stack([x * wide, -out, -down], -1)


def _in_front(p: Floats, f: Features) -> Floats:
    """Brow, nose, mouth, folds, and what is askew."""
    x, y, z = p.T
    a = np.abs(x)
    nose = _rise(-y, 84.0, 96.0) * np.exp(-((x / 17.0) ** 2))
    face = _rise(-y, 40.0, 75.0)
    mouth = face * _bump(a, 0, 34) * _bump(z, -66, 13)
    wide = f.mouth_wide * mouth
    wide = wide + f.nose_wide * _bump(z, -33, 13) * _rise(-y, 84.0, 98.0) * (a < 60) * np.exp(
        -((x / 24.0) ** 2)
    )
    down = f.nose_drop_mm * nose * _bump(z, -31, 14)
    down = down + f.mouth_mm * face * _bump(a, 27, 9) * _bump(z, -65, 8)
    up = f.lift_mm * face * _bump(z, 20, 10) * _bump(a, 30, 30)
    up = up + f.lips * (z + 66.2) * mouth
    out = f.nose_mm * nose * _bump(z, -29, 21)
    out = out + f.hump_mm * nose * _bump(z, -11, 10)
    out = out + f.brow_mm * face * _bump(z, 17, 9) * np.exp(-((x / 44.0) ** 2))
    out = out - f.folds_mm * face * _folds(a, z)
    aside = f.askew_mm * nose * _bump(z, -31, 26)
    up = up + f.askew_mm * np.tanh(x / 25.0) * face * (_bump(z, 18, 10) - 0.8 * _bump(z, -66, 12))
    return np.stack([x * wide + aside, -out, up - down], -1)


def _round_eyes(p: Floats, step: Floats, f: Features) -> Floats:
    """The steps, but that an eye with its lids goes as its middle does, and stays round."""
    side = np.where(p[:, :1] < 0, -1.0, 1.0) * [1.0, 0, 0] + [0.0, 1, 1]
    eye = p * side - EYE_MM
    free = _rise(np.linalg.norm(eye, axis=1), 15.0, 26.0)[:, None]
    middle = _whole(np.array([EYE_MM]), f)[0] * [0.0, 1, 1] + [f.apart_mm, 0, 0]
    middle = (middle + f.eyes * eye) * side
    return np.asarray(free * step + (1 - free) * middle + _lids(eye, p[:, 0], f))


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
    bits = np.ascontiguousarray(p + 0.0).view(np.int64)  # no minus zero
    order = np.argsort(bits @ np.array([1, 0x9E3779B97F4A7C15 - 2**64, 0x3C6EF372FE94F82B]))
    ordered = p[order]
    new = np.append(True, np.any(ordered[1:] != ordered[:-1], axis=1))
    which = np.empty(len(p), np.int64)
    which[order] = np.cumsum(new) - 1
    return ordered[new], which


def _turned(
    p: Floats, steps: Floats, which: NDArray[np.int64], normal: Floats, f: Features
) -> Floats:
    """Normals (n, 3), each of one of the places, after their steps.

    They turn by the cofactors of the displacement's slopes: the inverse transposed, but for size.
    """
    by = 0.25
    x, y, z = (np.eye(3)[k] + (_steps(p + by * np.eye(3)[k], f) - steps) / by for k in range(3))
    upright = np.stack([np.cross(y, z), np.cross(z, x), np.cross(x, y)], -1)
    turned = np.einsum("nij,nj->ni", upright[which], normal)
    return np.asarray(turned / np.maximum(np.linalg.norm(turned, axis=1, keepdims=True), 1e-12))
