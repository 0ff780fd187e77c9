"""Meshes: triangles with picture coordinates, normals and the name of what they are made of.

Scene frame of this file and of every scene file: x east, y north, z up, metres.
A mesh is a soup of triangles: simple to cut, move and join, and the tracer wants it so.
Outward sides turn counter-clockwise.  `uv` is in metres along the surface (u along it, v up it),
so that a brick is a brick on every wall.
"""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np
from numpy.typing import ArrayLike, NDArray

__all__ = [
    "Mesh",
    "box",
    "cylinder",
    "ellipsoid",
    "extrude",
    "fan",
    "grid_faces",
    "join",
    "lathe",
    "moved",
    "quad",
    "quads",
    "sheet",
    "tube",
    "turned",
]

Floats = NDArray[np.float64]

#: The two triangles of a face that goes round an axis: whether a corner is further round, or above.
_FURTHER = np.array([[0, 1, 1], [0, 1, 0]])
_ABOVE = np.array([[0, 0, 1], [0, 1, 1]])
_THIN_M = 1e-5  # of something thinner, faces may have no area


@dataclass(frozen=True, slots=True, eq=False)
class Mesh:
    """Triangles of one shape.

    Attributes
    ----------
    xyz : ndarray, shape (n, 3, 3)
        Corners, metres.
    uv : ndarray, shape (n, 3, 2)
        Surface coordinates of the corners, metres.
    normal : ndarray, shape (n, 3, 3)
        Unit normals at the corners; equal ones make a flat face.
    slot : ndarray, shape (n,), int
        Which of `slots` each triangle is made of.
    slots : tuple of str
        Names of materials.
    spots : tuple of (name, (x, y, z))
        Places on it with names of their own, such as a face's left eye.
    """

    xyz: Floats
    uv: Floats
    normal: Floats
    slot: NDArray[np.int32]
    slots: tuple[str, ...]
    spots: tuple[tuple[str, tuple[float, float, float]], ...] = ()

    def painted(self, **names: str) -> "Mesh":
        """The same mesh with slots renamed, ``painted(wall="brick")``."""
        return replace(self, slots=tuple(names.get(slot, slot) for slot in self.slots))


def join(meshes: Iterable[Mesh]) -> Mesh:
    """One mesh out of many; equal slot names become one slot."""
    parts = [mesh for mesh in meshes if len(mesh.xyz)]
    if not parts:
        return _empty()
    names: dict[str, int] = {}
    slots = []
    for mesh in parts:
        index = np.array([names.setdefault(name, len(names)) for name in mesh.slots], np.int32)
        slots.append(index[mesh.slot])
    return Mesh(
        np.concatenate([m.xyz for m in parts]),
        np.concatenate([m.uv for m in parts]),
        np.concatenate([m.normal for m in parts]),
        np.concatenate(slots),
        tuple(names),
        tuple(spot for mesh in parts for spot in mesh.spots),
    )


def moved(
    mesh: Mesh,
    at: Sequence[float] = (0.0, 0.0, 0.0),
    turn_deg: float = 0.0,
    size: float | Sequence[float] = 1.0,
    matrix: ArrayLike | None = None,
) -> Mesh:
    """The mesh scaled, turned (counter-clockwise from above) and moved; `matrix` goes first."""
    c, s = math.cos(math.radians(turn_deg)), math.sin(math.radians(turn_deg))
    x, y, z = (size, size, size) if isinstance(size, int | float) else size
    m = np.array([[c * x, -s * y, 0.0], [s * x, c * y, 0.0], [0.0, 0.0, z]])
    if matrix is None and x == y == z > 0:  # normals only turn
        return _laid(mesh, m, m / z if turn_deg else None, at)
    if matrix is not None:
        m = m @ np.asarray(matrix, float)
    upright = _cross(m[[1, 2, 0]], m[[2, 0, 1]])  # its cofactors: inverse and transposed, but for
    mirrors = m[0] @ upright[0] < 0  # the determinant
    laid = _laid(mesh, m, -upright if mirrors else upright, at)
    normal = laid.normal / np.maximum(_lengths(laid.normal), 1e-300)
    if mirrors:
        return replace(laid, xyz=laid.xyz[:, ::-1], uv=laid.uv[:, ::-1], normal=normal[:, ::-1])
    return replace(laid, normal=normal)


