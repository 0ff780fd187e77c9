"""Degrees on the ellipsoid to metres round a point, and back."""

import numpy as np
from numpy.typing import NDArray
from pyproj import Proj

from render.errors import InputError

__all__ = ["LocalFrame"]


class LocalFrame:
    """Metres east and north of a point: the azimuthal equidistant projection on WGS 84.

    Distances and compass bearings from the point are those of the geodesic, so heading and
    distance of everything seen from there are exact; at 1.5 km shapes are true to 1e-8.
    J. P. Snyder, *Map Projections: A Working Manual*, USGS 1395, 1987, chapter 25; computed by
    PROJ.

    Parameters
    ----------
    latitude_deg, longitude_deg : float
        WGS 84; north and east are positive.

    Raises
    ------
    InputError
        If the point is not on Earth.
    """

    def __init__(self, latitude_deg: float, longitude_deg: float) -> None:
        if not (abs(latitude_deg) <= 90 and abs(longitude_deg) <= 180):  # nan fails too
            raise InputError("a place is latitude -90 to 90 and longitude -180 to 180")
        self.latitude_deg, self.longitude_deg = latitude_deg, longitude_deg
        self._proj = Proj(
            proj="aeqd", lat_0=latitude_deg, lon_0=longitude_deg, ellps="WGS84", units="m"
        )

    def to_metres(self, degrees: NDArray[np.float64]) -> NDArray[np.float64]:
        """Longitude and latitude, shape (n, 2), to metres east and north."""
        x, y = self._proj(degrees[:, 0], degrees[:, 1])
        return np.stack([x, y], axis=1)

    def to_degrees(self, metres: NDArray[np.float64]) -> NDArray[np.float64]:
        """Metres east and north, shape (n, 2), to longitude and latitude."""
        lon, lat = self._proj(metres[:, 0], metres[:, 1], inverse=True)
        return np.stack([lon, lat], axis=1)
