"""A head by rule at real size: skull, face, eyes, ears, neck.

Millimetres inside this file.  The head's own frame: x to its left, y backwards, z up; level with
the pupils, y = 0 at the ear holes, so it looks along -y.  Sizes follow the middle between the men
and women of Gordon et al. 1989, "1988 Anthropometric survey of US Army personnel" (values from
memory; the test measures the shape against them).
"""

from collections.abc import Callable
from dataclasses import replace
from functools import cache
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from render.world.isosurface import Surface, graded, isosurface
from render.world.mesh import Mesh, ellipsoid, join, lathe, moved, tube
from render.world.things.fields import ball, carved, curve, egg, limb, melted, mirrored, path

__all__ = ["EYE_MM", "PARTS_MM", "face_mesh", "head_field", "lid_edges", "skin_uv", "skull_field"]

Floats = NDArray[np.float64]

#: Middle of the left eyeball, and its radius.
EYE_MM, _EYE_R = (31.5, -72.0, 0.0), 12.0

#: Middle (from the eyeball's, outwards) and half the length of the slit between the lids.
_SLIT_MM = (-0.9, 14.4)

#: Places with names.
PARTS_MM = {
    "left eye": (31.5, -84.4, 0.0),
    "right eye": (-31.5, -84.4, 0.0),
    "nose": (0.0, -118.9, -30.5),
    "mouth": (0.0, -104.0, -66.0),
    "left ear": (80.0, 14.0, -6.0),
    "right ear": (-80.0, 14.0, -6.0),
    "face": (0.0, -96.5, 4.0),
}


def head_field(p: Floats, level: int = 2) -> Floats:
    """Signed distance (mm) of skull, face and neck at points (n, 3), the eyeballs left out.

    `level` 0 leaves out what is not seen from 20 m: lids, nostrils, the folds of the ear.
    """
    q = mirrored(np.ascontiguousarray(p.T, np.float32))
    d = _skull(q)
    front = np.flatnonzero(q[1] < -8)
    d[front] = _face(q[:, front], d[front], level)
    side = np.flatnonzero((q[0] > 56) & (np.abs(q[1] - 12) < 40) & (np.abs(q[2] + 6) < 52))
    d[side] = melted(d[side], _ear(q[:, side], level), 3.0)
    return d


def skull_field(p: Floats) -> Floats:
    """Signed distance (mm) of the head without face and ears, for what lies on it."""
    return _skull(mirrored(np.ascontiguousarray(p.T, np.float32)))


def _skull(q: Floats) -> Floats:
    d = egg(q, (0, -4, 37), (73.5, 93, 75))
    d = melted(d, egg(q, (0, 24, 34), (72, 69, 66)), 20)
    d = melted(d, egg(q, (0, -38, -26), (54, 50, 72)), 24)
    jaw = [(46, -6, -36), (43, -15, -68), (27, -50, -88), (10, -77, -97)]
    d = melted(d, path(q, jaw, (11, 9, 8.5, 9.5)), 26)
    d = melted(d, egg(q, (0, -81.5, -97.5), (15, 14.5, 12.5)), 24)
    # the muscle that fills the cheek before the jaw's corner: without it a crease runs down there
    d = melted(d, egg(q, (38, -36, -46), (13, 27, 28)), 26)
    d = melted(d, limb(q, (42, -60, -27), (60, -18, -14), 10, 7), 24)
    d = melted(d, limb(q, (0, 16, -50), (0, 28, -190), 47.5, 55), 14)
    # the muscle from behind the ear to the breastbone, and the gullet's cartilage
    d = melted(d, limb(q, (51, 18, -34), (12, -22, -192), 7.0, 8.5), 15)
    return melted(d, egg(q, (0, -26, -137), (7, 7, 13)), 11)


def _face(q: Floats, d: Floats, level: int) -> Floats:
    d = melted(d, egg(q, (43, -62, -22), (15, 15, 12)), 22)
    d = melted(d, egg(q, (27, -63.5, -55), (16, 17, 22)), 24)
    d = melted(d, path(q, [(7, -88.5, 17), (24, -86, 20), (46, -65, 15)], (8, 8, 7.5)), 20)
    # the orbit's outer rim, down to the cheekbone
    d = melted(d, path(q, [(46, -64, 15), (52, -54, 0), (51, -52, -16)], (6, 6.5, 7)), 18)
    d = melted(d, egg(q, (0, -76, -64), (30, 24.5, 27)), 20)
    d = carved(d, egg(q, (30.5, -96, -1), (18, 16, 12.5)), 14)
    if level > 0:
        d = _eyelids(q, d)
    for part, low, high in ((_nose, -66, 34), (_mouth, -112, -40)):
        near = np.flatnonzero((q[0] < 48) & (q[2] > low) & (q[2] < high))
        d[near] = part(q[:, near], d[near], level)
    return d