def _laid(mesh: Mesh, m: Floats, upright: Floats | None, at: Sequence[float] | Floats) -> Mesh:
    """Corners through one matrix, normals through another, if any, and then moved."""
    return Mesh(
        _through(mesh.xyz, m) + np.asarray(at, float),
        mesh.uv,
        mesh.normal if upright is None else _through(mesh.normal, upright),
        mesh.slot,
        mesh.slots,
        tuple((name, tuple((m @ p + at).tolist())) for name, p in mesh.spots),
    )


def _through(v: Floats, m: Floats) -> Floats:
    """Vectors (..., 3) through a matrix; `@` would take a stack of triangles one by one."""
    return np.asarray(np.einsum("...i,ji->...j", v, m))


def turned(axis: ArrayLike, angle_rad: float, at: ArrayLike = (0.0, 0.0, 0.0)) -> Floats:
    """A matrix, shape (4, 4): turned about an axis (right-handed), then moved to `at`."""
    from scipy.spatial.transform import Rotation  # a fifth of a second; scenes are kept built

    matrix = np.eye(4)
    matrix[:3, :3] = Rotation.from_rotvec(angle_rad * np.asarray(axis, float)).as_matrix()
    matrix[:3, 3] = at
    return matrix


def quads(corners: ArrayLike, slot: str, uv: ArrayLike | None = None) -> Mesh:
    """Flat four-cornered faces.

    Parameters
    ----------
    corners : array_like, shape (n, 4, 3)
        Counter-clockwise seen from outside.
    uv : array_like, shape (n, 4, 2), optional
        Default: metres along the first edge and across it.
    """
    p = np.asarray(corners, float).reshape(-1, 4, 3)
    if uv is None:
        along = p[:, 1] - p[:, 0]
        length = np.linalg.norm(along, axis=1, keepdims=True)
        ax = along / np.maximum(length, 1e-9)
        side = p[:, 3] - p[:, 0]
        across = side - ax * np.sum(side * ax, axis=1, keepdims=True)
        ay = across / np.maximum(np.linalg.norm(across, axis=1, keepdims=True), 1e-9)
        rel = p - p[:, :1]
        t = np.stack([np.einsum("nkc,nc->nk", rel, ax), np.einsum("nkc,nc->nk", rel, ay)], -1)
    else:
        t = np.asarray(uv, float).reshape(-1, 4, 2)
    pick = np.array([[0, 1, 2], [0, 2, 3]])
    return _flat(p[:, pick].reshape(-1, 3, 3), t[:, pick].reshape(-1, 3, 2), slot)


def quad(a: ArrayLike, b: ArrayLike, c: ArrayLike, d: ArrayLike, slot: str) -> Mesh:
    """One flat four-cornered face, counter-clockwise from outside."""
    return quads(np.stack([np.asarray(p, float) for p in (a, b, c, d)])[None], slot)


def box(
    size: Sequence[float],
    slot: str,
    at: Sequence[float] = (0.0, 0.0, 0.0),
    top: str | None = None,
    turn_deg: float = 0.0,
) -> Mesh:
    """A box standing on `at` (the middle of its foot)."""
    x, y, z = size
    if min(size) > _THIN_M:
        unit, run_at = _unit_box()
        xyz = unit.xyz * np.asarray(size, float)
        uv = xyz[..., :2].copy()
        uv[: len(run_at), :, 0] = np.array([0.0, x, x + y, 2 * x + y, 2 * (x + y)])[run_at]
        uv[: len(run_at), :, 1] = xyz[: len(run_at), :, 2]
        slots, slotted = (
            ((slot, top), unit.slot) if top and top != slot else ((slot,), 0 * unit.slot)
        )
        mesh = Mesh(xyz, uv, unit.normal, slotted, slots)
    else:
        outline = np.array([(-x, -y), (x, -y), (x, y), (-x, y)]) / 2
        mesh = extrude(outline, 0.0, z, slot, top or slot)
    return moved(mesh, at, turn_deg)


