"""Values of a shot that only a real place from a map file understands."""

import re
from dataclasses import dataclass
from pathlib import Path

from render.errors import SettingError
from render.shot.declaring import flag, shot_key
from render.typed import parse_height_m
from render.units import in_feet, round_metres

__all__ = [
    "MAP_ENDINGS",
    "AboveRoof",
    "PlaceKeys",
    "is_map_file",
    "plain_name",
    "read_height",
    "read_latitude_longitude",
]

MAP_ENDINGS = (".osm", ".osm.xml", ".osm.pbf", ".pbf", ".osm.bz2", ".osm.gz", ".geojson", ".json")

#: Eye height of a person who stands: common practice, no source.
EYE_M = 1.6
_NUMBER = r"(\d+(?:\.\d*)?|\.\d+)"


_TIGHT = re.compile(r"(?<=\d),(?=\d)")


@dataclass(frozen=True, slots=True)
class AboveRoof:
    """A height counted from the roof of the building at the place."""

    above_m: float = EYE_M


def read_height(text: str) -> float | AboveRoof:
    """Read "12 m", "4 storeys", "roof" (standing on it, 1.6 m), or "roof + 2.5 m".

    >>> read_height("roof + 2 m"), read_height("4 storeys")
    (AboveRoof(above_m=2.0), 12.0)
    """
    plain = text.strip().lower().removeprefix("on the ").removeprefix("the ")
    if not plain.startswith("roof"):
        return parse_height_m(text)
    rest = plain.removeprefix("roof").strip()
    if not rest:
        return AboveRoof()
    if rest.startswith(("+", "plus")):
        return AboveRoof(parse_height_m(rest.removeprefix("+").removeprefix("plus")))
    raise SettingError(
        f'"{text}" is not a height: write {"feet" if in_feet() else "metres"} or storeys, "roof" '
        f'for standing on the roof of the building there, or "roof + {round_metres(2.5, 2)}"'
    )


def read_latitude_longitude(text: str) -> tuple[float, float]:
    """Read "52.1, 8.5", also with letters: "52.1 N, 8.5 W", "33.9 S 151.2 E".

    >>> read_latitude_longitude("33.9 S, 151.2 E")
    (-33.9, 151.2)
    """
    plain = text.strip().lower()
    if len(_TIGHT.findall(plain)) == 2:  # decimal commas, parted by something else
        plain = _TIGHT.sub(".", plain)
    side = r"\s*°?\s*([nsew])?\s*"
    match = re.fullmatch(rf"\s*([+-]?){_NUMBER}{side}(?:,|;|\s)\s*([+-]?){_NUMBER}{side}", plain)
    if not match:
        raise SettingError(
            f'"{text}" is no place: write latitude and longitude in degrees, such as "52.1, 8.5"'
        )
    latitude, longitude = (
        _signed(*parts)
        for parts in ((match[1], match[2], match[3]), (match[4], match[5], match[6]))
    )
    if match[3] in ("e", "w") and match[6] in ("n", "s"):
        latitude, longitude = longitude, latitude
    elif match[3] in ("e", "w") or match[6] in ("n", "s"):
        raise SettingError(f'"{text}" names no latitude and longitude: write "52.1 N, 8.5 E"')
    if not (abs(latitude) <= 90 and abs(longitude) <= 180):
        turned = " (are they the other way round?)" if abs(longitude) <= 90 else ""
        raise SettingError(
            f'"{text}": a latitude is -90 to 90, a longitude -180 to 180; latitude first{turned}'
        )
    return latitude, longitude


def _signed(sign: str, digits: str, side: str | None) -> float:
    value = float(digits)
    return -value if (sign == "-") != (side in ("s", "w")) else value


@dataclass(frozen=True, slots=True)
class PlaceKeys:
    """Where on the map, and what the map alone does not say."""

    at_deg: tuple[float, float] | None = shot_key(
        "--at",
        "Map files: where the camera stands, latitude and longitude: '52.1, 8.5'. With a picture, "
        "--when and --heading, for the sun on the card.",
        read_latitude_longitude,
        shown="LAT,LON",
    )
    look_at_deg: tuple[float, float] | None = shot_key(
        "--look-at",
        "Map files, instead of heading and pitch: the place the camera looks at, '52.11, 8.52'.",
        read_latitude_longitude,
        shown="LAT,LON",
    )
    reach_m: float | None = shot_key(
        "--reach",
        "Map files: how far things are drawn, '800 m'; 1500 m otherwise.",
        parse_height_m,
        shown="LENGTH",
    )
    terrain: str | None = shot_key(
        "--terrain",
        "Map files: elevations of the ground, GeoTIFF or ASCII grid; level ground otherwise.",
        shown="FILE",
        names_file="",
    )
    terrain_system: str | None = shot_key(
        "--terrain-system",
        "Coordinate system of the terrain where its file does not say: 'EPSG:25832'.",
        shown="NAME",
    )
    as_mapped: bool | None = shot_key(
        "--as-mapped",
        "Map files: only what the map has: no cars, people, boats, lamps, doors by rule.",
        flag,
        shown="flag",
    )
    when: str | None = shot_key(
        "--when",
        "Date and time for the sun, with its offset: '2026-06-21T18:30+02:00'; on a map it also "
        "casts the shadows.",
        shown="TIME",
    )
    credit: str | None = shot_key(
        "--credit",
        "Map files: whom the data is to be credited to, where its file does not say.",
        shown="TEXT",
    )


def is_map_file(name: str) -> bool:
    """Whether a name ends like a file of map data."""
    return name.lower().endswith(MAP_ENDINGS)


def plain_name(name: str) -> str:
    """A map file's name without folder and ending."""
    base = Path(name).name
    ending = next((e for e in sorted(MAP_ENDINGS, key=len)[::-1] if base.lower().endswith(e)), "")
    return base[: len(base) - len(ending)] if ending else Path(base).stem