def _lid_curves(x: Floats) -> tuple[Floats, Floats]:
    """Heights of the upper and the lower lid's edge over x from the eye's middle, outwards.

    The slit reaches past the eyeball inwards, to the red corner, and ends on it outwards.
    """
    t = np.clip((x - _SLIT_MM[0]) / _SLIT_MM[1], -1, 1)
    base = -0.6 + 1.5 * t
    upper = base + 4.3 * np.maximum(1 - t * t, 0) ** 0.72 * (1 - 0.12 * t)
    lower = base - 4.8 * np.maximum(1 - t * t, 0) ** 0.85 * (1 + 0.16 * t)
    return upper, lower


def _eyelids(q: Floats, d: Floats) -> Floats:
    near = np.flatnonzero(ball(q, EYE_MM, 30.0) < 0)
    p, e = q[:, near], d[near]
    x, z = p[0] - EYE_MM[0], p[2] - EYE_MM[2]
    upper, lower = _lid_curves(x)
    lid = ball(p, EYE_MM, _EYE_R + 1.5)
    # the upper lid bulges over the eye, its fold runs along above it
    e = melted(e, lid, 5.0)
    e = melted(e, egg(p, (31.5, -74.5, 0.5), (14.4, 11.8, 9.5)), 4.0)
    crease = np.hypot(z - upper - 4.2 + 0.010 * x * x, 0.35 * (p[1] + 84.0 - 0.035 * x * x)) - 0.6
    crease += 2.0 * np.maximum(np.abs(x - _SLIT_MM[0]) - 13, 0)
    e = carved(e, crease, 2.2)
    slit = np.maximum(z - upper, lower - z) * 0.85
    slit = np.maximum(slit, np.abs(x - _SLIT_MM[0]) - _SLIT_MM[1])
    slit = np.maximum(slit, p[1] - EYE_MM[1] + 2.0)
    d[near] = carved(e, slit, 1.0)
    return d


def lid_edges(side: int, count: int) -> tuple[Floats, Floats]:
    """Points along the edges of the upper and the lower lid, shape (count, 3) each, mm."""
    x = np.linspace(-13.6, 12.2, count)
    out = []
    for z in _lid_curves(x):
        y = -np.sqrt(np.maximum((_EYE_R + 1.6) ** 2 - x * x - z * z, 1.0))
        out.append(np.stack([x, y, z], -1) + np.array(EYE_MM))
    for points in out:
        points[:, 0] *= side
    return out[0], out[1]


def _nose(q: Floats, d: Floats, level: int) -> Floats:
    bridge = [(0, -88.5, 10), (0, -97.5, -7), (0, -108.8, -25.5)]
    d = melted(d, path(q, bridge, (4.5, 5.5, 7.5)), 11)
    d = melted(d, egg(q, (0, -87, -15.5), (13, 13.5, 24)), 10)
    d = carved(d, egg(q, (0, -106, 3.5), (13, 8.5, 8)), 9)
    d = melted(d, egg(q, (0, -107.4, -30.2), (9.5, 10.3, 8.3)), 8)
    d = melted(d, egg(q, (10.8, -98.5, -34.8), (6.4, 10.3, 6.8)), 8)
    d = melted(d, limb(q, (0, -107.5, -34.6), (0, -99.5, -39.6), 4.0), 6)
    if level > 0:
        d = carved(d, egg(q, (6.4, -103, -38.9), (3.0, 5.8, 6.0)), 2.0)
        # the wing's groove towards the cheek
        d = carved(d, path(q, [(17.5, -98, -29), (19.5, -94, -35), (16, -94, -41)], (1.3,) * 3), 4)
    return d


