"""Elevations of the ground by latitude and longitude, from a GeoTIFF or an ASCII grid."""

from collections.abc import Callable
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from render.errors import InputError
from render.extras import needed
from render.files.inputs import input_file
from render.files.surveys import Grid, read_ascii_grid, read_geotiff
from render.limits import TEXT_BYTES

__all__ = ["read_terrain"]

Floats = NDArray[np.float64]
_ENDINGS = (".tif", ".tiff", ".asc")
#: GeoTIFF keys: geographic and projected coordinate system.
_GEOGRAPHIC, _PROJECTED = 2048, 3072
_USER_DEFINED = 32767


def read_terrain(path: Path, system: str | None = None) -> Callable[[Floats], Floats]:
    """Read an elevation grid.

    Its coordinate system is the one given, else the GeoTIFF's own, else that of a .prj file
    beside an ASCII grid, else degrees of WGS 84 if its numbers can be degrees.

    Parameters
    ----------
    path : Path
    system : str, optional
        "EPSG:25832", or any words that PROJ knows.

    Returns
    -------
    callable
        Elevations (m) at longitude and latitude, shape (n, 2): bilinear, NaN outside.

    Raises
    ------
    InputError
        If it cannot be read, or nothing says where it lies.
    """
    pyproj = needed("pyproj", "a terrain")
    if path.suffix.lower() not in _ENDINGS:
        raise InputError(f"{path}: a terrain is one of {', '.join(_ENDINGS)}")
    input_file(path, what="terrain")
    try:
        grid = _grid(path)
    except InputError as error:
        raise InputError(f"{path}: {error}") from None
    except MemoryError:
        raise InputError(f"{path} does not fit into memory: cut out the part you see") from None
    if min(grid.heights.shape) < 2 or not np.isfinite(grid.heights).any():
        raise InputError(f"{path} holds no heights, or fewer than two rows and columns of them")
    named = system or _system_of(path, grid)
    try:
        crs = pyproj.CRS.from_user_input(named)
        turn = pyproj.Transformer.from_crs("EPSG:4326", crs, always_xy=True)
    except pyproj.exceptions.ProjError:
        raise InputError(
            f'the coordinate system "{named[:60]}" of {path.name} is not known: name one such as '
            "EPSG:25832 with --terrain-system"
        ) from None

    def heights(degrees: Floats) -> Floats:
        x, y = turn.transform(degrees[:, 0], degrees[:, 1])
        return _sampled(grid, np.asarray(x), np.asarray(y))

    return heights


def _grid(path: Path) -> Grid:
    if path.suffix.lower() == ".asc":
        heights, west, south, cell = read_ascii_grid(path)
        return Grid(heights, west, south, cell, cell, {})
    return read_geotiff(path)


def _system_of(path: Path, grid: Grid) -> str:
    for key in (_PROJECTED, _GEOGRAPHIC):
        code = grid.keys.get(key, _USER_DEFINED)
        if code not in (0, _USER_DEFINED):
            return f"EPSG:{code}"
    beside = path.with_suffix(".prj")
    if beside.is_file():
        input_file(beside, what="coordinate system", most=TEXT_BYTES)
        return beside.read_text(encoding="utf-8", errors="replace")
    rows, columns = grid.heights.shape
    east, north = grid.west + columns * grid.step_x, grid.south + rows * grid.step_y
    if grid.west >= -181 and east <= 181 and grid.south >= -91 and north <= 91 and grid.step_x < 1:
        return "EPSG:4326"
    raise InputError(
        f"{path} does not say in which coordinate system it lies: name it, such as "
        "--terrain-system EPSG:25832"
    )


def _sampled(grid: Grid, x: Floats, y: Floats) -> Floats:
    """Bilinear between the centres of cells; NaN outside and beside unknown cells."""
    rows, columns = grid.heights.shape
    u, v = (x - grid.west) / grid.step_x, (y - grid.south) / grid.step_y
    with np.errstate(invalid="ignore"):
        inside = (u >= -0.5) & (u <= columns - 0.5) & (v >= -0.5) & (v <= rows - 0.5)
    u, v = np.where(inside, u, 0.0), np.where(inside, v, 0.0)
    u, v = np.clip(u, 0, columns - 1), np.clip(v, 0, rows - 1)
    i, j = np.minimum(v.astype(int), rows - 2), np.minimum(u.astype(int), columns - 2)
    a, b = u - j, v - i
    z = grid.heights.astype(float)
    low = z[i, j] * (1 - a) + z[i, j + 1] * a
    high = z[i + 1, j] * (1 - a) + z[i + 1, j + 1] * a
    return np.where(inside, low * (1 - b) + high * b, np.nan)
