"""The ground: its height everywhere, and its mesh."""

import math
from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache, partial

import numpy as np
from numpy.typing import NDArray

from render.optics.terrain import rise_before
from render.world.description import Ground
from render.world.mesh import Mesh, grid_faces, quads

__all__ = [
    "FAR_M",
    "GroundBefore",
    "ground_cells",
    "ground_height",
    "ground_lattice",
    "ground_lines",
    "ground_mesh",
    "ground_normal",
    "is_flat",
    "mesh_height",
]

#: Half the width of everything: out to where haze ends the view.
FAR_M = 12000.0
#: Steps of the mesh over the shaped part.
_STEPS = 220


def ground_height(
    ground: Ground, x: NDArray[np.float64], y: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Height (m) of the ground at x east, y north."""
    if ground.relief is not None:
        return mesh_height(ground, np.asarray(x, float), np.asarray(y, float))
    z = np.full(np.broadcast(x, y).shape, ground.level_m)
    if ground.profile_m:
        a = math.radians(ground.profile_deg)
        along = np.asarray(x) * math.sin(a) + np.asarray(y) * math.cos(a)
        eased, first, last = _easing(ground.profile_m)
        z = z + eased(np.clip(along, first, last))
    for hx, hy, radius, height in ground.hills_m:
        square = ((x - hx) ** 2 + (y - hy) ** 2) / radius**2
        z = z + height * np.exp(-2.0 * square)
    if ground.rolling_m:
        wave = np.sin(x / 11.3 + 1.1) * np.cos(y / 9.1 - 0.4) + 0.5 * np.sin(x / 4.7 - y / 5.9)
        z = z + ground.rolling_m * 0.5 * wave
    return np.asarray(z)


@lru_cache(maxsize=8)
def _easing(
    profile_m: tuple[tuple[float, float], ...],
) -> tuple[Callable[[NDArray[np.float64]], NDArray[np.float64]], float, float]:
    """A profile with level tangents only where its slope changes sign (PCHIP), and its ends."""
    from scipy.interpolate import PchipInterpolator  # a quarter of a second; most ground is flat

    knots, values = zip(*profile_m, strict=True)
    return PchipInterpolator(knots, values), knots[0], knots[-1]


def is_flat(ground: Ground) -> bool:
    """Whether the ground is one level plane."""
    shaped = ground.profile_m or ground.hills_m or ground.rolling_m
    return not shaped and ground.relief is None


def ground_lattice(ground: Ground) -> tuple[float, float, int]:
    """South-western corner (east and north alike), step (m) and number of steps of its mesh."""
    count = _STEPS if ground.relief is None else len(ground.relief.heights_m) - 1
    return -ground.extent_m, 2 * ground.extent_m / count, count


def mesh_height(
    ground: Ground, x: NDArray[np.float64], y: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Height (m) of the ground's mesh, flat within each triangle, at x east, y north."""
    start, step, _ = ground_lattice(ground)
    return _between_nodes(_nodes(ground), (x - start) / step, (y - start) / step)


@dataclass(frozen=True, slots=True)
class GroundBefore:
    """A scene's ground as it lies before a camera, for `render.optics.camera.Vantage`.

    Attributes
    ----------
    ground : Ground
    east_m, north_m : float
        Where the camera stands.
    heading_deg : float
        Compass heading that it looks in.
    """

    ground: Ground
    east_m: float
    north_m: float
    heading_deg: float

    def rise_m(
        self, right_m: NDArray[np.float64], ahead_m: NDArray[np.float64]
    ) -> NDArray[np.float64]:
        """Height (m) over the ground below the lens at level metres to the right and ahead."""
        place = self.east_m, self.north_m, self.heading_deg
        return rise_before(partial(mesh_height, self.ground), *place, right_m, ahead_m)


def ground_normal(
    ground: Ground, x: NDArray[np.float64], y: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Unit normals of the ground, shape (..., 3)."""
    reach = 0.5 if ground.relief is None else ground_lattice(ground)[1]
    dx = ground_height(ground, x + reach, y) - ground_height(ground, x - reach, y)
    dy = ground_height(ground, x, y + reach) - ground_height(ground, x, y - reach)
    n = np.stack([-dx, -dy, np.full_like(dx, 2 * reach)], -1)
    return np.asarray(n / np.linalg.norm(n, axis=-1, keepdims=True))


def ground_mesh(ground: Ground) -> Mesh:
    """The ground out to the horizon: fine where it is shaped, one frame of large faces beyond."""
    if ground.land is not None:
        return ground.land
    cells = len(ground_lines(ground)) - 1
    return ground_cells(ground, np.ones((cells, cells), bool))


def ground_lines(ground: Ground) -> NDArray[np.float64]:
    """Where the lines of the ground's mesh run, east and north alike, out to the horizon, m."""
    if is_flat(ground):
        return np.array([-FAR_M, FAR_M])
    e = ground.extent_m
    inner = np.linspace(-e, e, ground_lattice(ground)[2] + 1)
    return np.concatenate([[-FAR_M], inner, [FAR_M]])


def ground_cells(ground: Ground, cells: NDArray[np.bool_]) -> Mesh:
    """Some cells of the ground's mesh, first axis east, between the lines of `ground_lines`."""
    flat = is_flat(ground)
    z = np.full((2, 2), ground.level_m) if flat else np.pad(_nodes(ground), 1, mode="edge")
    s = ground_lines(ground)
    x, y = np.meshgrid(s, s, indexing="ij")
    p = np.stack([x, y, z], -1)
    corners = grid_faces(p)[cells.ravel()]
    mesh = quads(corners, "ground", corners[..., :2])
    if flat:
        return mesh
    normal = ground_normal(ground, mesh.xyz[..., 0], mesh.xyz[..., 1])
    return Mesh(mesh.xyz, mesh.uv, normal, mesh.slot, mesh.slots)


@lru_cache(maxsize=4)
def _nodes(ground: Ground) -> NDArray[np.float64]:
    """Heights at the corners of the ground's mesh."""
    start, step, count = ground_lattice(ground)
    if ground.relief is not None:
        return ground.level_m + ground.relief.heights_m
    s = start + step * np.arange(count + 1)
    return ground_height(ground, *np.meshgrid(s, s, indexing="ij"))


def _between_nodes(
    nodes: NDArray[np.float64], u: NDArray[np.float64], v: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Heights at lattice coordinates; each cell is parted by its rising diagonal."""
    u, v = (np.clip(c, 0.0, len(nodes) - 1.0) for c in (u, v))
    i, j = (np.minimum(c.astype(np.intp), len(nodes) - 2) for c in (u, v))
    a, b = u - i, v - j
    near, far = nodes[i, j], nodes[i + 1, j + 1]
    below = near + a * (nodes[i + 1, j] - near) + b * (far - nodes[i + 1, j])
    above = near + b * (nodes[i, j + 1] - near) + a * (far - nodes[i, j + 1])
    return np.asarray(np.where(a >= b, below, above))
