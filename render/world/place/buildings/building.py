"""Walls, roofs, parapets and chimneys of buildings, from their outlines and heights."""

import itertools
from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry import Polygon

from render.world.place.buildings.looks import Look
from render.world.place.buildings.roofs import Roof, outline_axes
from render.world.place.heights import Standing
from render.world.place.soup import Soup

__all__ = ["Building", "add_building"]

Floats = NDArray[np.float64]

#: Edges that turn by less belong to one curved wall.
_CURVED_DEG = 18.0
_PARAPET_M, _PARAPET_WIDE_M = 0.35, 0.25
#: Walls go on below the ground, which may fall away along them.
_BELOW_M = 2.0
#: Roofs nearer than this to the vantage carry nothing that is made up, m.
_FREE_M = 12.0
#: Farther away than this, m, small parts are left out.
_NEAR_M = 700.0


@dataclass(frozen=True, slots=True, eq=False)
class Building:
    """A building, or a part of one, ready to be drawn.

    Attributes
    ----------
    outline : Polygon
        Metres, valid.
    ground_m : float
        Height of the ground it stands on.
    standing : Standing
    roof : Roof or None
        None is flat.
    look : Look
    seed : int
    alone : bool
        Whether no other building touches it: its roof then overhangs.
    name : str
    """

    outline: Polygon
    ground_m: float
    standing: Standing
    roof: Roof | None
    look: Look
    seed: int
    alone: bool = False
    name: str = ""


def add_building(soup: Soup, b: Building) -> None:
    """Draw one building."""
    outline = shapely.geometry.polygon.orient(b.outline, 1.0)
    distance = outline.distance(shapely.Point(0, 0))
    near = distance < _NEAR_M
    eaves = b.ground_m + b.standing.eaves_m
    for ring in (outline.exterior, *outline.interiors):
        _add_walls(soup, b, shapely.get_coordinates(ring), eaves)
    if b.standing.low_m > 0:
        soup.flat(outline, (0.0, 0.0, b.ground_m + b.standing.low_m), b.look.plain, down=True)
    if b.roof is None:
        _add_flat_roof(soup, b, outline, eaves, near)
        return
    cover = outline
    if b.alone and near:
        cover = outline.buffer(0.35, join_style="mitre", mitre_limit=2.0)
    for plane, plan in zip(b.roof.planes, b.roof.plans, strict=True):
        for piece in _polygons(cover.intersection(plan)):
            lifted = (float(plane[0]), float(plane[1]), float(plane[2]) + eaves + 0.02)
            soup.flat(piece, lifted, b.look.roof)
    embellished = near and distance > _FREE_M and b.standing.how != "given"
    if embellished and b.look.chimney and b.standing.top_m - b.standing.eaves_m > 1.0:
        _add_chimney(soup, b, eaves)


def _polygons(shape: shapely.Geometry) -> Iterable[Polygon]:
    parts = shapely.get_parts(shape)
    return (p for p in parts if isinstance(p, Polygon) and p.area > 1e-3)


def _add_walls(soup: Soup, b: Building, ring: Floats, eaves: float) -> None:
    a, z = ring[:-1], ring[1:]
    step = z - a
    length = np.hypot(step[:, 0], step[:, 1])
    heading = np.degrees(np.arctan2(step[:, 1], step[:, 0]))
    turn = (heading - np.roll(heading, 1) + 180) % 360 - 180
    corner = np.flatnonzero(np.abs(turn) > _CURVED_DEG)
    starts = corner if len(corner) else np.array([0])
    low = b.ground_m + b.standing.low_m
    foot = low - (_BELOW_M if b.standing.low_m == 0 else 0.0)
    tall = eaves - low
    storeys = max(1, round(tall / b.look.storey_m))
    rise = b.look.storey_m * storeys / max(tall, 0.1)
    count = len(a)
    for number, start in enumerate(starts):
        end = starts[(number + 1) % len(starts)]
        edges = [(start + k) % count for k in range(((end - start - 1) % count) + 1)]
        run = float(length[edges].sum())
        bays = int(run / b.look.bay_m)
        slot = b.look.wall if bays and b.look.wall else b.look.plain
        wide = b.look.bay_m * bays / run if slot == b.look.wall else 1.0
        at = b.look.bay_m * ((b.seed + 17 * number) % 997)  # another wall, other panes
        for k in edges:
            u0, u1 = at, at + wide * float(length[k])
            at = u1
            v0, v1 = (foot - low) * rise, tall * rise
            (ax, ay), (bx, by) = a[k].tolist(), z[k].tolist()
            soup.quad(
                ((ax, ay, foot), (bx, by, foot), (bx, by, eaves), (ax, ay, eaves)),
                ((u0, v0), (u1, v0), (u1, v1), (u0, v1)),
                slot,
            )
            if b.roof is not None:
                _add_gable(soup, b, a[k], z[k], eaves)


