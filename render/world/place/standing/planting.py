"""Trees: those the map has one by one, rows of them, and woods strewn with a seed."""

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from render.world.description import Thing
from render.world.place.chance import lattice
from render.world.place.heights import parse_length_m
from render.world.place.mapdata import Feature
from render.world.place.projection import LocalFrame
from render.world.things import load_kinds
from render.world.things.kind import KINDS

__all__ = ["Planted", "planted"]

Floats = NDArray[np.float64]

_ROW_M = 9.0
#: Between trees of a wood, m, out to these distances: nearer ones stand closer together.
_SPACING_M = ((250.0, 6.5), (600.0, 9.0), (1e9, 14.0))
_MOST_STREWN = 9000
#: Leaves of trees nearer than so, m, are so large, m; farther ones are of few and large tufts.
_LEAVES_M = ((15.0, 0.07), (120.0, 0.12))
#: Height of a tree's shape, to be scaled, and its number and size of leaves seen from afar.
_SHAPE_M, _TUFTS, _TUFT_M = 10.0, {"conifer": 2600, "slim": 1600}, 0.27
_USUAL_TUFTS = 2400
#: Height a map's tree has where it does not say, m.
_USUAL_M = (8.0, 13.0)


@dataclass(frozen=True, slots=True, eq=False)
class Planted:
    """Trees as things of a scene, and how many were on the map or strewn."""

    things: tuple[Thing, ...]
    mapped: int
    strewn: int


def planted(
    features: Iterable[Feature],
    frame: LocalFrame,
    reach_m: float,
    woods: BaseGeometry | None,
    scrub: BaseGeometry | None,
    free: BaseGeometry,
) -> Planted:
    """Plant the trees of a map.

    Parameters
    ----------
    features : iterable of Feature
        Metres; their trees and tree rows are taken.
    frame : LocalFrame
        Woods are strewn by latitude and longitude, so that their trees stay where they are
        whatever the vantage.
    reach_m : float
    woods, scrub : geometry or None
        To be strewn.
    free : geometry
        Where no strewn tree may stand: buildings, streets, water.
    """
    load_kinds()
    spots: dict[tuple[str, float], list[tuple[float, float, float, float]]] = {}
    mapped = 0
    for feature in features:
        for x, y in _mapped(feature):
            if math.hypot(x, y) > reach_m:
                continue
            mapped += 1
            rng = np.random.default_rng(_seed(frame, x, y))
            tall = parse_length_m(feature.tags.get("height", "")) or rng.uniform(*_USUAL_M)
            if not 0.5 <= tall <= 120:
                tall = _USUAL_M[0]
            species = _species(feature.tags, rng)
            spots.setdefault((species, _leaf_m(x, y)), []).append((x, y, rng.uniform(0, 360), tall))
    strewn = 0
    for shape, heights, kind in ((woods, (9.0, 17.0), None), (scrub, (2.0, 3.5), "round")):
        if shape is None or shape.is_empty:
            continue
        for x, y in _strewn(shape.difference(free), frame, reach_m, kind is not None):
            rng = np.random.default_rng(_seed(frame, x, y))
            pick = kind or str(rng.choice(["broad", "broad", "round", "conifer"]))
            spots.setdefault((pick, _leaf_m(x, y)), []).append(
                (x, y, rng.uniform(0, 360), rng.uniform(*heights))
            )
            strewn += 1
    things = tuple(_thing(*kind, found) for kind, found in sorted(spots.items()))
    return Planted(things, mapped, strewn)


def _leaf_m(x: float, y: float) -> float:
    """Size of a tree's leaves by its distance from the camera: near ones must not be squares."""
    away = math.hypot(x, y)
    return next((leaf for within, leaf in _LEAVES_M if away < within), _TUFT_M)


def _thing(species: str, leaf_m: float, spots: list[tuple[float, float, float, float]]) -> Thing:
    """Trees of one species, their leaves the more, the smaller they are: as dense from afar."""
    kind = KINDS["tree"]
    leaves = round(_TUFTS.get(species, _USUAL_TUFTS) * (_TUFT_M / leaf_m) ** 2)
    values = kind.read(
        {"species": species, "height_m": _SHAPE_M, "leaves": leaves, "leaf_m": leaf_m}
    )
    places = tuple((x, y, 0.0, turn, tall / _SHAPE_M) for x, y, turn, tall in spots)
    leaf = ("leaves", "dark leaves", "#6b8436") if species != "conifer" else ("needles",)
    return Thing(kind, values, dict(kind.stuff), {"leaf": leaf}, places, seed=3)


def _mapped(feature: Feature) -> Iterable[tuple[float, float]]:
    tags, shape = feature.tags, feature.shape
    if tags.get("natural") == "tree" and shape.geom_type == "Point":
        yield shape.x, shape.y
    if tags.get("natural") == "tree_row" and shape.geom_type == "LineString":
        count = max(1, int(shape.length / _ROW_M))
        for k in range(count + 1):
            point = shape.interpolate(k / count, normalized=True)
            yield point.x, point.y


def _species(tags: Mapping[str, str], rng: np.random.Generator) -> str:
    if tags.get("leaf_type") == "needleleaved":
        return "conifer"
    if "palm" in tags.get("species", "").lower() or tags.get("leaf_type") == "palm":
        return "palm"
    return str(rng.choice(["broad", "round", "broad", "slim"], p=[0.4, 0.25, 0.25, 0.1]))


def _seed(frame: LocalFrame, x: float, y: float) -> list[int]:
    """The same for the same place on Earth, to a metre or so."""
    lon, lat = frame.to_degrees(np.array([[x, y]]))[0]
    return [round((lat + 90) * 5e4), round((lon + 180) * 5e4)]


def _strewn(
    shape: BaseGeometry, frame: LocalFrame, reach_m: float, shrubs: bool
) -> Iterable[tuple[float, float]]:
    """Points inside a shape, a jittered lattice of degrees, thinner far away."""
    if shape.is_empty:
        return
    share = max(1.0, math.sqrt(shape.area / 60.0 / _MOST_STREWN))
    shapely.prepare(shape)
    inner = 0.0
    for outer, spacing in _SPACING_M:
        spacing = spacing * share * (0.6 if shrubs else 1.0)
        points = lattice(shape.bounds, frame, min(outer, reach_m), spacing)
        away = np.hypot(points[:, 0], points[:, 1])
        ring = (away >= inner) & (away < min(outer, reach_m))
        points = points[ring]
        for x, y in points[shapely.contains_xy(shape, points[:, 0], points[:, 1])]:
            yield float(x), float(y)
        inner = outer
        if outer >= reach_m:
            return