@lru_cache(maxsize=1)
def _unit_box() -> tuple[Mesh, NDArray[np.int64]]:
    """A cube of 1 m, and how many of its walls lie before each corner of them."""
    square = np.array([(-0.5, -0.5), (0.5, -0.5), (0.5, 0.5), (-0.5, 0.5)])
    cube = extrude(square, 0.0, 1.0, "side", "top")
    return cube, np.rint(cube.uv[:8, :, 0]).astype(np.int64)


def grid_faces(grid: Floats) -> Floats:
    """The cells of a grid of points (n, m, k) as faces of four corners, row by row, (c, 4, k)."""
    corners = [grid[:-1, :-1], grid[1:, :-1], grid[1:, 1:], grid[:-1, 1:]]
    return np.stack(corners, axis=2).reshape(-1, 4, grid.shape[2])


def extrude(
    outline: ArrayLike, low: float, high: float, side: str, top: str, bottom: bool = True
) -> Mesh:
    """An upright prism over a counter-clockwise outline, shape (n, 2)."""
    o = _anticlockwise(outline)
    nxt = np.concatenate([o[1:], o[:1]])
    run = np.concatenate([[0.0], np.cumsum(_lengths(nxt - o))])
    n = len(o)
    corners = np.empty((n, 4, 3))
    corners[:, 0, :2], corners[:, 1, :2], corners[:, 2, :2], corners[:, 3, :2] = o, nxt, nxt, o
    corners[:, :2, 2], corners[:, 2:, 2] = low, high
    uv = np.empty((n, 4, 2))
    uv[:, 0, 0] = uv[:, 3, 0] = run[:-1]
    uv[:, 1, 0] = uv[:, 2, 0] = run[1:]
    uv[:, :2, 1], uv[:, 2:, 1] = low, high
    flat = o[_ears(o)]
    parts = [quads(corners, side, uv), _level(flat, high, top)]
    if bottom:
        parts.append(_flipped(_level(flat, low, side)))
    return join(parts)


def sheet(outline: ArrayLike, z: float, slot: str) -> Mesh:
    """A level sheet inside a simple outline, shape (n, 2); uv is (x, y)."""
    o = _anticlockwise(outline)
    return _level(o[_ears(o)], z, slot)


def _level(flat: Floats, z: float, slot: str) -> Mesh:
    """Triangles (n, 3, 2) as a level sheet."""
    xyz = np.empty((len(flat), 3, 3))
    xyz[..., :2], xyz[..., 2] = flat, z
    return _flat(xyz, flat, slot)


def cylinder(
    radius: float,
    height: float,
    slot: str,
    at: Sequence[float] = (0.0, 0.0, 0.0),
    top_radius: float | None = None,
    sides: int = 16,
    top: str | None = None,
) -> Mesh:
    """An upright cylinder or cone standing on `at`, with lids."""
    r1 = radius if top_radius is None else top_radius
    profile = [(0.0, 0.0), (radius, 0.0), (r1, height), (0.0, height)]
    return moved(lathe(profile, slot, sides, top=top), at)


def tube(
    a: ArrayLike, b: ArrayLike, radius: float, slot: str, end: float | None = None, sides: int = 8
) -> Mesh:
    """A round bar from `a` to `b`, `end` its radius at `b`."""
    p, q = np.asarray(a, float), np.asarray(b, float)
    length = math.dist(p, q)
    if length < 1e-9:
        return _empty()
    z = (q - p) / length
    x = _cross([0.0, 0.0, 1.0] if abs(z[2]) < 0.9 else [1.0, 0.0, 0.0], z)
    x /= math.hypot(*x)
    frame = np.stack([x, _cross(z, x), z], axis=1)
    return _laid(cylinder(radius, length, slot, top_radius=end, sides=sides), frame, frame, p)