def _mouth(q: Floats, d: Floats, level: int) -> Floats:
    x, y, z = q
    t, middle = np.clip(x / 26.0, 0, 1), np.exp(-((x / 3.2) ** 2))
    past = 0.2 * np.maximum(x - 22.0, 0) ** 2
    upper = np.hypot(y + 101.2 - 12.2 * t**2, z + 61.2 + 4.4 * t**1.5 + 0.9 * middle)
    d = melted(d, upper + past - 0.2 - 4.5 * (1 - t**1.6) + 0.4 * middle, 7)
    lower = np.hypot(y + 100.7 - 12.7 * t**2, z + 71.9 - 5.1 * t**1.7)
    d = melted(d, lower + past - 0.2 - 5.8 * (1 - t**1.5), 7)
    # where muscles meet beside the corners
    d = melted(d, egg(q, (24, -74.5, -72), (10, 10, 14)), 16)
    # the line between the lips, all but level: raised corners looked like a drawn smile
    bow = 0.5 * np.exp(-((x / 5.0) ** 2)) - 0.0008 * x * x
    line = np.hypot(z + 66.2 + bow, 0.4 * (y + 105.2 - 0.018 * x * x)) - 0.45
    line += 0.35 * np.maximum(x - 21.0, 0)
    d = carved(d, line, 2.4)
    if level > 0:
        d = carved(d, egg(q, (0, -105.5, -83.5), (13, 5.4, 4.8)), 9)
        d = carved(d, limb(q, (0, -106.6, -46), (0, -106.4, -56.5), 1.4), 4.5)
    return d


#: An ear is 60 mm long; `_auricle` draws one of 69.
_EAR = 0.87


def _ear(q: Floats, level: int) -> Floats:
    """An ear: `a` backwards, `b` up, `n` outwards, standing off by 17 degrees, its lobe in."""
    c, s = np.cos(np.radians(17.0)), np.sin(np.radians(17.0))
    x, y, z = q[0] - 68.5 - 0.17 * (q[2] + 8.0), q[1] - 2.0, q[2] + 8.0
    lean = np.radians(10.0)
    y, z = y * np.cos(lean) - z * np.sin(lean), y * np.sin(lean) + z * np.cos(lean)
    p = np.stack([y * c + x * s, z, x * c - y * s]) / _EAR
    return _EAR * _auricle(p, level)


def _auricle(p: Floats, level: int) -> Floats:
    plate = egg(p, (8, 2, 0.5), (16.5, 29, 3.2))
    d = melted(plate, egg(p, (3.5, -25, 1.2), (8.0, 8.5, 3.4)), 5)
    # it has grown on to the head along its front, from the helix's root to the lobe
    d = melted(d, egg(p, (-1.0, -5, -6.5), (9.5, 24, 9.0)), 4.0)
    d = melted(d, egg(p, (8.0, 4, -8.0), (9.0, 18, 7.0)), 4.0)
    if level == 0:
        return melted(d, egg(p, (2, 2, 1), (14, 22, 5)), 4)
    rim = [(1, 1, 1.5), (-5, 12, 3.0), (-4.5, 22, 4.0), (2, 29.5, 4.2), (11, 31, 4.0)]
    rim += [(19, 25.5, 3.8), (23.5, 15, 3.6), (23, 2, 3.2), (18.5, -10, 2.6), (12, -20, 1.8)]
    d = carved(d, egg(p, (8, 10, 5.6), (13.5, 18, 4.2)), 2.5)
    d = melted(d, curve(p, rim, (1.6, 2.2, 2.6, 2.8, 2.8, 2.8, 2.7, 2.5, 2.4, 2.2)), 2.0)
    inner = [(10.5, 22, 1.8), (13.5, 10, 3.2), (13.5, -1, 3.6), (9.5, -11, 3.6), (3, -14.5, 3.0)]
    d = melted(d, curve(p, inner, (1.6, 2.3, 2.5, 2.6, 2.2)), 3.0)
    d = melted(d, egg(p, (2.5, -2, -2.5), (10, 13, 4.5)), 3.0)
    d = carved(d, egg(p, (3.5, -2, 3.6), (7.5, 10, 4.6)), 2.5)
    return melted(d, egg(p, (-5.5, -5, 3.0), (3.2, 5.5, 3.6)), 2.5)


