"""Chance that belongs to a place on Earth: the same from every vantage, today and next year."""

import math

import numpy as np
from numpy.typing import ArrayLike, NDArray

from render.world.place.projection import LocalFrame

__all__ = ["hashed", "lattice", "place_seed"]

#: OpenStreetMap keeps degrees to seven places, so a point of the map gives the same whole numbers
#: whatever it was projected from.
_GRID = 1e7
#: Metres of latitude in a degree, near enough to space things by.
_DEGREE_M = 111_320.0


def hashed(i: ArrayLike, j: ArrayLike, salt: int = 0) -> NDArray[np.float64]:
    """Two numbers in [0, 1) for each pair of whole numbers, shape (n, 2)."""
    i, j = np.asarray(i, np.int64), np.asarray(j, np.int64)
    out = []
    with np.errstate(over="ignore"):  # whole numbers wrap round, as hashes do
        for start in (0x9E3779B9, 0x85EBCA6B):
            h = (i * 73856093) ^ (j * 19349663) ^ (start + 7919 * salt)
            h = (h ^ (h >> 13)) * 0x5BD1E995 & 0xFFFFFFFF
            h = (h ^ (h >> 15)) & 0xFFFFFFFF
            out.append(h / 4294967296.0)
    return np.stack(out, axis=-1)


def place_seed(frame: LocalFrame, x: float, y: float) -> int:
    """A whole number for a point of the map, metres east and north of the frame's origin."""
    lon, lat = frame.to_degrees(np.array([[x, y]]))[0].tolist()
    seed: int = round((lat + 90) * _GRID) * 31 ^ round((lon + 180) * _GRID)
    return seed % 2**31


def lattice(
    bounds: tuple[float, ...], frame: LocalFrame, reach_m: float, spacing_m: float
) -> NDArray[np.float64]:
    """Loose points about `spacing_m` apart, of a lattice in degrees, shape (n, 2), metres.

    Parameters
    ----------
    bounds : west, south, east, north
        Metres; points outside, or farther than `reach_m` east, north, west or south, are left out
        as far as the lattice allows.
    """
    west, south = max(bounds[0], -reach_m), max(bounds[1], -reach_m)
    east, north = min(bounds[2], reach_m), min(bounds[3], reach_m)
    if west >= east or south >= north:
        return np.zeros((0, 2))
    corners = np.array([[west, south], [east, south], [east, north], [west, north]])
    degrees = frame.to_degrees(corners)
    step_lat = spacing_m / _DEGREE_M
    band = math.cos(math.radians(round(frame.latitude_deg)))  # the same from any nearby vantage
    step_lon = step_lat / max(band, 0.05)
    i = np.arange(
        math.floor(degrees[:, 0].min() / step_lon), math.ceil(degrees[:, 0].max() / step_lon) + 1
    )
    j = np.arange(
        math.floor(degrees[:, 1].min() / step_lat), math.ceil(degrees[:, 1].max() / step_lat) + 1
    )
    cell_i, cell_j = (c.ravel() for c in np.meshgrid(i, j, indexing="ij"))
    loose = 0.36 * (hashed(cell_i, cell_j) - 0.5) * 2
    lonlat = np.stack(
        [(cell_i + 0.5 + loose[:, 0]) * step_lon, (cell_j + 0.5 + loose[:, 1]) * step_lat], axis=1
    )
    return frame.to_metres(lonlat)
