"""Meshes: triangles with picture coordinates, normals and the name of what they are made of.

Scene frame of this file and of every scene file: x east, y north, z up, metres.
A mesh is a soup of triangles: simple to cut, move and join, and the tracer wants it so.
Outward sides turn counter-clockwise.  `uv` is in metres along the surface (u along it, v up it),
so that a brick is a brick on every wall.
"""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

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
    m = np.eye(3) if matrix is None else np.asarray(matrix, float)
    c, s = math.cos(math.radians(turn_deg)), math.sin(math.radians(turn_deg))
    turn = np.array([[c, -s, 0.0], [s, c, 0.0], [0.0, 0.0, 1.0]])
    m = turn @ np.diag(np.broadcast_to(np.asarray(size, float), 3)) @ m
    xyz, uv, normal = mesh.xyz @ m.T, mesh.uv, mesh.normal @ np.linalg.inv(m)
    if np.linalg.det(m) < 0:
        xyz, uv, normal = xyz[:, ::-1], uv[:, ::-1], normal[:, ::-1]
    normal /= np.maximum(np.linalg.norm(normal, axis=-1, keepdims=True), 1e-12)
    spots = tuple((name, tuple((m @ p + at).tolist())) for name, p in mesh.spots)
    return replace(mesh, xyz=xyz + np.asarray(at, float), uv=uv, normal=normal, spots=spots)


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
    x, y, z = size[0] / 2, size[1] / 2, size[2]
    outline = [(-x, -y), (x, -y), (x, y), (-x, y)]
    return moved(extrude(outline, 0.0, z, slot, top or slot), at, turn_deg)


def grid_faces(grid: Floats) -> Floats:
    """The cells of a grid of points (n, m, k) as faces of four corners, row by row, (c, 4, k)."""
    corners = [grid[:-1, :-1], grid[1:, :-1], grid[1:, 1:], grid[:-1, 1:]]
    return np.stack(corners, axis=2).reshape(-1, 4, grid.shape[2])


def extrude(
    outline: ArrayLike, low: float, high: float, side: str, top: str, bottom: bool = True
) -> Mesh:
    """An upright prism over a counter-clockwise outline, shape (n, 2)."""
    o = np.asarray(outline, float)
    if _area(o) < 0:
        o = o[::-1]
    nxt = np.roll(o, -1, axis=0)
    run = np.concatenate([[0.0], np.cumsum(np.linalg.norm(nxt - o, axis=1))])
    n = len(o)
    corners = np.empty((n, 4, 3))
    corners[:, 0, :2], corners[:, 1, :2], corners[:, 2, :2], corners[:, 3, :2] = o, nxt, nxt, o
    corners[:, :2, 2], corners[:, 2:, 2] = low, high
    uv = np.empty((n, 4, 2))
    uv[:, 0, 0] = uv[:, 3, 0] = run[:-1]
    uv[:, 1, 0] = uv[:, 2, 0] = run[1:]
    uv[:, :2, 1], uv[:, 2:, 1] = low, high
    parts = [quads(corners, side, uv), sheet(o, high, top)]
    if bottom:
        parts.append(_flipped(sheet(o, low, side)))
    return join(parts)


def sheet(outline: ArrayLike, z: float, slot: str) -> Mesh:
    """A level sheet inside a simple outline, shape (n, 2); uv is (x, y)."""
    o = np.asarray(outline, float)
    if _area(o) < 0:
        o = o[::-1]
    faces = _ears(o)
    flat = o[faces]
    xyz = np.concatenate([flat, np.full((*flat.shape[:2], 1), z)], axis=-1)
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
    mesh = lathe([(0.0, 0.0), (radius, 0.0), (r1, height), (0.0, height)], slot, sides, top=top)
    return moved(mesh, at)


def tube(
    a: ArrayLike, b: ArrayLike, radius: float, slot: str, end: float | None = None, sides: int = 8
) -> Mesh:
    """A round bar from `a` to `b`, `end` its radius at `b`."""
    p, q = np.asarray(a, float), np.asarray(b, float)
    length = float(np.linalg.norm(q - p))
    if length < 1e-9:
        return _empty()
    z = (q - p) / length
    x = _cross([0.0, 0.0, 1.0] if abs(z[2]) < 0.9 else [1.0, 0.0, 0.0], z)
    x /= np.linalg.norm(x)
    frame = np.stack([x, _cross(z, x), z], axis=1)
    return moved(
        cylinder(radius, length, slot, top_radius=end, sides=sides), p.tolist(), matrix=frame
    )