def lathe(
    profile: ArrayLike, slot: str, sides: int = 16, smooth: bool = False, top: str | None = None
) -> Mesh:
    """A profile (radius, z) from bottom to top, turned about the z axis.

    Flat along the profile unless `smooth`; always round about the axis.
    """
    p = np.asarray(profile, float)
    angle, ring = _ring(sides)
    step = p[1:] - p[:-1]
    length = np.hypot(step[:, 0], step[:, 1])
    flat = np.stack([step[:, 1], -step[:, 0]], -1) / np.maximum(length, 1e-12)[:, None]
    ends = np.stack([flat, flat], axis=1)
    if smooth:
        mean = np.zeros_like(p)
        mean[:-1] += flat * length[:, None]
        mean[1:] += flat * length[:, None]
        mean /= np.maximum(_lengths(mean), 1e-12)
        ends = np.stack([mean[:-1], mean[1:]], axis=1)
    run = np.concatenate([[0.0], np.cumsum(length)])
    widest = max(float(p[:, 0].max()), 1e-6)
    at = np.arange(len(step))[:, None, None] + _ABOVE  # (steps, 2, 3), rows of the profile
    side = np.arange(sides)[:, None, None] + _FURTHER  # (sides, 2, 3), spokes
    xyz, normal = np.empty((2, len(step), sides, 2, 3, 3))
    uv = np.empty((len(step), sides, 2, 3, 2))
    xyz[..., :2], xyz[..., 2] = p[at, 0][:, None, ..., None] * ring[side], p[at, 1][:, None]
    normal[..., :2] = ring[side] * ends[:, _ABOVE, 0][:, None, ..., None]
    normal[..., 2] = ends[:, _ABOVE, 1][:, None]
    uv[..., 0], uv[..., 1] = angle[side] * widest, run[at][:, None]
    one = xyz[:, 0].reshape(-1, 3, 3)  # all round, faces are alike
    keep = np.broadcast_to((_twice_area(one) > 1e-12).reshape(-1, 1, 2), xyz.shape[:3])

    def faces(some: slice, name: str) -> Mesh:
        there = keep[some]
        count = np.count_nonzero(there)
        return Mesh(
            xyz[some][there],
            uv[some][there],
            normal[some][there],
            np.zeros(count, np.int32),
            (name,),
        )

    if top and abs(step[-1, 1]) < 1e-9:
        return join([faces(slice(-1), slot), faces(slice(-1, None), top)])
    return join([faces(slice(None), slot)])


@lru_cache(maxsize=64)
def _ring(sides: int) -> tuple[Floats, Floats]:
    """Angles of the spokes of a turned shape, from 0 to a full turn, and where they point."""
    angle = np.linspace(0.0, 2 * math.pi, sides + 1)
    return angle, np.stack([np.cos(angle), np.sin(angle)], -1)


def ellipsoid(
    radii: Sequence[float],
    slot: str,
    at: Sequence[float] = (0.0, 0.0, 0.0),
    sides: int = 16,
    rings: int = 8,
) -> Mesh:
    """A smooth ball, or an egg, around `at`."""
    return moved(replace(_ball(sides, rings), slots=(slot,)), at, size=radii)


@lru_cache(maxsize=64)
def _ball(sides: int, rings: int) -> Mesh:
    """A ball of radius 1 m."""
    t = np.linspace(-math.pi / 2, math.pi / 2, rings + 1)
    ball = lathe(np.stack([np.cos(t), np.sin(t)], -1).clip(-1, 1), "", sides, smooth=True)
    return replace(ball, normal=ball.xyz / _lengths(ball.xyz))


