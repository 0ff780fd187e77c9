"""The sea from its coastline: land lies on the left of each line's way, water on the right.

That is OpenStreetMap's rule for ``natural=coastline`` (its wiki, "Coastline"). The lines cut the
reach into faces; a face is sea if the coast along its rim has it on the right.
"""

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry import LineString, Polygon
from shapely.geometry.base import BaseGeometry

__all__ = ["sea_of"]

_BESIDE_M = 0.05  # so far beside a coast its side is looked up
_MOST_LOOKED = 400  # places along the coast of a face


def sea_of(coast: list[BaseGeometry], disc: Polygon) -> tuple[BaseGeometry, bool]:
    """Sea inside a disc, and whether a coast ended inside it and was drawn straight on.

    Parameters
    ----------
    coast : list of lines
        In metres, each with land on the left of its way.
    disc : Polygon
        The reach.
    """
    if not coast:
        return Polygon(), False
    parts = [part for line in coast for part in shapely.get_parts(line)]
    joined = shapely.line_merge(shapely.multilinestrings(parts), directed=True)
    lines = [part for part in shapely.get_parts(joined) if isinstance(part, LineString)]
    whole = [_carried_on(line, disc) for line in lines]
    inside = [line for line, _ in whole if line.intersects(disc)]
    ended = any(cut for line, cut in whole if line.intersects(disc))
    if not inside:
        return Polygon(), False
    rims = shapely.union_all([disc.boundary, *inside])
    faces = shapely.get_parts(shapely.polygonize([rims]))
    sea = [face for face in faces if disc.covers(face.representative_point())]
    sea = [face for face in sea if _is_sea(face, inside)]
    return shapely.union_all(sea), ended


def _carried_on(line: LineString, disc: Polygon) -> tuple[LineString, bool]:
    """A line whose open ends inside the disc go straight on out of it; whether one did."""
    if line.is_closed:
        return line, False
    points = shapely.get_coordinates(line)
    far = 4.0 * float(np.sqrt(disc.area))
    ends = []
    for end, before in ((points[0], points[1]), (points[-1], points[-2])):
        inside = disc.contains(shapely.Point(end))
        way = (end - before) / max(float(np.hypot(*(end - before))), 1e-9)
        ends.append([end + far * way] if inside else [])
    carried = LineString(np.array([*ends[0], *points, *ends[1]]))
    return carried, bool(ends[0] or ends[1])


def _is_sea(face: BaseGeometry, coast: list[LineString]) -> bool:
    """Whether more of the coast along a face's rim has it on the right than on the left."""
    right = left = 0
    for line in coast:
        shared = shapely.intersection(line, face.buffer(_BESIDE_M))
        for part in shapely.get_parts(shared):
            if not isinstance(part, LineString) or part.length < 2 * _BESIDE_M:
                continue
            for at, way in _looked(part, line):
                off = 2.0 * _BESIDE_M * np.array([way[1], -way[0]])
                right += face.contains(shapely.Point(at + off))
                left += face.contains(shapely.Point(at - off))
    return right > left


def _looked(
    part: LineString, line: LineString
) -> list[tuple[NDArray[np.float64], NDArray[np.float64]]]:
    """Places along a part of a coast, and the coast's way there."""
    count = int(np.clip(part.length / 10.0, 1, _MOST_LOOKED))
    found = []
    for share in (np.arange(count) + 0.5) / count:
        middle = line.project(part.interpolate(float(share), normalized=True))
        a, b = (
            shapely.get_coordinates(line.interpolate(middle + step))[0] for step in (-0.02, 0.02)
        )
        length = float(np.hypot(*(b - a)))
        if length > 0:
            found.append(((a + b) / 2, (b - a) / length))
    return found
