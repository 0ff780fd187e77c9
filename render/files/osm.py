"""OpenStreetMap data, XML or PBF: areas put together, lines, single points; whom to credit."""

import re
from pathlib import Path

from render.errors import InputError
from render.files.apart.osm import Box, read_apart
from render.world.place.mapdata import MapData

__all__ = ["OSM_CREDIT", "read_osm"]

#: What the Open Database Licence and its community guidelines ask for beside a picture.
OSM_CREDIT = "© OpenStreetMap contributors"

#: The attributes of an XML file's first element that say where it is from.
_CREDIT = re.compile(r"""\b(?:copyright|attribution)\s*=\s*(["'])(.*?)\1""")


def read_osm(path: Path, name: str, box: Box | None) -> MapData:
    """Read an OpenStreetMap file. Errors as in `render.files.maps.read_map`."""
    found = read_apart(path, box)
    if found.bounds_deg is None:
        raise InputError(
            f"{path} holds nothing that can be drawn: no buildings, streets, water or trees"
        )
    remarks = []
    if found.broken:
        were = (
            "1 outline of the file lacks points and was"
            if found.broken == 1
            else (f"{found.broken} outlines of the file lack points and were")
        )
        remarks.append(f"{were} left out")
    if found.patched:
        were = "1 area lacks" if found.patched == 1 else f"{found.patched} areas lack"
        remarks.append(f"{were} a part of the outline in the file: closed by straight lines")
    return MapData(name, found.features, found.bounds_deg, _credit(path), tuple(remarks))


def _credit(path: Path) -> str:
    """Whom the file itself names, if its first lines do, else OpenStreetMap's contributors."""
    if path.suffix.lower() in (".osm", ".xml"):
        with path.open(encoding="utf-8", errors="replace") as lines:
            head = lines.read(4000)
        start = head.find("<osm")
        found = _CREDIT.findall(head[start : head.find(">", start)]) if start >= 0 else []
        own: list[str] = [text for _, text in found if text.strip()]
        if own and not any("openstreetmap" in text.lower() for text in own):
            return own[0].strip()
    return OSM_CREDIT
