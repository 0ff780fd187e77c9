"""Water that lies lower than the land: its level, its banks and quays, and piers over it.

Heights of banks and quays are common practice, no source; a lake is level whatever the terrain
says of its shore, a river follows the terrain.
"""

import itertools
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry import LineString, Polygon
from shapely.geometry.base import BaseGeometry

from render.world.description import Ground
from render.world.drape import draped
from render.world.ground import FAR_M, ground_cells, ground_lines, is_flat
from render.world.mesh import Mesh, join
from render.world.place.grounds.cover import area_layer, polygons, strip_of
from render.world.place.heights import parse_length_m
from render.world.place.mapdata import Feature
from render.world.place.soup import Soup

__all__ = ["Waters", "add_piers", "land_mesh", "piers_of", "water_mesh", "waters_of"]

Floats = NDArray[np.float64]
Height = Callable[[Floats], Floats]

#: How far the water lies below a walled shore, an open one, and that of a brook or a pond, m.
_QUAY_M, _BANK_M, _BROOK_M = 1.6, 0.5, 0.3
#: Narrower waters are brooks; a shore that is so near to streets or houses is walled there; one
#: that is walled for so much of its length has the water at a quay's depth, m.
_BROOK_WIDE_M, _BUILT_UP_M, _WALLED = 4.0, 15.0, 0.4
#: Of the heights along a lake's shore so many lie below its level.
_SHORE_QUANTILE = 0.1
_STEP_M, _BELOW_M = 6.0, 1.0
_PIER_WIDE_M, _DECK_M, _PILES_M, _PILE_M = 2.5, 0.3, 5.0, 0.3
_FLOATING_M = 0.4
#: Water that is so wide where the reach ends goes on, m.
_WIDE_M = 150.0
#: Layers of the ground that are carried across water on a causeway.
_CROSSING = ("parking", "square", "pitch", "pavement", "track", "path", "street", "gravel bed")


@dataclass(frozen=True, slots=True, eq=False)
class _Body:
    """One water: its outline, and its level, or how far it lies below ground that falls away."""

    outline: Polygon
    drop_m: float
    level_m: float | None
    walled: BaseGeometry


@dataclass(frozen=True, slots=True, eq=False)
class Waters:
    """All waters within reach.

    Attributes
    ----------
    shape : geometry
        Metres.
    bodies : tuple
    """

    shape: BaseGeometry
    bodies: tuple[_Body, ...]

    @property
    def quays(self) -> BaseGeometry:
        """Where the shore of walled waters lies before buildings and streets, a thin strip."""
        return shapely.union_all([body.walled for body in self.bodies if body.drop_m == _QUAY_M])

    def level_m(self, points: Floats, ground: Height) -> Floats:
        """Height of the water at points, shape (n, 2); NaN on land."""
        found = np.full(len(points), np.nan)
        for body in self.bodies:
            inside = shapely.contains_xy(body.outline, points[:, 0], points[:, 1])
            if inside.any():
                level = body.level_m
                found[inside] = ground(points[inside]) - body.drop_m if level is None else level
        return found


def piers_of(features: Iterable[Feature], disc: Polygon) -> list[tuple[Polygon, bool]]:
    """Outlines of piers, and whether each floats."""
    found = []
    for feature in features:
        tags, shape = feature.tags, feature.shape
        if tags.get("man_made") != "pier":
            continue
        if isinstance(shape, LineString):
            wide = parse_length_m(tags.get("width", "")) or _PIER_WIDE_M
            wide = wide if 0.5 <= wide <= 60 else _PIER_WIDE_M
            shape = shape.buffer(wide / 2, cap_style="flat", quad_segs=2)
        floats = tags.get("floating", "no") == "yes"
        found += [(part, floats) for part in polygons(shapely.make_valid(shape).intersection(disc))]
    return found


