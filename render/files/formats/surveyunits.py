"""The unit of a survey's coordinates, from its own projection record.

GeoTIFF keys (OGC GeoTIFF 1.1, 7.4: ProjLinearUnitsGeoKey 3076, ProjectedCRSGeoKey 3072), which
LAS files carry in a record of their own, or well-known text (LAS 1.4 R15, record 2112).
"""

import re
import struct
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from render.errors import InputError
from render.extras import needed
from render.files.formats.decoded import tifffile_quietly

__all__ = ["geo_keys", "recorded_unit_m"]

#: EPSG codes of units of length, metres each (EPSG register, units 9001 to 9003).
_METRES = {9001: 1.0, 9002: 0.3048, 9003: 1200 / 3937}
_LINEAR, _SYSTEM = 3076, 3072
_GEO_KEYS, _TEXT = 34735, 2112
_MOST_RECORDS = 1000


def recorded_unit_m(path: Path) -> float | None:
    """Metres per unit as a survey's projection record says; None where it says nothing."""
    ending = path.suffix.lower()
    try:
        if ending in (".tif", ".tiff"):
            with tifffile_quietly().TiffFile(path) as file:
                tags: Any = file.pages[0].tags
                return _of_keys(geo_keys(tags[_GEO_KEYS].value)) if _GEO_KEYS in tags else None
        return _of_cloud(path) if ending in (".las", ".laz") else None
    except Exception:  # damaged: whoever reads the heights says so
        return None


def geo_keys(directory: Sequence[int]) -> dict[int, int]:
    """Short values of a GeoKeyDirectory: four numbers a key after the four of its head."""
    numbers = [int(value) for value in directory]
    quads = (numbers[k : k + 4] for k in range(4, len(numbers) - 3, 4))
    return {key: value for key, place, _, value in quads if place == 0}


def _of_keys(keys: Mapping[int, int]) -> float | None:
    if keys.get(_LINEAR) in _METRES:
        return _METRES[keys[_LINEAR]]
    code = keys.get(_SYSTEM, 0)
    if not 1024 <= code < 32767:  # user-defined or unknown
        return None
    try:
        pyproj = needed("pyproj", "the unit of a survey's projection")
        axis = pyproj.CRS.from_epsg(code).axis_info[0]
    except InputError:
        return None
    return None if "degree" in axis.unit_name else float(axis.unit_conversion_factor)


def _of_cloud(path: Path) -> float | None:
    """Records behind a LAS head: user id, number, length, then so many bytes."""
    with path.open("rb") as file:
        head = file.read(104)
        (size,) = struct.unpack_from("<H", head, 94)
        (count,) = struct.unpack_from("<I", head, 100)
        file.seek(size)
        for _ in range(min(count, _MOST_RECORDS)):
            number, length = struct.unpack_from("<HH", file.read(54), 18)
            content = file.read(length)
            if number == _GEO_KEYS:
                return _of_keys(
                    geo_keys(struct.unpack(f"<{length // 2}H", content[: length // 2 * 2]))
                )
            if number == _TEXT:
                return _of_text(content.decode("ascii", "replace"))
    return None


def _of_text(text: str) -> float | None:
    """The last unit of length before any vertical system is the projected system's own."""
    level = re.split(r"VERT_?CRS|VERT_CS", text)[0]
    units = re.findall(r'(?:LENGTHUNIT|UNIT)\s*\[\s*"([^"]+)"\s*,\s*([\d.eE+-]+)', level)
    lengths = [float(size) for name, size in units if "deg" not in name.lower()]
    return lengths[-1] if lengths else None