def _add_gable(soup: Soup, b: Building, start: Floats, end: Floats, eaves: float) -> None:
    """What of a wall stands above the eaves, up to the roof."""
    assert b.roof is not None
    shares = np.array([0.0, *b.roof.breaks(start, end), 1.0])
    points = start + shares[:, None] * (end - start)
    high = np.maximum(b.roof.height(points), 0.0)
    if high.max() < 0.02:
        return
    run = float(np.hypot(*(end - start)))
    for k in range(len(shares) - 1):
        if max(high[k], high[k + 1]) < 0.02:
            continue
        (ax, ay), (bx, by) = points[k].tolist(), points[k + 1].tolist()
        u0, u1 = run * shares[k], run * shares[k + 1]
        h0, h1 = float(high[k]), float(high[k + 1])
        soup.quad(
            ((ax, ay, eaves), (bx, by, eaves), (bx, by, eaves + h1), (ax, ay, eaves + h0)),
            ((u0, 0.0), (u1, 0.0), (u1, h1), (u0, h0)),
            b.look.plain,
        )


def _add_flat_roof(soup: Soup, b: Building, outline: Polygon, eaves: float, near: bool) -> None:
    inner = outline.buffer(-_PARAPET_WIDE_M, join_style="mitre", mitre_limit=2.0)
    tall = b.standing.eaves_m - b.standing.low_m
    if not near or not isinstance(inner, Polygon) or inner.area < 25 or tall < 2.5:
        soup.flat(outline, (0.0, 0.0, eaves), b.look.roof)
        return
    deck = eaves - _PARAPET_M
    soup.flat(outline.difference(inner), (0.0, 0.0, eaves), b.look.plain)
    soup.flat(inner, (0.0, 0.0, deck), b.look.roof)
    inner = shapely.geometry.polygon.orient(inner, -1.0)
    for ring in (inner.exterior, *inner.interiors):
        points = shapely.get_coordinates(ring).tolist()
        for start, end in itertools.pairwise(points):
            soup.wall(start, end, deck, eaves, b.look.plain)
    free = b.outline.distance(shapely.Point(0, 0)) > _FREE_M  # nothing made up before the lens
    if b.standing.how != "given" and b.look.wall and inner.area > 120 and tall > 8 and free:
        _add_stair_head(soup, b, inner, deck)


def _add_stair_head(soup: Soup, b: Building, deck: Polygon, floor: float) -> None:
    """The small house over the stairs and a vent or two, as flat roofs have them.

    Not where the map gives the height of the highest point.
    """
    middle, along, half_u, _ = outline_axes(deck)
    across = np.array([-along[1], along[0]])
    for number, (share, long, wide, tall) in enumerate(
        ((0.3, 1.9, 1.4, 2.4), (-0.35, 0.8, 0.8, 0.9), (-0.1, 0.5, 0.5, 0.6))
    ):
        side = 1.0 if (b.seed >> number) & 1 else -1.0
        at = middle + share * side * half_u * along
        signs = ((-1, -1), (1, -1), (1, 1), (-1, 1))
        corners = np.array([at + p * long * along + q * wide * across for p, q in signs])
        if deck.buffer(-0.6).contains(Polygon(corners)):
            soup.block(corners, floor, floor + tall, b.look.plain)


def _add_chimney(soup: Soup, b: Building, eaves: float) -> None:
    assert b.roof is not None
    middle, along, half_u, half_v = outline_axes(b.outline)
    if half_v < 2.0:
        return
    across = np.array([-along[1], along[0]])
    side = 1.0 if b.seed & 1 else -1.0
    at = middle + side * (0.3 + 0.05 * (b.seed % 5)) * half_u * along + 0.12 * half_v * across
    signs = ((-1, -1), (1, -1), (1, 1), (-1, 1))
    corners = np.array([at + 0.4 * p * along + 0.3 * q * across for p, q in signs])
    if b.outline.contains(Polygon(corners)):
        foot = float(b.roof.height(corners).min())
        top = float(b.roof.height(corners).max()) + 0.9
        soup.block(corners, eaves + foot - 0.2, eaves + top, "brick")
