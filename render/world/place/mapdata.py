"""What a file of open map data holds, before it becomes a scene."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry

__all__ = ["Feature", "MapData"]


@dataclass(frozen=True, slots=True, eq=False)
class Feature:
    """One thing on the map.

    Attributes
    ----------
    tags : mapping of str to str
        In OpenStreetMap's words: ``{"building": "yes", "height": "12 m"}``.
    shape : shapely geometry
        Point, line or area, x east and y north: degrees (longitude, latitude) as read, metres
        once projected.
    """

    tags: Mapping[str, str]
    shape: "BaseGeometry"


@dataclass(frozen=True, slots=True, eq=False)
class MapData:
    """The things of a map file.

    Attributes
    ----------
    name : str
        The file's name without its ending.
    features : tuple of Feature
        In degrees; those far from the wanted place may have been left out.
    bounds_deg : tuple of 4 floats
        West, south, east, north of everything in the file.
    credit : str
        Whom the data must be credited to, in one line; empty where the file does not say.
    remarks : tuple of str
        What was mended or left out, in words.
    """

    name: str
    features: tuple[Feature, ...]
    bounds_deg: tuple[float, float, float, float]
    credit: str = ""
    remarks: tuple[str, ...] = ()
