"""The surface on which a distance field is zero, as quads with smooth normals.

Surface nets (Gibson 1998, "Constrained elastic surface nets", from memory) on a grid whose steps
may differ from place to place, so that an eyelid gets finer faces than the back of a head.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from render.world.mesh import Mesh

__all__ = ["Field", "Surface", "graded", "isosurface", "slope"]

Floats = NDArray[np.float64]
#: Signed distance of points (n, 3): negative inside, in the points' unit.
Field = Callable[[Floats], Floats]

#: Cells along the edge of a block, and of the parts into which the blocks that matter fall.
_BLOCK, _PART = 6, 2
_CORNERS = np.array([[i, j, k] for i in (0, 1) for j in (0, 1) for k in (0, 1)])
_EDGES = [(a, b) for a in range(8) for b in range(a + 1, 8) if bin(a ^ b).count("1") == 1]


@dataclass(frozen=True, slots=True, eq=False)
class Surface:
    """Points (n, 3) with unit normals (n, 3), and quads (m, 4) counter-clockwise from outside."""

    xyz: Floats
    normal: Floats
    quads: NDArray[np.int64]

    def mesh(self, uv: Floats, slot: str) -> Mesh:
        """Triangles with surface coordinates (n, 2) given for every point."""
        q = self.quads
        p = self.xyz[q]
        # the shorter diagonal keeps the faces even
        long = np.linalg.norm(p[:, 0] - p[:, 2], axis=1) > np.linalg.norm(p[:, 1] - p[:, 3], axis=1)
        q = np.where(long[:, None], np.roll(q, -1, axis=1), q)
        faces = q[:, [0, 1, 2, 0, 2, 3]].reshape(-1, 3)
        xyz = self.xyz[faces]
        twice = np.cross(xyz[:, 1] - xyz[:, 0], xyz[:, 2] - xyz[:, 0])
        keep = np.sum(twice * twice, axis=1) > 0
        slots = np.zeros(int(keep.sum()), np.int32)
        return Mesh(xyz[keep], uv[faces][keep], self.normal[faces][keep], slots, (slot,))


def graded(marks: Sequence[tuple[float, float]]) -> Floats:
    """Grid lines from the first mark to the last; each is (position, step wished there)."""
    at, step = np.asarray(marks, float).T
    fine = np.linspace(at[0], at[-1], 2000)
    count = np.concatenate([[0.0], np.cumsum(np.diff(fine) / np.interp(fine[1:], at, step))])
    lines = np.interp(np.linspace(0, count[-1], int(np.ceil(count[-1])) + 1), count, fine)
    return np.asarray(lines)


def slope(field: Field, xyz: Floats, step: float) -> tuple[Floats, Floats]:
    """Value (n,) and gradient (n, 3) of a field, by four corners of a tetrahedron."""
    corners = np.array([[1.0, -1, -1], [-1, -1, 1], [-1, 1, -1], [1, 1, 1]])
    there = (xyz[None] + step * corners[:, None]).reshape(-1, 3)
    values = np.asarray(field(there), float).reshape(4, -1)
    return values.mean(axis=0), np.einsum("kn,kc->nc", values, corners) / (4 * step)


def isosurface(field: Field, axes: Sequence[Floats], step: float) -> Surface:
    """Where `field` is zero inside the box that the grid lines span.

    Parameters
    ----------
    field : callable
        Signed distance, at most a fifth steeper than one.
    axes : three ascending arrays
        Grid lines along x, y and z, in the field's unit.
    step : float
        Step for normals: the size of the finest detail they show.

    Returns
    -------
    Surface
        Closed wherever the surface stays inside the box.
    """
    size = np.array([len(a) for a in axes])
    cells = _near_cells(field, axes, size)
    stride = np.array([size[1] * size[2], size[2], 1])
    corner = (cells @ stride)[:, None] + (_CORNERS @ stride)[None]
    rank = np.zeros(size.prod(), np.int32)
    rank[corner] = 1
    known = np.flatnonzero(rank)
    rank[known] = np.arange(len(known))
    place = np.stack(np.unravel_index(known, size), -1)
    there = np.stack([axes[c][place[:, c]] for c in range(3)], -1)
    value = np.asarray(field(there), float)[rank[corner]]
    inside = value < 0
    mixed = inside.any(axis=1) & ~inside.all(axis=1)
    cells, value, inside = cells[mixed], value[mixed], inside[mixed]
    xyz = _middles(axes, cells, value, inside)
    quads = _quads(cells, inside, stride)
    width = np.stack([np.diff(axes[c])[cells[:, c]] for c in range(3)], -1)
    g = value @ (0.5 * _CORNERS - 0.25) / width
    value = np.asarray(field(xyz), float)  # one step of Newton's onto the surface itself
    move = (value / np.maximum(np.sum(g * g, axis=1), 0.25))[:, None] * g
    room = 0.5 * width
    xyz = xyz - np.clip(move, -room, room)
    g = slope(field, xyz, step)[1]
    normal = g / np.maximum(np.linalg.norm(g, axis=1, keepdims=True), 1e-12)
    return Surface(xyz, normal, quads)


def _near_cells(field: Field, axes: Sequence[Floats], size: NDArray[np.int64]) -> NDArray[np.int64]:
    """Cells of all parts of blocks that the surface may pass, shape (n, 3)."""
    starts = [np.arange(0, n - 1, _BLOCK) for n in size]
    block = np.stack(np.meshgrid(*starts, indexing="ij"), -1).reshape(-1, 3)
    block = _passed(field, axes, block, _BLOCK, 0.75)
    part = _passed(field, axes, _within(block, _BLOCK, _PART, size), _PART, 1.1)
    return _within(part, _PART, 1, size)


def _passed(
    field: Field, axes: Sequence[Floats], block: NDArray[np.int64], wide: int, share: float
) -> NDArray[np.int64]:
    """Of blocks (n, 3) so many cells wide those that the surface may pass."""
    low, high = (
        np.stack([axes[c][np.minimum(block[:, c] + d, len(axes[c]) - 1)] for c in range(3)], -1)
        for d in (0, wide)
    )
    reach = share * np.linalg.norm(high - low, axis=1)
    return np.asarray(block[np.abs(field((low + high) / 2)) < reach])


def _within(
    block: NDArray[np.int64], wide: int, part: int, size: NDArray[np.int64]
) -> NDArray[np.int64]:
    """The parts of blocks (n, 3), all that have cells on the grid."""
    inner = np.stack(np.meshgrid(*[np.arange(0, wide, part)] * 3, indexing="ij"), -1).reshape(-1, 3)
    parts = (block[:, None] + inner[None]).reshape(-1, 3)
    return np.asarray(parts[np.all(parts < size - 1, axis=1)])


def _middles(
    axes: Sequence[Floats], cells: NDArray[np.int64], value: Floats, inside: NDArray[np.bool_]
) -> Floats:
    """Mean of the places where the surface crosses a cell's edges."""
    lines = np.stack([np.stack([axes[c][cells[:, c] + d] for d in (0, 1)], -1) for c in range(3)])
    total, count = np.zeros((len(cells), 3)), np.zeros(len(cells))
    rows = np.arange(len(cells))
    ends = [np.stack([lines[c, rows, _CORNERS[k, c]] for c in range(3)], axis=-1) for k in range(8)]
    for a, b in _EDGES:
        crossed = inside[:, a] != inside[:, b]
        t = np.where(crossed, value[:, a] / np.where(crossed, value[:, a] - value[:, b], 1.0), 0.0)
        total += np.where(crossed[:, None], ends[a] + t[:, None] * (ends[b] - ends[a]), 0.0)
        count += crossed
    return np.asarray(total / count[:, None])


def _quads(
    cells: NDArray[np.int64], inside: NDArray[np.bool_], stride: NDArray[np.int64]
) -> NDArray[np.int64]:
    """One quad round every crossed grid edge that four cells share."""
    number = cells @ stride
    order = np.argsort(number)
    ranked = number[order]
    out = []
    for axis in range(3):
        far = int(np.flatnonzero((np.eye(3, dtype=int)[axis] == _CORNERS).all(axis=1))[0])
        crossed = inside[:, 0] != inside[:, far]
        u, v = stride[(axis + 1) % 3], stride[(axis + 2) % 3]
        around = number[crossed][:, None] - np.array([0, u, u + v, v])[None]
        at = np.minimum(np.searchsorted(ranked, around), len(ranked) - 1)
        whole = (ranked[at] == around).all(axis=1)
        quad = order[at[whole]]
        leaves = inside[:, 0][crossed][whole]
        out.append(np.where(leaves[:, None], quad, quad[:, ::-1]))
    return np.concatenate(out)