_GRIDS: dict[int, Callable[[], tuple[Floats, Floats, Floats]]] = {
    2: lambda: (
        _both(graded([(0, 1.5), (15, 1.3), (19, 0.9), (45, 0.9), (52, 2.6), (64, 1.3), (90, 1.3)])),
        graded(
            [(-126, 1.8), (-92, 1.8), (-84, 1), (-74, 1.2), (-50, 3), (-10, 1.3), (36, 1.3)]
            + [(48, 4), (105, 8)]
        ),
        graded(
            [(-200, 6), (-125, 6), (-108, 3), (-78, 1.5), (-71, 1), (-66, 0.7), (-61, 1)]
            + [(-44, 1.1), (-34, 1.6)]
            + [(-10, 0.9), (10, 0.9), (28, 1.4), (45, 4), (118, 6)]
        ),
    ),
    1: lambda: (
        _both(graded([(0, 3.4), (15, 3), (50, 3), (66, 3.4), (88, 3.4), (100, 8)])),
        graded([(-128, 3), (-80, 3), (-50, 6), (0, 4.5), (34, 5), (60, 10), (112, 12)]),
        graded(
            [
                (-200, 18),
                (-125, 12),
                (-105, 4.5),
                (-80, 3.2),
                (-10, 2.4),
                (10, 2.4),
                (40, 7),
                (124, 12),
            ]
        ),
    ),
    0: lambda: (
        _both(graded([(0, 6), (60, 7), (90, 8), (100, 14)])),
        graded([(-130, 6), (-80, 7), (-50, 14), (30, 11), (60, 16), (120, 18)]),
        graded([(-200, 30), (-125, 18), (-100, 8), (10, 7), (40, 14), (130, 18)]),
    ),
}


def _both(half: Floats) -> Floats:
    return np.concatenate([-half[:0:-1], half])


def skin_uv(p: Floats) -> Floats:
    """Surface coordinates (m) of points (mm): angle round the head times 75 mm, and height."""
    round_m = 0.075 * np.arctan2(p[:, 0], -(p[:, 1] - 8.0))
    return np.stack([round_m, p[:, 2] / 1000.0], -1)


@cache
def _skin(level: int) -> Surface:
    return isosurface(lambda p: head_field(p, level), _GRIDS[level](), step=(1.2, 0.7, 0.5)[level])


def face_mesh(level: int) -> Mesh:
    """Head and neck in metres with its eyes: slots skin and eye (eye only above level 0)."""
    surface = _skin(level)
    mesh = surface.mesh(skin_uv(surface.xyz), "skin")
    parts = [moved(mesh, size=0.001)]
    if level > 0:
        parts += [_eye(side, (0, 12, 32)[level]) for side in (1, -1)]
    if level > 1:
        parts += [_moist(side) for side in (1, -1)]
    spots = tuple((name, (x / 1000, y / 1000, z / 1000)) for name, (x, y, z) in PARTS_MM.items())
    return replace(join(parts), spots=spots)


def _moist(side: int) -> Mesh:
    """The wet line along the lower lid and the red corner of an eye, of the eye's own stuff."""
    _, lower = lid_edges(side, 20)
    inwards = np.array(EYE_MM) * [side, 1, 1] - lower
    line = lower + 0.55 * inwards / np.linalg.norm(inwards, axis=1, keepdims=True)
    corner = ellipsoid((1.9, 1.2, 0.9), "eye", (side * 18.1, -79.0, -1.9), 12, 8)
    parts = [corner] + [tube(a, b, 0.34, "eye", sides=6) for a, b in pairwise(line)]
    mesh = moved(join(parts), size=0.001)
    return replace(mesh, uv=np.broadcast_to([0.4, 1.3], mesh.uv.shape).copy())


def _eye(side: int, sides: int) -> Mesh:
    """An eyeball whose uv is the angle and the distance from its axis, for the rule iris."""
    polar = np.concatenate([np.linspace(0, 0.62, sides // 2), np.linspace(0.7, 2.0, sides // 3)])
    cornea = 0.55 * np.clip(1 - (polar / 0.52) ** 2, 0, 1) ** 2
    r = _EYE_R + cornea
    profile = np.stack([r * np.sin(polar), r * np.cos(polar)], -1)[::-1]
    profile[-1, 0] = 0.0
    mesh = lathe(profile, "eye", sides, smooth=True)
    x, y, z = mesh.xyz[..., 0], mesh.xyz[..., 1], mesh.xyz[..., 2]
    out = np.hypot(x, y)
    uv = np.stack([np.arctan2(y, x), np.arctan2(out, z) / 1.2], -1)
    seam = np.ptp(uv[..., 0], axis=1) > np.pi
    uv[..., 0] = np.where(seam[:, None] & (uv[..., 0] < 0), uv[..., 0] + 2 * np.pi, uv[..., 0])
    mesh = Mesh(mesh.xyz, uv, mesh.normal, mesh.slot, mesh.slots)
    ahead = np.array([[1.0, 0, 0], [0, 0, -1.0], [0, 1.0, 0]])
    at = [side * EYE_MM[0] / 1000, EYE_MM[1] / 1000, EYE_MM[2] / 1000]
    return moved(mesh, at, size=0.001, matrix=ahead)