def waters_of(
    shapes: Mapping[str, BaseGeometry],
    features: Sequence[Feature],
    disc: Polygon,
    piers: Sequence[tuple[Polygon, bool]],
    buildings: BaseGeometry,
    ground: Height,
) -> Waters:
    """What of the map's water is let into the ground.

    Parameters
    ----------
    shapes : mapping of layer to geometry
        What covers the ground; ways across water without a bridge lie on causeways.
    features : sequence of Feature
        Metres; which waters flow is taken from their tags.
    disc : Polygon
        The reach; water that is wide at its rim goes on to the horizon.
    piers : sequence of (outline, floats)
        Ways on them need no causeway.
    buildings : geometry
        A shore before them is walled.
    """
    water = shapes.get("water")
    if water is None or water.is_empty:
        return Waters(Polygon(), ())
    over = shapely.union_all([shapes[layer] for layer in _CROSSING if layer in shapes])
    over = over.difference(shapely.union_all([outline for outline, _ in piers]).buffer(1.5))
    water = shapely.make_valid(water.difference(over)).simplify(0.05)
    built_up = [shapes[k] for k in ("street", "square", "parking", "yard") if k in shapes]
    water = shapely.union_all([water, *_beyond(water, disc)])
    near = shapely.union_all([*built_up, buildings]).buffer(_BUILT_UP_M, quad_segs=2)
    flowing = _flowing(features)
    bodies = [
        _body(part, near, flows, ground)
        for flows, shape in (
            (False, water.difference(flowing)),
            (True, water.intersection(flowing)),
        )
        for part in polygons(shape)
        if part.area > 1.0
    ]
    return Waters(water, tuple(bodies))


def _beyond(water: BaseGeometry, disc: Polygon) -> Iterable[Polygon]:
    """Where wide waters that the reach cuts off go on, out to the horizon."""
    scale = FAR_M / float(np.abs(disc.bounds).max())
    for arc in shapely.get_parts(shapely.line_merge(disc.boundary.intersection(water.buffer(0.5)))):
        if arc.length > _WIDE_M:
            points = shapely.get_coordinates(arc)
            yield from polygons(
                shapely.make_valid(Polygon([*(0.999 * points), *(scale * points)[::-1]]))
            )


def _flowing(features: Iterable[Feature]) -> BaseGeometry:
    """Rivers, canals and brooks, without the lakes and basins that they run through."""
    running: list[BaseGeometry] = []
    still: list[BaseGeometry] = []
    for feature in features:
        strip = strip_of(feature.tags)
        runs = feature.tags.get("water") in ("river", "stream") or "waterway" in feature.tags
        if strip is not None and strip[0] == "water":
            running.append(feature.shape.buffer(strip[1] / 2, quad_segs=2))
        elif feature.shape.geom_type.endswith("Polygon") and area_layer(feature.tags) == "water":
            (running if runs else still).append(shapely.make_valid(feature.shape))
    return shapely.union_all(running).difference(shapely.union_all(still))


def _body(outline: Polygon, near: BaseGeometry, flows: bool, ground: Height) -> _Body:
    rim = outline.boundary
    walled = rim.intersection(near)
    wide = 2 * outline.area / rim.length
    drop = _QUAY_M if walled.length > _WALLED * rim.length else _BANK_M
    drop = _BROOK_M if wide < _BROOK_WIDE_M else drop
    shore = ground(shapely.get_coordinates(rim.segmentize(2 * _STEP_M)))
    level = None if flows else float(np.quantile(shore, _SHORE_QUANTILE)) - drop
    return _Body(outline, drop, level, walled.buffer(0.1))


def land_mesh(ground: Ground, waters: Waters) -> Mesh | None:
    """The ground's faces out to the horizon, with the waters cut out; None without any."""
    if not waters.bodies:
        return None
    soup = Soup()
    land = shapely.box(-FAR_M, -FAR_M, FAR_M, FAR_M).difference(waters.shape)
    if is_flat(ground):
        for part in polygons(land):
            soup.flat(part, (0.0, 0.0, 0.0), "ground")
        return soup.mesh()
    wet = _cells(waters.shape, ground)
    for part in _in_cells(land, ground, wet):
        soup.flat(part, (0.0, 0.0, 0.0), "ground")
    return join([ground_cells(ground, ~wet), draped(soup.mesh(), ground)])


def _cells(shape: BaseGeometry, ground: Ground) -> NDArray[np.bool_]:
    """Which cells of the ground's mesh a shape touches."""
    s = ground_lines(ground)
    shapely.prepare(shape)
    boxes = shapely.box(s[:-1, None], s[None, :-1], s[1:, None], s[None, 1:])
    return np.asarray(shapely.intersects(shape, boxes))


