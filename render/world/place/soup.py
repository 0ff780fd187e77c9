"""Gathering walls and flat faces of thousands of things into one mesh."""

from collections.abc import Sequence

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry import Polygon

from render.world.mesh import Mesh, join

__all__ = ["Soup", "triangles_of"]

Floats = NDArray[np.float64]
Plane = tuple[float, float, float]
Corner = tuple[float, float, float]


def triangles_of(polygons: Sequence[Polygon]) -> tuple[Floats, NDArray[np.intp]]:
    """Cut polygons, holes and all, into triangles (constrained Delaunay, by GEOS).

    Returns
    -------
    corners, index : ndarrays, shapes (n, 3, 2) and (n,)
        Counter-clockwise, and which polygon each is of.
    """
    if not len(polygons):
        return np.zeros((0, 3, 2)), np.zeros(0, np.intp)
    cut = shapely.constrained_delaunay_triangles(np.asarray(polygons, dtype=object))
    parts, index = shapely.get_parts(cut, return_index=True)
    corners = shapely.get_coordinates(parts).reshape(-1, 4, 2)[:, :3]
    a, b = corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]
    clockwise = a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0] < 0
    corners = np.where(clockwise[:, None, None], corners[:, ::-1], corners)
    return corners, index


class Soup:
    """Faces on their way into a mesh; a slot's name is its material's."""

    def __init__(self) -> None:
        self._names: dict[str, int] = {}
        self._corners: list[Sequence[Corner]] = []
        self._uv: list[Sequence[tuple[float, float]]] = []
        self._wall_slot: list[int] = []
        self._flats: list[Polygon] = []
        self._planes: list[Plane] = []
        self._down: list[bool] = []
        self._flat_slot: list[int] = []

    def quad(self, corners: Sequence[Corner], uv: Sequence[tuple[float, float]], slot: str) -> None:
        """Add a face of four corners, counter-clockwise from outside."""
        self._corners.append(corners)
        self._uv.append(uv)
        self._wall_slot.append(self._names.setdefault(slot, len(self._names)))

    def flat(self, polygon: Polygon, plane: Plane, slot: str, *, down: bool = False) -> None:
        """Add a polygon seen from above at ``z = a x + b y + c``, or from below."""
        self._flats.append(polygon)
        self._planes.append(plane)
        self._down.append(down)
        self._flat_slot.append(self._names.setdefault(slot, len(self._names)))

    def wall(
        self,
        start: Sequence[float],
        end: Sequence[float],
        low: float,
        high: float,
        slot: str,
    ) -> None:
        """Add an upright face over a line, seen with its start to the left."""
        (ax, ay), (bx, by) = start, end
        run = float(np.hypot(bx - ax, by - ay))
        self.quad(
            ((ax, ay, low), (bx, by, low), (bx, by, high), (ax, ay, high)),
            ((0.0, 0.0), (run, 0.0), (run, high - low), (0.0, high - low)),
            slot,
        )

    def block(self, corners: Floats, low: float, high: float, slot: str) -> None:
        """Add a box over four corners, counter-clockwise from above, without its foot."""
        p = [(float(x), float(y)) for x, y in corners]
        for start, end in zip(p, [*p[1:], p[0]], strict=True):
            self.wall(start, end, low, high, slot)
        top = [(x, y, high) for x, y in p]
        self.quad(top, p, slot)

    def mesh(self) -> Mesh:
        """Everything that was added."""
        names = tuple(self._names)
        parts = []
        if self._corners:
            parts.append(self._upright(names))
        if self._flats:
            parts.append(self._laid(names))
        return join(parts)

    def _upright(self, names: tuple[str, ...]) -> Mesh:
        pick = np.array([[0, 1, 2], [0, 2, 3]])
        xyz = np.array(self._corners)[:, pick].reshape(-1, 3, 3)
        uv = np.array(self._uv)[:, pick].reshape(-1, 3, 2)
        slot = np.repeat(np.array(self._wall_slot, np.int32), 2)
        normal = np.cross(xyz[:, 1] - xyz[:, 0], xyz[:, 2] - xyz[:, 0])
        length = np.linalg.norm(normal, axis=1)
        has_area = length > 1e-9
        unit = normal[has_area] / length[has_area, None]
        return Mesh(
            xyz[has_area], uv[has_area], np.repeat(unit[:, None], 3, axis=1), slot[has_area], names
        )

    def _laid(self, names: tuple[str, ...]) -> Mesh:
        flat, index = triangles_of(self._flats)
        plane = np.array(self._planes)[index]
        a, b, c = (plane[:, None, k] for k in range(3))
        z = a * flat[..., 0] + b * flat[..., 1] + c
        xyz = np.concatenate([flat, z[..., None]], axis=2)
        steep = np.hypot(a, b)
        down_x, down_y = -a / np.maximum(steep, 1e-9), -b / np.maximum(steep, 1e-9)
        level = steep < 1e-6
        u = np.where(level, flat[..., 0], -down_y * flat[..., 0] + down_x * flat[..., 1])
        up = -(down_x * flat[..., 0] + down_y * flat[..., 1]) * np.sqrt(1 + steep**2)
        uv = np.stack([u, np.where(level, flat[..., 1], up)], axis=-1)
        normal = np.concatenate([-plane[:, :2], np.ones((len(plane), 1))], axis=1)
        normal /= np.linalg.norm(normal, axis=1, keepdims=True)
        down = np.array(self._down)[index]
        xyz[down], uv[down] = xyz[down][:, ::-1], uv[down][:, ::-1]
        normal[down] *= -1
        slot = np.array(self._flat_slot, np.int32)[index]
        return Mesh(xyz, uv, np.repeat(normal[:, None], 3, axis=1), slot, names)
