"""Bridges at their height: decks that clear what they cross, and the ramps that lead up to them.

One rule gives every height. Each crossing asks for a height of the deck above what is crossed;
from there the way falls at the steepest usual grade along the network of ways, bridge or not,
until it meets the ground. Clearances, grades and sizes are common practice, no source.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from scipy.sparse import coo_matrix
from scipy.sparse.csgraph import dijkstra
from shapely.geometry import LineString
from shapely.geometry.base import BaseGeometry

from render.world.line import run_along
from render.world.place.grounds.cover import LAYERS, strip_of, within
from render.world.place.grounds.waters import Waters
from render.world.place.heights import parse_levels
from render.world.place.mapdata import Feature
from render.world.place.soup import Soup

__all__ = ["Raised", "add_bridges", "raised_ways"]

Floats = NDArray[np.float64]
Height = Callable[[Floats], Floats]

#: Free height over what is crossed, m, without the deck's own thickness.
_OVER_RAIL_M, _OVER_STREET_M, _OVER_PATH_M = 5.5, 4.6, 2.6
_OVER_WATER_M, _OVER_BROOK_M, _BROOK_M2 = 3.0, 0.9, 60.0
_DECK_M = 0.7
#: Steepest ramps: usual ones are gentler, but longer than most maps leave room for.
_GRADES = {"rail": 0.03, "street": 0.07, "path": 0.12}
#: The deck is level so far to both sides of a crossing's edge, m.
_LEVEL_M = 3.0
_STEP_M = 4.0
#: A way that lies lower than this above the ground is drawn on it, m.
_ON_GROUND_M = 0.12
_RAILING_M, _RAILING_WIDE_M = 1.0, 0.22
_PIER_EVERY_M, _PIER_LEAST_M = 18.0, 2.2


@dataclass(frozen=True, slots=True, eq=False)
class Raised:
    """A way, or a part of one, that leaves the ground.

    Attributes
    ----------
    points : ndarray, shape (n, 2)
    deck_m, ground_m : ndarrays, shape (n,)
        Heights of its top, and of the ground or the water below.
    width_m : float
    layer : str
        Whose material it wears.
    bridge : bool
        Whether one sees under it; a ramp is an embankment.
    """

    points: Floats
    deck_m: Floats
    ground_m: Floats
    width_m: float
    layer: str
    bridge: bool


@dataclass(frozen=True, slots=True, eq=False)
class _Way:
    """A way on or above the ground, and which of the features it is."""

    number: int
    line: LineString
    layer: str
    width_m: float
    bridge: bool
    level: float

    @property
    def family(self) -> str:
        """Which ways join it: rails, streets or paths."""
        if self.layer == "gravel bed":
            return "rail"
        return "street" if self.layer == "street" else "path"


def raised_ways(
    features: Sequence[Feature], reach_m: float, waters: Waters, ground: Height
) -> tuple[list[Raised], set[int], int]:
    """Every way that bridges lift off the ground.

    Parameters
    ----------
    features : sequence of Feature
        Metres.
    reach_m : float
        Farther ways stay on the ground.
    waters : Waters
    ground : callable
        Heights of the ground at points, shape (n, 2).

    Returns
    -------
    raised : list of Raised
    gone : set of int
        Numbers of the features that lie nowhere on the ground any more.
    bridges : int
        How many ways are bridges.
    """
    ways = _ways(features, reach_m)

    def surface(points: Floats) -> Floats:
        level = waters.level_m(points, ground)
        return np.where(np.isnan(level), ground(points), level)

    raised: list[Raised] = []
    gone: set[int] = set()
    tree = shapely.STRtree([way.line for way in ways])
    for family, grade in _GRADES.items():
        mine = [way for way in ways if way.family == family]
        if not any(way.bridge for way in mine):
            continue
        asked = _asked(mine, ways, tree, waters.shape, surface)
        heights = _heights(mine, asked, ground, grade)
        for way, (points, deck) in zip(mine, heights, strict=True):
            below = surface(points)
            if not way.bridge and np.all(deck - below < _ON_GROUND_M):
                continue
            gone.add(way.number)
            raised.append(Raised(points, deck, below, way.width_m, way.layer, way.bridge))
    return raised, gone, sum(way.bridge for way in ways)


def _ways(features: Sequence[Feature], reach_m: float) -> list[_Way]:
    disc = shapely.Point(0, 0).buffer(reach_m)
    found = []
    for number, feature in enumerate(features):
        strip = strip_of(feature.tags)
        in_tunnel = feature.tags.get("tunnel", "no") != "no"
        if strip is None or in_tunnel or strip[0] == "water":
            continue
        line = within(feature.shape, disc)
        if not isinstance(line, LineString) or not line.intersects(disc):
            continue
        bridge = feature.tags.get("bridge", "no") != "no"
        level = parse_levels(feature.tags.get("layer", "")) or (1.0 if bridge else 0.0)
        found.append(_Way(number, line, *strip, bridge, level))
    return found


def _asked(
    mine: Sequence[_Way],
    every: Sequence[_Way],
    tree: shapely.STRtree,
    water: BaseGeometry,
    surface: Height,
) -> dict[int, list[tuple[float, float, float]]]:
    """For each bridge: places along it where a height is asked: from, to and height."""
    asked: dict[int, list[tuple[float, float, float]]] = {}
    for number, way in enumerate(mine):
        if not way.bridge:
            continue
        places = asked.setdefault(number, [])
        for k in tree.query(way.line, predicate="intersects").tolist():
            lower = every[k]
            if lower is way or lower.level >= way.level or lower.line.touches(way.line):
                continue
            free = {"rail": _OVER_RAIL_M, "street": _OVER_STREET_M, "path": _OVER_PATH_M}
            under = lower.line.intersection(way.line)
            for point in shapely.get_parts(under):
                at = way.line.project(point.centroid)
                half = lower.width_m / 2 + _LEVEL_M
                z = float(surface(np.array([point.centroid.coords[0]]))[0])
                places.append((at - half, at + half, z + free[lower.family] + _DECK_M))
        for part in shapely.get_parts(way.line.intersection(water)):
            if part.length < 0.5:
                continue
            ends = sorted(way.line.project(shapely.Point(p)) for p in part.boundary.geoms)
            brook = part.length * part.length < _BROOK_M2
            free_m = _OVER_BROOK_M if brook else _OVER_WATER_M
            z = float(surface(shapely.get_coordinates(part.centroid))[0])
            places.append((ends[0], ends[-1], z + free_m + (0.0 if brook else _DECK_M)))
    return asked


def _heights(
    ways: Sequence[_Way],
    asked: Mapping[int, list[tuple[float, float, float]]],
    ground: Height,
    grade: float,
) -> list[tuple[Floats, Floats]]:
    """Points along each way, and the height of its top there."""
    nodes: dict[tuple[int, int] | tuple[int, int, str], int] = {}
    rows: list[tuple[Floats, NDArray[np.intp]]] = []
    links: list[tuple[int, int, float]] = []
    wanted: dict[int, float] = {}
    for number, way in enumerate(ways):
        own = shapely.line_locate_point(way.line, shapely.points(shapely.get_coordinates(way.line)))
        steps = np.linspace(0, way.line.length, max(2, int(way.line.length / _STEP_M) + 1))
        at = np.unique(np.concatenate([own, steps, *(list(p[:2]) for p in asked.get(number, ()))]))
        at = at[(at >= 0) & (at <= way.line.length)]
        points = shapely.get_coordinates(shapely.line_interpolate_point(way.line, at))
        corner = np.isin(at, own)  # ways join at corners of the map, not where they cross
        index = np.array(
            [
                nodes.setdefault(
                    (round(x * 100), round(y * 100)) if c else (number, k, ""), len(nodes)
                )
                for k, ((x, y), c) in enumerate(zip(points.tolist(), corner, strict=True))
            ]
        )
        rows.append((points, index))
        links += [
            (int(a), int(b), float(d))
            for a, b, d in zip(index, index[1:], np.diff(at), strict=False)
        ]
        for start, end, z in asked.get(number, ()):
            for k in index[(at >= start - 1e-6) & (at <= end + 1e-6)].tolist():
                wanted[k] = max(wanted.get(k, -np.inf), z)
    merged = shapely.line_merge(shapely.MultiLineString([w.line for w in ways if w.bridge]))
    spans = [part for part in shapely.get_parts(merged) if isinstance(part, LineString)]
    lowest = [
        _hung(points, spans, ground) if way.bridge else ground(points)
        for (points, _), way in zip(rows, ways, strict=True)
    ]
    if not wanted:
        return [(points, least) for (points, _), least in zip(rows, lowest, strict=True)]
    top = max(wanted.values())
    source = len(nodes)
    links += [(source, k, (top - z) / grade + 1e-9) for k, z in wanted.items()]
    a, b, d = (np.array(column) for column in zip(*links, strict=True))
    graph = coo_matrix((d, (a.astype(int), b.astype(int))), (source + 1, source + 1)).tocsr()
    away = dijkstra(graph, directed=False, indices=source)
    fallen = top - grade * away[:source]
    return [
        (points, np.maximum(least, fallen[index]))
        for (points, index), least in zip(rows, lowest, strict=True)
    ]


def _hung(points: Floats, spans: Sequence[LineString], ground: Height) -> Floats:
    """Height of the straight between the two ends of the whole bridge that points lie on."""
    middle = shapely.Point(points[len(points) // 2])
    span = min(spans, key=middle.distance)
    share = shapely.line_locate_point(span, shapely.points(points), normalized=True)
    start, end = ground(shapely.get_coordinates(span)[[0, -1]])
    return np.asarray(start + share * (end - start))


def add_bridges(soup: Soup, raised: Sequence[Raised], lower: BaseGeometry) -> None:
    """Draw decks with railings and piers, and embankments; no pier stands in `lower`."""
    for way in raised:
        left, right = _sides(way)
        material = LAYERS[way.layer]
        deck = way.deck_m + 0.13  # over the sheets of ways that lie on the ground
        foot = way.deck_m - _DECK_M if way.bridge else np.minimum(way.ground_m, way.deck_m) - 0.5
        stuff = "concrete" if way.bridge else "grass"
        along = run_along(way.points)
        w = way.width_m
        for k in range(len(way.points) - 1):
            a, b, c, d = left[k], left[k + 1], right[k + 1], right[k]
            s, t = along[k], along[k + 1]
            top = ((*d, deck[k]), (*c, deck[k + 1]), (*b, deck[k + 1]), (*a, deck[k]))
            soup.quad(top, ((0, s), (0, t), (w, t), (w, s)), material)
            if way.bridge:
                under = ((*a, foot[k]), (*b, foot[k + 1]), (*c, foot[k + 1]), (*d, foot[k]))
                soup.quad(under, ((0, s), (0, t), (w, t), (w, s)), stuff)
            for (p, q), (m, n) in (((d, c), (k, k + 1)), ((b, a), (k + 1, k))):
                face = ((*p, foot[m]), (*q, foot[n]), (*q, deck[n]), (*p, deck[m]))
                high = float(deck[m] - foot[m])
                soup.quad(face, ((s, 0), (t, 0), (t, high), (s, high)), stuff)
        if way.layer == "gravel bed":
            _add_rails(soup, left, right, deck, way.width_m)
        if not way.bridge:
            for k, (a, b) in ((0, (left, right)), (-1, (right, left))):
                corners = ((*a[k], foot[k]), (*b[k], foot[k]), (*b[k], deck[k]), (*a[k], deck[k]))
                high = float(deck[k] - foot[k])
                soup.quad(corners, ((0, 0), (w, 0), (w, high), (0, high)), "concrete")
        if way.bridge:
            if way.layer != "gravel bed":
                _add_railings(soup, left, right, deck)
            _add_piers(soup, way, along, lower)


def _sides(way: Raised) -> tuple[Floats, Floats]:
    """Points to the left and right of a way, half its width away, mitred at its corners."""
    step = np.diff(way.points, axis=0)
    step /= np.maximum(np.hypot(step[:, 0], step[:, 1]), 1e-9)[:, None]
    normal = np.stack([-step[:, 1], step[:, 0]], axis=1)
    both = np.concatenate([normal[:1], normal[:-1] + normal[1:], normal[-1:]])
    square = np.maximum(np.sum(both * np.concatenate([normal[:1], normal]), axis=1), 0.3)
    mitre = both / square[:, None] * way.width_m / 2
    return way.points + mitre, way.points - mitre


def _add_rails(soup: Soup, left: Floats, right: Floats, deck: Floats, width_m: float) -> None:
    """Two rails of the standard gauge, 1435 mm."""
    for side in (-1, 1):
        share = [0.5 + (side * 0.7175 + 0.04 * e) / width_m for e in (-1, 1)]
        a, b = (left + s * (right - left) for s in share)
        for k in range(len(deck) - 1):
            corners = ((*b[k], deck[k]), (*b[k + 1], deck[k + 1]), (*a[k + 1], deck[k + 1]))
            lifted = [(x, y, z + 0.15) for x, y, z in (*corners, (*a[k], deck[k]))]
            soup.quad(lifted, ((0, 0), (0, 1), (0.08, 1), (0.08, 0)), "rail top")


def _add_railings(soup: Soup, left: Floats, right: Floats, deck: Floats) -> None:
    for rim, other in ((left, right), (right, left)):
        inner = (
            rim
            + (other - rim)
            * (_RAILING_WIDE_M / np.maximum(np.hypot(*(other - rim).T), 1e-6))[:, None]
        )
        for k in range(len(rim) - 1):
            for p, q in (((rim[k], rim[k + 1])), ((inner[k], inner[k + 1]))):
                face = (
                    (*p, deck[k] - 0.1),
                    (*q, deck[k + 1] - 0.1),
                    (*q, deck[k + 1] + _RAILING_M),
                    (*p, deck[k] + _RAILING_M),
                )
                run = float(np.hypot(*(q - p)))
                soup.quad(face, ((0, 0), (run, 0), (run, _RAILING_M), (0, _RAILING_M)), "stone")
            top = [
                (*rim[k], deck[k] + _RAILING_M),
                (*rim[k + 1], deck[k + 1] + _RAILING_M),
                (*inner[k + 1], deck[k + 1] + _RAILING_M),
                (*inner[k], deck[k] + _RAILING_M),
            ]
            soup.quad(top, ((0, 0), (1, 0), (1, _RAILING_WIDE_M), (0, _RAILING_WIDE_M)), "stone")


def _add_piers(soup: Soup, way: Raised, along: Floats, lower: BaseGeometry) -> None:
    """Pillars under a deck that is high enough, evenly, where nothing passes below."""
    count = int(along[-1] // _PIER_EVERY_M)
    for share in (np.arange(count) + 1) / (count + 1):
        s = share * along[-1]
        k = int(np.clip(np.searchsorted(along, s) - 1, 0, len(along) - 2))
        x, y = (float(np.interp(s, along, way.points[:, i])) for i in (0, 1))
        deck = float(np.interp(s, along, way.deck_m))
        foot = float(np.interp(s, along, way.ground_m))
        if deck - _DECK_M - foot < _PIER_LEAST_M or lower.distance(shapely.Point(x, y)) < 1.0:
            continue
        ahead = way.points[k + 1] - way.points[k]
        ahead = ahead / max(float(np.hypot(*ahead)), 1e-9)
        across = np.array([-ahead[1], ahead[0]])
        corners = np.array(
            [
                [x, y] + 0.5 * i * ahead + 0.32 * way.width_m * j * across
                for i, j in ((-1, -1), (1, -1), (1, 1), (-1, 1))
            ]
        )
        soup.block(corners, foot - 2.0, deck - _DECK_M, "concrete")
