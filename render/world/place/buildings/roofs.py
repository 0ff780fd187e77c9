"""Roofs over any outline: planes, the least of which is the roof's height.

Every roof drawn here is concave from below, so its height anywhere is the least of its planes'
heights; that one rule gives the roof's faces, the tops of the walls and the gables.
"""

import itertools
import math
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry import Polygon

__all__ = ["Roof", "outline_axes", "roof_over"]

Floats = NDArray[np.float64]
#: How far the plan of a roof reaches beyond the rectangle round the outline, m.
_BEYOND = 3.0


@dataclass(frozen=True, slots=True, eq=False)
class Roof:
    """A roof's planes.

    Attributes
    ----------
    planes : ndarray, shape (k, 3)
        Height above the eaves is ``a x + b y + c``; the roof is the least of them.
    plans : tuple of Polygon
        Where each plane is the least, seen from above.
    """

    planes: Floats
    plans: tuple[Polygon, ...]

    def height(self, xy: Floats) -> Floats:
        """Height above the eaves at points, shape (n, 2)."""
        every = xy @ self.planes[:, :2].T + self.planes[:, 2]
        return np.asarray(every.min(axis=1))

    def breaks(self, a: Floats, b: Floats) -> list[float]:
        """Where along a to b, as shares, two planes are equal: the wall's top may bend there."""
        first = self.planes[:, :2] @ a + self.planes[:, 2]
        slope = self.planes[:, :2] @ (b - a)
        found = []
        for i in range(len(first)):
            for j in range(i):
                turn = slope[i] - slope[j]
                if abs(turn) > 1e-9:
                    share = float((first[j] - first[i]) / turn)
                    if 1e-3 < share < 1 - 1e-3:
                        found.append(share)
        return sorted(found)


def outline_axes(outline: Polygon) -> tuple[Floats, Floats, float, float]:
    """Middle, long direction, half length and half width of the rectangle round an outline."""
    corners = shapely.get_coordinates(shapely.oriented_envelope(outline))
    if len(corners) < 4:
        low, high = np.array(outline.bounds[:2]), np.array(outline.bounds[2:])
        corners = np.array([low, [high[0], low[1]], high, [low[0], high[1]]])
    sides = corners[1:3] - corners[0:2]
    lengths = np.hypot(sides[:, 0], sides[:, 1])
    long = int(np.argmax(lengths))
    along = sides[long] / max(float(lengths[long]), 1e-9)
    middle = corners[:4].mean(axis=0)
    return middle, along, float(lengths.max()) / 2, float(lengths.min()) / 2


def roof_over(
    outline: Polygon,
    shape: str,
    rise_m: float,
    across: bool = False,
    direction_deg: float | None = None,
) -> Roof | None:
    """The roof of a shape over an outline; None for a flat one.

    Parameters
    ----------
    outline : Polygon
        Metres.
    shape : str
        gabled, hipped, pyramidal, skillion or flat.
    rise_m : float
        From eaves to ridge.
    across : bool
        The ridge runs across the longer side.
    direction_deg : float, optional
        Compass heading down the slope of a skillion; across the longer side unless given.
    """
    if shape == "flat" or rise_m < 0.1:
        return None
    middle, u, half_u, half_v = outline_axes(outline)
    if across:
        u, half_u, half_v = np.array([-u[1], u[0]]), half_v, half_u
    v = np.array([-u[1], u[0]])
    if half_u < 0.3 or half_v < 0.3:
        return None
    if shape == "skillion":
        return _skillion(outline, middle, v, rise_m, direction_deg)
    if shape == "pyramidal" and _many_sided(outline):
        return _pointed(outline, rise_m)
    sides = [(v, half_v), (-v, half_v), (u, half_u), (-u, half_u)]
    least = min(half_u, half_v)
    planes = []
    for direction, reach in sides[: 2 if shape == "gabled" else 4]:
        slope = rise_m / (least if shape == "hipped" else reach)
        a = -slope * direction
        planes.append([a[0], a[1], slope * reach - float(a @ middle)])
    found = np.array(planes)
    frame = [
        middle + p * (half_u + _BEYOND) * u + q * (half_v + _BEYOND) * v
        for p, q in ((-1, -1), (1, -1), (1, 1), (-1, 1))
    ]
    return Roof(found, tuple(_plan(np.array(frame), found, k) for k in range(len(found))))


def _skillion(
    outline: Polygon, middle: Floats, v: Floats, rise: float, direction_deg: float | None
) -> Roof:
    down = v
    if direction_deg is not None:
        angle = math.radians(direction_deg)
        down = np.array([math.sin(angle), math.cos(angle)])
    along = shapely.get_coordinates(outline) @ down
    low, high = float(along.min()), float(along.max())
    slope = rise / max(high - low, 0.1)
    plane = np.array([[-slope * down[0], -slope * down[1], slope * high]])
    return Roof(plane, (outline.buffer(_BEYOND, join_style="mitre"),))


def _many_sided(outline: Polygon) -> bool:
    """A nearly convex outline of more than four corners: a turret, a round tower."""
    if outline.interiors:
        return False
    corners = len(shapely.get_coordinates(outline)) - 1
    return corners > 4 and outline.area > 0.93 * outline.convex_hull.area


def _pointed(outline: Polygon, rise: float) -> Roof:
    """A plane from every side to the point over the middle."""
    hull = shapely.get_coordinates(outline.convex_hull)
    if _signed_area(hull) < 0:
        hull = hull[::-1]
    top = np.array(outline.centroid.coords[0])
    planes, plans = [], []
    for a, b in itertools.pairwise(hull):
        side = b - a
        out = np.array([side[1], -side[0]]) / np.hypot(*side)
        reach = float(out @ (a - top))
        slope = rise / max(reach, 1e-6)
        n = -slope * out
        planes.append([n[0], n[1], rise - float(n @ top)])
        far = 1 + _BEYOND / max(reach, 1e-6)
        plans.append(Polygon([top, top + far * (a - top), top + far * (b - top)]))
    return Roof(np.array(planes), tuple(plans))


def _signed_area(ring: Floats) -> float:
    x, y = ring[:, 0], ring[:, 1]
    return 0.5 * float(np.sum(x[:-1] * y[1:] - x[1:] * y[:-1]))


def _plan(frame: Floats, planes: Floats, k: int) -> Polygon:
    """Where plane k is the least: the frame cut by a half plane for each other one."""
    ring = frame
    for j in range(len(planes)):
        if j == k or not len(ring):
            continue
        more = planes[k] - planes[j]
        side = ring @ more[:2] + more[2]
        out = []
        for i in range(len(ring)):
            p, q, s, t = ring[i - 1], ring[i], side[i - 1], side[i]
            if (s <= 0) != (t <= 0):
                out.append(p + (q - p) * s / (s - t))
            if t <= 0:
                out.append(q)
        ring = np.array(out).reshape(-1, 2)
    hull = shapely.MultiPoint(ring).convex_hull  # corners that rounding doubled are no trouble
    return hull if isinstance(hull, Polygon) else Polygon()
