"""Surveys of a place: point clouds (LAS, LAZ), height models (GeoTIFF, ESRI ASCII grid)."""

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from render.depth.survey import HeightField, field_of_points
from render.errors import InputError
from render.files.apart.pointcloud import read_points
from render.files.formats.decoded import check_page, tifffile_quietly
from render.files.formats.surveyunits import geo_keys
from render.files.inputs import input_file
from render.limits import CELLS

__all__ = ["SURVEY_ENDINGS", "Grid", "read_ascii_grid", "read_geotiff", "read_survey"]

SURVEY_ENDINGS = (".las", ".laz", ".tif", ".tiff", ".asc")


@dataclass(frozen=True, slots=True, eq=False)
class Grid:
    """Heights as a file lays them out, in its own coordinates.

    Attributes
    ----------
    heights : ndarray, shape (R, C), float32
        Rows go north; NaN where nothing is known.
    west, south : float
        Of the centre of the first cell.
    step_x, step_y : float
    keys : mapping of int
        GeoTIFF's keys; empty for other files.
    """

    heights: NDArray[np.float32]
    west: float
    south: float
    step_x: float
    step_y: float
    keys: Mapping[int, int]


def read_survey(path: Path, unit_m: float = 1.0) -> HeightField:
    """Read a survey as a height field in metres.

    Parameters
    ----------
    path : Path
        .las, .laz, .tif (GeoTIFF on a grid in length units) or .asc.
    unit_m : float
        Metres per unit of its coordinates and heights (0.3048 for feet).

    Raises
    ------
    InputError
        If the file is missing, damaged, of another kind, or in degrees.
    """
    ending = path.suffix.lower()
    if ending not in SURVEY_ENDINGS:
        raise InputError(f"{path}: a survey is one of {', '.join(SURVEY_ENDINGS)}")
    input_file(path, what="survey")
    try:
        if ending in (".las", ".laz"):
            return field_of_points(read_points(path) * unit_m)
        heights, east, north, cell = _tiff(path) if ending != ".asc" else read_ascii_grid(path)
    except InputError as error:
        raise InputError(f"{path}: {error}") from None
    except MemoryError:
        raise InputError(f"{path} does not fit into memory: cut out the part you see") from None
    in_metres = (heights * np.float32(unit_m)).astype(np.float32)
    return HeightField(in_metres, east * unit_m, north * unit_m, cell * unit_m)


def _tiff(path: Path) -> tuple[NDArray[np.float32], float, float, float]:
    grid = read_geotiff(path)
    if grid.keys.get(1024) == 2:  # GTModelType: geographic
        raise InputError("is laid out in degrees: reproject it to a grid in metres first")
    if abs(grid.step_x / grid.step_y - 1) > 1e-3:
        raise InputError("has cells that are not square: resample it first")
    return grid.heights, grid.west, grid.south, grid.step_x


def read_geotiff(path: Path) -> Grid:
    """Read a GeoTIFF's heights and where they lie (OGC GeoTIFF 1.1).

    Raises
    ------
    InputError
        If it is damaged, too large, holds colours, or does not say where it lies.
    """
    try:
        return _geotiff(path)
    except (InputError, MemoryError):
        raise
    except Exception as error:  # the library raises what it likes on damaged files
        raise InputError(f"is damaged or no TIFF ({_short(error)}); copy it again") from None


def _geotiff(path: Path) -> Grid:
    with tifffile_quietly().TiffFile(path) as file:
        page: Any = file.pages[0]
        check_page(path, page, file.filehandle.size)
        width, length = page.imagewidth, page.imagelength
        CELLS.check(width * length, f"claims {width} x {length} cells", "cut out the part you see")
        tags = {tag.code: tag.value for tag in page.tags}
        heights = np.asarray(page.asarray(), np.float32)
    if heights.ndim != 2:
        raise InputError("holds colours or layers: a height model is one number per cell")
    if 33550 not in tags or 33922 not in tags:  # ModelPixelScale, ModelTiepoint
        raise InputError("does not say where it lies: it has no GeoTIFF scale and tie point")
    keys = geo_keys(tags.get(34735, ()))
    scale_x, scale_y = (float(v) for v in tags[33550][:2])
    column, row, _, east, north = (float(v) for v in tags[33922][:5])
    if not (scale_x > 0 and scale_y > 0 and np.isfinite([scale_x, scale_y, east, north]).all()):
        raise InputError("says of its cells what cannot be: their size must be above 0")
    centre = 0.0 if keys.get(1025) == 2 else 0.5  # GTRasterType: point or area
    nothing = tags.get(42113)
    if nothing is not None:
        heights = np.where(heights == np.float32(str(nothing).strip("\0 ")), np.nan, heights)
    heights = np.where(np.abs(heights) > 1e5, np.nan, heights)
    west = east + (centre - column) * scale_x
    south = north - (heights.shape[0] - 1 + centre - row) * scale_y
    return Grid(np.ascontiguousarray(heights[::-1]), west, south, scale_x, scale_y, keys)


def read_ascii_grid(path: Path) -> tuple[NDArray[np.float32], float, float, float]:
    """Heights, west and south of the first cell's centre, and cell size of an ASCII grid.

    Raises
    ------
    InputError
        If it is none, or too large.
    """
    try:
        return _ascii_grid(path)
    except InputError:
        raise
    except UnicodeDecodeError:
        raise InputError("is no ASCII grid: it holds more than letters and digits") from None
    except KeyError as error:
        raise InputError(f"is no whole ASCII grid: its line {error.args[0]} is missing") from None
    except (OSError, ValueError, OverflowError) as error:
        raise InputError(f"is no ASCII grid that can be read ({_short(error)})") from None


def _ascii_grid(path: Path) -> tuple[NDArray[np.float32], float, float, float]:
    head: dict[str, float] = {}
    with path.open(encoding="ascii") as lines:
        rows = []
        for line in lines:
            words = line.split()
            if len(words) == 2 and words[0][0].isalpha():
                head[words[0].lower()] = float(words[1])
            elif words:
                rows.append(np.array(words, np.float32))
    shape = head["nrows"], head["ncols"]
    if not all(1 <= n == n // 1 for n in shape):
        raise InputError(f"claims {shape[1]:g} columns and {shape[0]:g} rows, which cannot be")
    CELLS.check(shape[0] * shape[1], f"claims {shape[0] * shape[1]:,.0f} cells", "cut a part out")
    found = sum(map(len, rows))
    if found != shape[0] * shape[1]:
        raise InputError(
            f"is cut short or damaged: it claims {shape[1]:.0f} columns x {shape[0]:.0f} rows and "
            f"holds {found:,} heights; copy it again"
        )
    heights = np.concatenate(rows).reshape(int(shape[0]), int(shape[1]))
    heights = np.where(heights == head.get("nodata_value", -9999.0), np.nan, heights)
    cell = head["cellsize"]
    west = head["xllcenter"] if "xllcenter" in head else head["xllcorner"] + cell / 2
    south = head["yllcenter"] if "yllcenter" in head else head["yllcorner"] + cell / 2
    if not (cell > 0 and np.isfinite([cell, west, south]).all()):
        raise InputError("says of its cells what cannot be: their size must be above 0")
    return np.ascontiguousarray(heights[::-1].astype(np.float32)), west, south, cell


def _short(error: Exception) -> str:
    return " ".join(str(error).split())[:100] or type(error).__name__
