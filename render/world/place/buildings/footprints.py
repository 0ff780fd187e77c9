"""From the map's building outlines to buildings: parts, mending, heights, looks, touching."""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry

from render.world.place.buildings.building import Building
from render.world.place.buildings.looks import look_of
from render.world.place.buildings.roofs import outline_axes, roof_over
from render.world.place.heights import parse_levels, standing_of
from render.world.place.mapdata import Feature
from render.world.place.projection import LocalFrame

__all__ = ["Counts", "Footprints", "footprints"]

Floats = NDArray[np.float64]

_NOT_BUILDINGS = {"", "no", "demolished", "razed", "proposed", "construction"}
#: Parts that cover so much of an outline stand for all of it (Simple 3D Buildings).
_PARTS_COVER = 0.5
_LEAST_M2 = 1.0
_FAR_M = 700.0


@dataclass(frozen=True, slots=True)
class Counts:
    """How the heights of buildings came about; parts count as the building they are of.

    Attributes
    ----------
    given, storeys, guessed : int
    guessed_m : (least, most)
        Of the guesses; (0, 0) without any.
    roofs_guessed : int
        Pitched roofs that no tag speaks of.
    mended, refused : int
        Outlines that crossed themselves; heights that cannot be.
    """

    given: int
    storeys: int
    guessed: int
    guessed_m: tuple[float, float]
    roofs_guessed: int
    mended: int
    refused: int

    @property
    def total(self) -> int:
        """All buildings."""
        return self.given + self.storeys + self.guessed


@dataclass(frozen=True, slots=True, eq=False)
class Footprints:
    """Buildings within reach, and how they were counted."""

    buildings: tuple[Building, ...]
    counts: Counts


def footprints(
    features: Sequence[Feature],
    frame: LocalFrame,
    reach_m: float,
    ground: Callable[[Floats], Floats],
) -> Footprints:
    """Make buildings of the features that are tagged as such.

    Where `building:part` areas cover at least half of a building's outline they stand for it;
    otherwise what they leave of it stands at the building's own height.

    Parameters
    ----------
    features : sequence of Feature
        Metres.
    frame : LocalFrame
        Colours follow latitude and longitude, so that they stay whatever the vantage.
    reach_m : float
    ground : callable
        Heights of the ground at points, shape (n, 2).
    """
    whole, parts, mended = _sorted(features, reach_m)
    found: list[tuple[Polygon, Feature, int]] = []
    owners = _owners(whole, parts)
    for number, (outline, feature) in enumerate(whole):
        mine = [parts[k][0] for k in owners.get(number, ())]
        left: BaseGeometry = outline
        if mine:
            covered = shapely.union_all(mine)
            left = outline.difference(covered.buffer(0.05))
            if left.area < (1 - _PARTS_COVER) * outline.area:
                left = Polygon()
        found += [(piece, feature, number) for piece in _pieces(left)]
    for number, numbers in owners.items():
        for k in numbers:
            part, feature = parts[k]
            tags = {**_inherited(whole[number][1]), **feature.tags}
            found.append((part, Feature(tags, part), number))
    for part, feature in (parts[k] for k in _orphans(owners, len(parts))):
        whole.append((part, feature))
        found.append((part, feature, len(whole) - 1))
    return _raised(found, frame, ground, mended)


def _sorted(
    features: Sequence[Feature], reach_m: float
) -> tuple[list[tuple[Polygon, Feature]], list[tuple[Polygon, Feature]], int]:
    """Outlines, parts, and how many outlines had to be mended."""
    origin = shapely.Point(0, 0)
    whole: list[tuple[Polygon, Feature]] = []
    parts: list[tuple[Polygon, Feature]] = []
    mended = 0
    for feature in features:
        tags, shape = feature.tags, feature.shape
        is_whole = tags.get("building", "") not in _NOT_BUILDINGS
        is_part = tags.get("building:part", "") not in _NOT_BUILDINGS
        if not (is_whole or is_part) or shape.geom_type not in ("Polygon", "MultiPolygon"):
            continue
        if tags.get("location") == "underground" or (
            parse_levels(tags.get("layer", "")) is None and tags.get("layer", "0").startswith("-")
        ):
            continue
        if shape.distance(origin) > reach_m:
            continue
        if not shape.is_valid:
            shape, mended = shapely.make_valid(shape), mended + 1
        tolerance = 0.05 if shape.distance(origin) < _FAR_M else 0.4
        for piece in _pieces(shape):
            plain = piece.simplify(tolerance)
            outline = plain if plain.is_valid and plain.area > _LEAST_M2 else piece
            (whole if is_whole else parts).append((outline, feature))
    return whole, parts, mended


