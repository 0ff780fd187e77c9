"""Wagons that stand on the yards and sidings of a map, which has the tracks alone.

Made up by rule, from chance that belongs to the place on Earth: rakes with gaps between them; how
full and how long they are is common practice, no source.
"""

import math
from collections.abc import Iterable, Iterator

import numpy as np
import shapely
import shapely.affinity
from shapely.geometry.base import BaseGeometry

from render.world.description import Thing
from render.world.place.chance import place_seed
from render.world.place.grounds.cover import within
from render.world.place.mapdata import Feature
from render.world.place.projection import LocalFrame
from render.world.things.kind import KINDS

__all__ = ["wagons_on"]

#: Tracks where wagons are left standing, by `service`.
_LEFT_ON = {"yard", "siding", "spur"}
_LONG_M, _MOST = 12.5, 240
#: Wagons of a rake, and the share of the track that rakes take.
_RAKE, _TAKEN = (2, 9), 0.55
#: Clear of the end of a track, where switches are, and of the camera, m.
_SWITCH_M, _FREE_M = 25.0, 12.0
_RAIL_M = 0.1  # top of the rails over the ground
_COLOURS = {
    "closed": ("#7a3b30", "#8f8a80", "#4f5f66", "#5d4a3a"),
    "open": ("#6a3a32", "#4f5f66", "#3f4a3c"),
    "tank": ("#b9bcbc", "#4a4d50", "#8a8d8f"),
    "flat": ("#5a5550",),
}

Spot = tuple[float, float, float, float, float]


def wagons_on(
    features: Iterable[Feature], frame: LocalFrame, reach_m: float, taken: BaseGeometry
) -> tuple[Thing, ...]:
    """Wagons on the tracks of yards, none in `taken`, the nearest tracks first."""
    disc = shapely.Point(0, 0).buffer(reach_m)
    tracks = [
        part
        for feature in features
        if feature.tags.get("railway") == "rail"
        and feature.tags.get("service") in _LEFT_ON
        and all(feature.tags.get(key, "no") == "no" for key in ("bridge", "tunnel"))
        for part in shapely.get_parts(within(feature.shape, disc))
        if part.geom_type == "LineString" and part.length > 2 * _SWITCH_M
    ]
    shapely.prepare(taken)
    found: dict[str, list[Spot]] = {}
    stand: list[BaseGeometry] = []
    for track in sorted(tracks, key=lambda line: line.distance(shapely.Point(0, 0))):
        for load, spot in _standing(track, frame):
            away = math.hypot(spot[0], spot[1])
            if not _FREE_M < away < reach_m or len(stand) == _MOST:
                continue
            outline = _outline(spot)  # where tracks meet, two would stand in one place
            if not taken.intersects(outline) and not np.any(shapely.intersects(stand, outline)):
                found.setdefault(load, []).append(spot)
                stand.append(outline)
    kind = KINDS["wagon"]
    return tuple(
        Thing(
            kind,
            kind.read({"load": load, "length_m": _LONG_M}),
            dict(kind.stuff),
            {"body": _COLOURS[load]},
            tuple(spots),
            "",
            5,
        )
        for load, spots in sorted(found.items())
    )


def _standing(track: shapely.LineString, frame: LocalFrame) -> Iterator[tuple[str, Spot]]:
    """Rakes of one load each along a track."""
    rng = np.random.default_rng(place_seed(frame, *track.coords[0]))
    along = _SWITCH_M + rng.uniform(0.0, 2 * _LONG_M)
    while True:
        many = int(rng.integers(*_RAKE))
        load = str(rng.choice(["closed", "open", "tank", "flat"], p=[0.35, 0.35, 0.2, 0.1]))
        for _ in range(many):
            if along + _LONG_M > track.length - _SWITCH_M:
                return
            start, end = track.interpolate(along), track.interpolate(along + _LONG_M)
            turn = math.degrees(math.atan2(end.x - start.x, start.y - end.y))
            middle = ((start.x + end.x) / 2, (start.y + end.y) / 2)
            yield load, (*middle, _RAIL_M, turn, 1.0)
            along += _LONG_M
        along += many * _LONG_M * (1 / _TAKEN - 1) * rng.uniform(0.3, 1.7)


def _outline(spot: Spot) -> BaseGeometry:
    x, y, _, turn, _ = spot
    box = shapely.box(-1.4, -_LONG_M / 2, 1.4, _LONG_M / 2)
    return shapely.affinity.translate(shapely.affinity.rotate(box, turn, (0, 0)), x, y)