def _in_cells(shape: BaseGeometry, ground: Ground, cells: NDArray[np.bool_]) -> Iterable[Polygon]:
    """A shape's parts in cells of the ground's mesh, so that few faces need to be cut."""
    s = ground_lines(ground)
    for i, j in np.argwhere(cells).tolist():
        yield from polygons(shapely.clip_by_rect(shape, s[i], s[j], s[i + 1], s[j + 1]))


def water_mesh(ground: Ground, waters: Waters, height: Height) -> Mesh:
    """The surfaces, and the banks down to below them."""
    level, falling, banks = Soup(), Soup(), Soup()
    inside = waters.shape.buffer(-0.1)
    shapely.prepare(inside)
    for body in waters.bodies:
        if body.level_m is None:
            flat = is_flat(ground)
            parts = (
                [body.outline]
                if flat
                else _in_cells(body.outline, ground, _cells(body.outline, ground))
            )
            for part in parts:
                falling.flat(part, (0.0, 0.0, -body.drop_m), "water")
        else:
            level.flat(body.outline, (0.0, 0.0, body.level_m), "water")
        _add_banks(banks, body, inside, height)
    return join([level.mesh(), draped(falling.mesh(), ground), banks.mesh()])


def _add_banks(soup: Soup, body: _Body, inside: BaseGeometry, height: Height) -> None:
    """Upright faces round a water, seen from it: stone where the shore is walled, else soil.

    None where one water meets another, `inside` them all.
    """
    outline = shapely.geometry.polygon.orient(body.outline, -1.0).segmentize(_STEP_M)
    for ring in (outline.exterior, *outline.interiors):
        points = shapely.get_coordinates(ring)
        top = height(points)
        level = top - body.drop_m if body.level_m is None else np.full(len(top), body.level_m)
        foot = np.minimum(level, top) - _BELOW_M
        middle = (points[1:] + points[:-1]) / 2
        stone = shapely.contains_xy(body.walled, middle[:, 0], middle[:, 1])
        run = 0.0
        for k, (a, b) in enumerate(itertools.pairwise(points.tolist())):
            if shapely.contains_xy(inside, *middle[k]):
                continue
            step = float(np.hypot(b[0] - a[0], b[1] - a[1]))
            za, zb, fa, fb = (float(z) for z in (top[k], top[k + 1], foot[k], foot[k + 1]))
            soup.quad(
                ((*a, fa), (*b, fb), (*b, zb), (*a, za)),
                ((run, fa - za), (run + step, fb - zb), (run + step, 0.0), (run, 0.0)),
                "stone" if stone[k] else "soil",
            )
            run += step


def add_piers(
    soup: Soup, piers: Sequence[tuple[Polygon, bool]], waters: Waters, ground: Height
) -> None:
    """Decks over water on piles, at the height of the land; floating ones just above the water."""
    for outline, floats in piers:
        outline = shapely.geometry.polygon.orient(outline, 1.0)
        rim = shapely.get_coordinates(outline.exterior.segmentize(_PILES_M))
        level = waters.level_m(rim, ground)
        wet = np.isfinite(level)
        if not wet.any():
            continue
        shore = float(np.median(ground(rim)))
        top = float(np.median(level[wet])) + _FLOATING_M if floats else shore
        top = max(top, float(np.median(level[wet])) + _FLOATING_M) + 0.01
        soup.flat(outline, (0.0, 0.0, top), "planks")
        soup.flat(outline, (0.0, 0.0, top - _DECK_M), "planks", down=True)
        for ring in (outline.exterior, *outline.interiors):
            for a, b in itertools.pairwise(shapely.get_coordinates(ring).tolist()):
                soup.wall(a, b, top - _DECK_M, top, "planks")
        if not floats:
            half = _PILE_M / 2
            square = np.array([[-half, -half], [half, -half], [half, half], [-half, half]])
            for at, z in zip(rim[wet], level[wet], strict=True):
                soup.block(at + square, float(z) - _BELOW_M, top - _DECK_M, "brown wood")