def lathe(
    profile: ArrayLike, slot: str, sides: int = 16, smooth: bool = False, top: str | None = None
) -> Mesh:
    """A profile (radius, z) from bottom to top, turned about the z axis.

    Flat along the profile unless `smooth`; always round about the axis.
    """
    p = np.asarray(profile, float)
    angle = np.linspace(0.0, 2 * math.pi, sides + 1)
    ring = np.stack([np.cos(angle), np.sin(angle)], -1)
    step = np.diff(p, axis=0)
    length = np.hypot(step[:, 0], step[:, 1])
    flat = np.stack([step[:, 1], -step[:, 0]], -1) / np.maximum(length, 1e-12)[:, None]
    ends = np.stack([flat, flat], axis=1)
    if smooth:
        mean = np.zeros_like(p)
        mean[:-1] += flat * length[:, None]
        mean[1:] += flat * length[:, None]
        mean /= np.maximum(np.linalg.norm(mean, axis=1, keepdims=True), 1e-12)
        ends = np.stack([mean[:-1], mean[1:]], axis=1)
    run = np.concatenate([[0.0], np.cumsum(length)])
    widest = max(float(p[:, 0].max()), 1e-6)
    # the four corners of every face: below, below and further round, above it, above
    further, above = np.array([0, 1, 1, 0]), np.array([0, 0, 1, 1])
    at = np.arange(len(step))[:, None] + above
    side = np.arange(sides)[:, None] + further
    corner, normal = np.empty((2, len(step), sides, 4, 3))
    corner[..., :2], corner[..., 2] = p[at, 0][:, None, :, None] * ring[side], p[at, 1][:, None]
    normal[..., :2] = ring[side] * ends[:, above, 0][:, None, :, None]
    normal[..., 2] = ends[:, above, 1][:, None]
    uv = np.empty((len(step), sides, 4, 2))
    uv[..., 0], uv[..., 1] = angle[side] * widest, run[at][:, None]

    def faces(some: slice, name: str) -> Mesh:
        pick = [[0, 1, 2], [0, 2, 3]]
        xyz = corner[some][:, :, pick].reshape(-1, 3, 3)
        keep = _twice_area(xyz) > 1e-12
        return Mesh(
            xyz[keep],
            uv[some][:, :, pick].reshape(-1, 3, 2)[keep],
            normal[some][:, :, pick].reshape(-1, 3, 3)[keep],
            np.zeros(int(keep.sum()), np.int32),
            (name,),
        )

    if top and abs(step[-1, 1]) < 1e-9:
        return join([faces(slice(-1), slot), faces(slice(-1, None), top)])
    return join([faces(slice(None), slot)])


def ellipsoid(
    radii: Sequence[float],
    slot: str,
    at: Sequence[float] = (0.0, 0.0, 0.0),
    sides: int = 16,
    rings: int = 8,
) -> Mesh:
    """A smooth ball, or an egg, around `at`."""
    t = np.linspace(-math.pi / 2, math.pi / 2, rings + 1)
    ball = lathe(np.stack([np.cos(t), np.sin(t)], -1).clip(-1, 1), slot, sides, smooth=True)
    ball = replace(ball, normal=ball.xyz / np.linalg.norm(ball.xyz, axis=-1, keepdims=True))
    return moved(ball, at, size=radii)


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
    length = np.linalg.norm(n, axis=1)
    keep = length > 1e-12
    n = n[keep] / length[keep, None]
    normal = np.repeat(n[:, None, :], 3, axis=1)
    return Mesh(xyz[keep], uv[keep], normal, np.zeros(len(n), np.int32), (slot,))


def _cross(a: ArrayLike, b: ArrayLike) -> Floats:
    """Cross product over the last axis; numpy's own takes four times as long on a few vectors."""
    p, q = np.asarray(a, float), np.asarray(b, float)
    x = p[..., 1] * q[..., 2] - p[..., 2] * q[..., 1]
    y = p[..., 2] * q[..., 0] - p[..., 0] * q[..., 2]
    z = p[..., 0] * q[..., 1] - p[..., 1] * q[..., 0]
    return np.stack([x, y, z], axis=-1)


def _flipped(mesh: Mesh) -> Mesh:
    return replace(mesh, xyz=mesh.xyz[:, ::-1], uv=mesh.uv[:, ::-1], normal=-mesh.normal[:, ::-1])


def _empty() -> Mesh:
    return Mesh(
        np.zeros((0, 3, 3)), np.zeros((0, 3, 2)), np.zeros((0, 3, 3)), np.zeros(0, np.int32), ("",)
    )


def _twice_area(xyz: Floats) -> Floats:
    return np.asarray(np.linalg.norm(_cross(xyz[:, 1] - xyz[:, 0], xyz[:, 2] - xyz[:, 0]), axis=1))


def _area(o: Floats) -> float:
    x, y = o[:, 0], o[:, 1]
    return 0.5 * float(np.sum(x * np.roll(y, -1) - np.roll(x, -1) * y))


def _ears(o: Floats) -> NDArray[np.int64]:
    """Triangles (m, 3) of a simple counter-clockwise outline, by cutting ears."""
    left = list(range(len(o)))
    out = []

    def turn(a: int, b: int, c: int) -> float:
        (ax, ay), (bx, by), (cx, cy) = o[a], o[b], o[c]
        return float((bx - ax) * (cy - ay) - (by - ay) * (cx - ax))

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