def _pieces(shape: BaseGeometry) -> list[Polygon]:
    if shape.geom_type == "Polygon":
        return [shape] if shape.area > _LEAST_M2 else []
    if not shape.geom_type.startswith(("Multi", "Geometry")):
        return []
    return [piece for part in shapely.get_parts(shape) for piece in _pieces(part)]


def _owners(
    whole: list[tuple[Polygon, Feature]], parts: list[tuple[Polygon, Feature]]
) -> dict[int, list[int]]:
    """For each building the parts that lie in it for the most part."""
    if not whole or not parts:
        return {}
    tree = shapely.STRtree([outline for outline, _ in whole])
    owners: dict[int, list[int]] = {}
    for k, (part, _) in enumerate(parts):
        near = tree.query(part, predicate="intersects")
        shares = [(whole[n][0].intersection(part).area / part.area, n) for n in near]
        share, number = max(shares, default=(0.0, -1))
        if share > 0.5:
            owners.setdefault(int(number), []).append(k)
    return owners


def _orphans(owners: dict[int, list[int]], count: int) -> list[int]:
    taken = {k for numbers in owners.values() for k in numbers}
    return [k for k in range(count) if k not in taken]


def _inherited(feature: Feature) -> dict[str, str]:
    """What parts take from their building where they say nothing: looks, not heights."""
    keys = ("building", "building:colour", "building:material", "roof:colour", "name")
    return {key: feature.tags[key] for key in keys if key in feature.tags}


def _raised(
    found: list[tuple[Polygon, Feature, int]],
    frame: LocalFrame,
    ground: Callable[[Floats], Floats],
    mended: int,
) -> Footprints:
    if not found:
        return Footprints((), Counts(0, 0, 0, (0.0, 0.0), 0, mended, 0))
    outlines = np.array([outline for outline, _, _ in found], dtype=object)
    feet = _feet(outlines, ground)
    tree = shapely.STRtree(outlines)
    pairs = tree.query(outlines, predicate="dwithin", distance=0.5)
    touching = np.bincount(pairs[0], minlength=len(found)) > 1
    middles = shapely.get_coordinates(shapely.centroid(outlines))
    seeds = _seeds(frame.to_degrees(middles))
    of_building: dict[int, int] = {}
    how: dict[int, str] = {}
    guesses, roofs, refused = [], 0, 0
    buildings = []
    for k, (outline, feature, owner) in enumerate(found):
        _, _, half_u, half_v = outline_axes(outline)
        filled = outline.area / max(4 * half_u * half_v, 1e-6)
        standing = standing_of(feature.tags, outline.area, half_v, filled)
        seed = of_building.setdefault(owner, int(seeds[k]))
        tags = feature.tags
        roof = roof_over(
            outline,
            standing.roof,
            standing.top_m - standing.eaves_m,
            tags.get("roof:orientation") == "across",
            _heading(tags.get("roof:direction", "")),
        )
        rank = ("given", "storeys", "guessed")
        best = min(how.get(owner, "guessed"), standing.how, key=rank.index)
        how[owner] = best
        if standing.how == "guessed":
            guesses.append(standing.top_m)
        roofs += standing.roof_guessed
        refused += standing.refused
        buildings.append(
            Building(
                outline,
                float(feet[k]),
                standing,
                roof,
                look_of(tags, standing, outline.area, seed),
                seed,
                alone=not touching[k],
                name=tags.get("name", ""),
            )
        )
    ways = list(how.values())
    spread = (min(guesses), max(guesses)) if guesses else (0.0, 0.0)
    counts = Counts(
        ways.count("given"),
        ways.count("storeys"),
        ways.count("guessed"),
        spread,
        roofs,
        mended,
        refused,
    )
    return Footprints(tuple(buildings), counts)


def _feet(outlines: NDArray[np.object_], ground: Callable[[Floats], Floats]) -> Floats:
    """Lowest ground along each outline."""
    points, index = shapely.get_coordinates(outlines, return_index=True)
    height = ground(points)
    low = np.full(len(outlines), np.inf)
    np.minimum.at(low, index, height)
    return low


def _seeds(lonlat: Floats) -> NDArray[np.int64]:
    """A number for each place on Earth, the same from wherever it is seen."""
    cells = np.round(lonlat * 1e5).astype(np.int64)
    mixed = (cells[:, 0] * 73856093) ^ (cells[:, 1] * 19349663)
    return ((mixed ^ (mixed >> 13)) * 0x5BD1E995 >> 7) & 0xFFFFF


def _heading(text: str) -> float | None:
    compass = (
        *("N", "NNE", "NE", "ENE", "E", "ESE", "SE", "SSE"),
        *("S", "SSW", "SW", "WSW", "W", "WNW", "NW", "NNW"),
    )
    if text.strip().upper() in compass:
        return 22.5 * compass.index(text.strip().upper())
    found = parse_levels(text)
    return found if found is not None and math.isfinite(found) else None
