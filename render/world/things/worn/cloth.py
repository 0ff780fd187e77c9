"""Sheets of cloth: through a grid of points, laid on a body."""

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from render.world.mesh import Mesh, grid_faces

__all__ = ["cloth", "laid_on", "on_front"]

Floats = NDArray[np.float64]
#: Signed distance of points (3, n), metres.
Field = Callable[[Floats], Floats]


def cloth(grid: Floats, uv: Floats, slot: str) -> Mesh:
    """A sheet through a grid of points (n, m, 3) with uv (n, m, 2) and smooth normals."""
    normal = np.cross(np.gradient(grid, axis=0), np.gradient(grid, axis=1))
    normal /= np.maximum(np.linalg.norm(normal, axis=-1, keepdims=True), 1e-12)

    def corners(field: Floats) -> Floats:
        return np.asarray(grid_faces(field)[:, [0, 1, 2, 0, 2, 3]].reshape(-1, 3, field.shape[-1]))

    xyz = corners(grid)
    return Mesh(xyz, corners(uv), corners(normal), np.zeros(len(xyz), np.int32), (slot,))


def on_front(field: Field, p: Floats) -> Floats:
    """Points (n, 3) moved along y onto the front of a body."""
    out = p.copy()
    out[:, 1] = -0.6
    for _ in range(50):
        out[:, 1] += np.clip(field(out.T), -0.05, 0.05)
    return out


def laid_on(field: Field, across: tuple[float, float], up: tuple[float, float]) -> Mesh:
    """A strip of the same cloth sewn on to the front of a top, 4 mm proud, its edges turned in."""
    s, t = np.linspace(*across, 9), np.linspace(*up, 25)
    x, z = np.meshgrid(s, t, indexing="ij")
    grid = on_front(field, np.stack([x, 0 * x, z], -1).reshape(-1, 3)).reshape(*x.shape, 3)
    rows, columns = (np.clip(np.arange(n), 1, n - 2) for n in x.shape)
    grid = grid[rows][:, columns]  # its edge goes straight in
    rim = np.ones(x.shape, bool)
    rim[1:-1, 1:-1] = False
    grid[..., 1] += np.where(rim, 0.002, -0.004)
    return cloth(grid, np.stack([x, z], -1) + 3.0, "top")