def fan(points: ArrayLike, slot: str) -> Mesh:
    """A flat, convex face with any number of corners, counter-clockwise from outside."""
    p = np.asarray(points, float)
    index = np.array([[0, i, i + 1] for i in range(1, len(p) - 1)])
    xyz = p[index]
    ax = (p[1] - p[0]) / np.linalg.norm(p[1] - p[0])
    n = _cross(p[1] - p[0], p[2] - p[0])
    ay = _cross(n / np.linalg.norm(n), ax)
    rel = xyz - p[0]
    return _flat(xyz, np.stack([rel @ ax, rel @ ay], -1), slot)


def _flat(xyz: Floats, uv: Floats, slot: str) -> Mesh:
    n = _cross(xyz[:, 1] - xyz[:, 0], xyz[:, 2] - xyz[:, 0])
    length = _lengths(n)
    keep = length[:, 0] > 1e-12
    if not keep.all():
        xyz, uv, n, length = xyz[keep], uv[keep], n[keep], length[keep]
    normal = np.repeat((n / length)[:, None], 3, axis=1)
    return Mesh(xyz, uv, normal, np.zeros(len(n), np.int32), (slot,))


def _cross(a: ArrayLike, b: ArrayLike) -> Floats:
    """Cross product over the last axis; numpy's own takes four times as long on a few vectors."""
    p, q = np.asarray(a, float), np.asarray(b, float)
    out = np.empty(np.broadcast_shapes(p.shape, q.shape))
    out[..., 0] = p[..., 1] * q[..., 2] - p[..., 2] * q[..., 1]
    out[..., 1] = p[..., 2] * q[..., 0] - p[..., 0] * q[..., 2]
    out[..., 2] = p[..., 0] * q[..., 1] - p[..., 1] * q[..., 0]
    return out


def _lengths(v: Floats) -> Floats:
    """Of vectors (..., k), shape (..., 1)."""
    return np.asarray(np.sqrt(np.einsum("...i,...i->...", v, v))[..., None])


def _flipped(mesh: Mesh) -> Mesh:
    return replace(mesh, xyz=mesh.xyz[:, ::-1], uv=mesh.uv[:, ::-1], normal=-mesh.normal[:, ::-1])


def _empty() -> Mesh:
    return Mesh(
        np.zeros((0, 3, 3)), np.zeros((0, 3, 2)), np.zeros((0, 3, 3)), np.zeros(0, np.int32), ("",)
    )


def _twice_area(xyz: Floats) -> Floats:
    return _lengths(_cross(xyz[:, 1] - xyz[:, 0], xyz[:, 2] - xyz[:, 0]))[:, 0]


def _anticlockwise(outline: ArrayLike) -> Floats:
    """An outline (n, 2) in the turn that has its area above 0 (the shoelace formula)."""
    o = np.asarray(outline, float)
    x, y = o[:, 0], o[:, 1]
    twice = x[:-1] @ y[1:] - x[1:] @ y[:-1] + x[-1] * y[0] - x[0] * y[-1]
    return o[::-1] if twice < 0 else o


def _ears(o: Floats) -> NDArray[np.int64]:
    """Triangles (m, 3) of a simple counter-clockwise outline, by cutting ears."""
    left = list(range(len(o)))
    corners: list[tuple[float, float]] = o.tolist()
    out = []

    def turn(a: int, b: int, c: int) -> float:
        (ax, ay), (bx, by), (cx, cy) = corners[a], corners[b], corners[c]
        return (bx - ax) * (cy - ay) - (by - ay) * (cx - ax)

    while len(left) > 3:
        for i in range(len(left)):
            a, b, c = left[i - 1], left[i], left[(i + 1) % len(left)]
            if turn(a, b, c) <= 1e-12:
                continue
            if any(
                turn(a, b, p) >= 0 and turn(b, c, p) >= 0 and turn(c, a, p) >= 0
                for p in left
                if p not in (a, b, c)
            ):
                continue
            out.append((a, b, c))
            del left[i]
            break
        else:  # no ear left: the outline crosses itself; what remains is dropped as a fan
            break
    out.extend((left[0], left[i], left[i + 1]) for i in range(1, len(left) - 1))
    return np.array(out, np.int64).reshape(-1, 3)
