"""A real place from a map file, seen from where a shot says: its scene, and words about it."""

import math
from dataclasses import asdict, replace
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from render.errors import InputError, SettingError
from render.extras import needed
from render.files.maps import read_map
from render.files.terrain import read_terrain
from render.shot.placekeys import EYE_M, AboveRoof
from render.shot.shot import Shot
from render.words import length_words
from render.world.description import Description, VantageWords
from render.world.night import under_the_sun
from render.world.place.mapdata import MapData
from render.world.sun import sun_position

if TYPE_CHECKING:
    from render.world.place.place import Place

__all__ = [
    "carried",
    "climbing_heights",
    "map_description",
    "map_record",
    "place_of",
    "stands_words",
]

_REACH_M = 1500.0
#: A camera without a pitch looks at the ground so many heights away, and no nearer than so.
_HEIGHTS_AWAY, _LEAST_AWAY_M = 5.0, 40.0
_MAST_M = 4.0  # the highest that a tripod's mast carries a camera (common practice, no source)
#: On a roof: standing, a tripod's mast, and what a crane or drone would see.
_FROM_ROOF = ("roof", "roof + 4 m", "roof + 8 m", "roof + 16 m", "roof + 30 m")


def place_of(shot: Shot) -> "Place":
    """The place that a shot's map file shows round its `--at`.

    Raises
    ------
    InputError, SettingError
        If the file cannot be read, or the place is not given or not on the map.
    """
    keys = shot.place
    source = Path(str(shot.scene))
    reach = keys.reach_m or _REACH_M
    if not 20 <= reach <= 20_000:
        raise SettingError(f"--reach {length_words(reach)}: give 20 m to 20 km")
    if keys.at_deg is None:
        raise InputError(f"{_covers(read_map(source))}: say where the camera stands with --at")
    return _place(
        source,
        _stamp(source),
        keys.at_deg,
        reach,
        keys.terrain,
        _stamp(Path(keys.terrain)) if keys.terrain else 0.0,
        keys.terrain_system,
        keys.credit,
        bool(keys.as_mapped),
    )


def map_description(shot: Shot) -> Description:
    """The scene of a shot's map file with the vantage that the shot gives.

    Height, heading and pitch that are not given: standing there at eye height, on the roof if
    there is a building; north; and down to the ground five heights away.

    Raises
    ------
    InputError, SettingError
        As in `place_of`, or if the camera would be inside a building.
    """
    if shot.demo.distance_m is not None:
        raise SettingError("on a map the camera stands where --at says: leave --distance out")
    place = place_of(shot)
    height, heading = _height(shot, place), _heading(shot, place)
    target = _target(shot, place, height, heading)
    description = replace(
        place.description,
        vantage=VantageWords(stand_m=(0.0, 0.0), height_m=height, look_at_m=target),
    )
    if shot.place.when is None:
        return description
    latitude, longitude = place.frame.latitude_deg, place.frame.longitude_deg
    try:
        sun_heading, sun_height = sun_position(shot.place.when, latitude, longitude)
        return under_the_sun(description, sun_heading, sun_height, shot.place.when)
    except InputError as error:
        raise SettingError(f"--when: {error}") from None


def stands_words(shot: Shot, height_m: float) -> list[str]:
    """Where the camera stands, and what was assumed of the place, a sentence each."""
    place = place_of(shot)
    roof = max((r.top_m for r in place.roofs if r.top_m <= height_m), default=None)
    above = "" if roof is None else f", {length_words(height_m - roof)} above the roof"
    latitude, longitude = place.frame.latitude_deg, place.frame.longitude_deg
    words = [
        f"the camera stands at {latitude:.5f}, {longitude:.5f}, {length_words(height_m)} above the "
        f"ground{above}"
    ]
    if shot.place.look_at_deg is None and shot.demo.heading_deg is None:
        words.append("no heading was given: it looks north")
    return [*words, *place.notes]


def map_record(shot: Shot) -> dict[str, Any]:
    """Place and counts of a shot's map, for programs."""
    place = place_of(shot)
    return {
        "latitude_deg": place.frame.latitude_deg,
        "longitude_deg": place.frame.longitude_deg,
        "buildings": asdict(place.counts),
    }


def climbing_heights(shot: Shot, storeys: tuple[str, ...]) -> tuple[str, ...]:
    """Heights for a strip that climbs at the shot's place: over a building, from its roof on."""
    return _FROM_ROOF if place_of(shot).roofs else storeys


def carried(shot: Shot, height_m: float) -> bool:
    """Whether a roof of the shot's map, or its ground, with a mast carries a camera so high."""
    roof_m = max((r.top_m for r in place_of(shot).roofs if r.top_m <= height_m), default=0.0)
    return height_m - roof_m < _MAST_M + 0.05


def _stamp(path: Path) -> float:
    """When a file was changed last, so that nothing old is remembered of it."""
    try:
        return path.stat().st_mtime
    except OSError:
        return 0.0


@lru_cache(maxsize=2)
def _place(
    source: Path,
    _changed: float,
    at_deg: tuple[float, float],
    reach_m: float,
    terrain: str | None,
    _terrain_changed: float,
    system: str | None,
    credit: str | None,
    as_mapped: bool,
) -> "Place":
    data = read_map(source, (*at_deg, reach_m), credit)
    _check_inside(data, at_deg)
    if not data.credit:
        remark = "the file does not say whom to credit: name them with --credit if its licence asks"
        data = replace(data, remarks=(*data.remarks, remark))
    heights = read_terrain(Path(terrain), system) if terrain else None
    needed("shapely", "a map file")
    from render.world.place.place import describe_place

    return describe_place(data, *at_deg, reach_m, heights, as_mapped=as_mapped)


def _check_inside(data: MapData, at_deg: tuple[float, float]) -> None:
    west, south, east, north = data.bounds_deg
    latitude, longitude = at_deg

    if south <= latitude <= north and west <= longitude <= east:
        return
    hint, near = "", 0.02  # degrees
    turned = south - near <= longitude <= north + near and west - near <= latitude <= east + near
    if turned:
        hint = (
            f'; you may have swapped them: --at "{longitude:g}, {latitude:g}" would lie there '
            "(latitude comes first)"
        )
    raise InputError(f"{latitude:g}, {longitude:g} lies outside: {_covers(data)}{hint}")


def _covers(data: MapData) -> str:
    west, south, east, north = data.bounds_deg
    return (
        f"{data.name} covers latitude {south:.4f} to {north:.4f} and longitude {west:.4f} to "
        f"{east:.4f}, its middle is '{(south + north) / 2:.4f}, {(west + east) / 2:.4f}'"
    )


def _height(shot: Shot, place: "Place") -> float:
    wish = shot.vantage.height_m
    top = max((roof.top_m for roof in place.roofs), default=None)
    if isinstance(wish, AboveRoof):
        if top is None:
            raise SettingError(f"there is no building at {_at(place)}{_nearest(place)}")
        return top + wish.above_m
    if wish is None:
        return (top or 0.0) + EYE_M
    for roof in place.roofs:
        if roof.low_m < wish <= roof.top_m:
            raise SettingError(_inside_words(shot, place, roof.name, wish, top or roof.top_m))
    return wish


def _inside_words(shot: Shot, place: "Place", name: str, wish: float, top: float) -> str:
    out = place.way_out(_heading(shot, place))
    window = f', or --at "{out[0]:.6f}, {out[1]:.6f}" stands outside that way' if out else ""
    return (
        f"at {_at(place)} a height of {length_words(wish)} is inside "
        f"{name or 'a building'}, whose roof "
        f"is {length_words(top)} above the ground: --height roof stands on it{window}"
    )


def _at(place: "Place") -> str:
    return f"{place.frame.latitude_deg:.5f}, {place.frame.longitude_deg:.5f}"


def _nearest(place: "Place") -> str:
    found = place.nearest_building()
    if found is None:
        return ", nor anywhere within reach: give a height in metres"
    away, latitude, longitude = found
    return f'; the nearest is {length_words(away)} away: --at "{latitude:.5f}, {longitude:.5f}"'


def _heading(shot: Shot, place: "Place") -> float:
    if shot.place.look_at_deg is not None:
        if shot.demo.heading_deg is not None:
            raise SettingError("the direction is given twice: take --heading or --look-at")
        x, y = _looked_at(shot, place)
        return math.degrees(math.atan2(x, y)) % 360.0
    return (shot.demo.heading_deg or 0.0) % 360.0


def _looked_at(shot: Shot, place: "Place") -> tuple[float, float]:
    assert shot.place.look_at_deg is not None
    latitude, longitude = shot.place.look_at_deg
    x, y = place.frame.to_metres(np.array([[longitude, latitude]]))[0]
    if not 1.0 <= math.hypot(x, y) <= 100_000:
        raise SettingError(
            f"--look-at {latitude:g}, {longitude:g} is "
            f"{length_words(math.hypot(x, y))} from --at: name "
            "another place"
        )
    return float(x), float(y)


def _target(
    shot: Shot, place: "Place", height: float, heading: float
) -> tuple[float, float, float]:
    """What the camera looks at unless a pitch is given."""
    if shot.place.look_at_deg is not None:
        x, y = _looked_at(shot, place)
    else:
        away = max(_HEIGHTS_AWAY * height, _LEAST_AWAY_M)
        a = math.radians(heading)
        x, y = away * math.sin(a), away * math.cos(a)
    return x, y, place.ground_m(x, y)
