"""Elevation grids by latitude and longitude."""

from pathlib import Path

import numpy as np
import pytest
import tifffile

from render.errors import InputError
from render.files.terrain import read_terrain


def _asc(path: Path, west: float, south: float, cell: float, rows: list[list[float]]) -> Path:
    head = f"ncols {len(rows[0])}\nnrows {len(rows)}\nxllcorner {west}\nyllcorner {south}\n"
    body = "\n".join(" ".join(map(str, row)) for row in rows)
    path.write_text(f"{head}cellsize {cell}\nNODATA_value -9999\n{body}\n")
    return path


def test_a_grid_in_degrees_is_read_where_it_lies(tmp_path: Path) -> None:
    """Bilinear between centres of cells; north is up; NaN outside and beside holes."""
    path = _asc(tmp_path / "t.asc", 8.0, 52.0, 0.1, [[30, 40, 50], [10, 20, -9999]])

    heights = read_terrain(path)

    at = np.array([[8.05, 52.05], [8.15, 52.15], [8.1, 52.1], [8.24, 52.06], [9.0, 52.0]])
    np.testing.assert_allclose(heights(at), [10, 40, 25, np.nan, np.nan], atol=1e-6)


def test_a_projected_grid_follows_its_system(tmp_path: Path) -> None:
    """UTM zone 32: its central meridian 9 deg E is at 500 km east, the equator at 0 north."""
    path = _asc(tmp_path / "t.asc", 499_000, -1000, 1000, [[3, 4], [1, 2]])

    with pytest.raises(InputError, match="--terrain-system"):
        read_terrain(path)
    heights = read_terrain(path, "EPSG:32632")

    assert heights(np.array([[9.0, 0.0]]))[0] == pytest.approx(2.5, abs=1e-6)


def test_a_system_beside_an_ascii_grid_is_found(tmp_path: Path) -> None:
    """The .prj file of the same name."""
    from pyproj import CRS

    path = _asc(tmp_path / "t.asc", 499_000, -1000, 1000, [[3, 4], [1, 2]])
    path.with_suffix(".prj").write_text(CRS("EPSG:32632").to_wkt())

    assert read_terrain(path)(np.array([[9.0, 0.0]]))[0] == pytest.approx(2.5, abs=1e-6)


def test_a_geotiff_names_its_own_system(tmp_path: Path) -> None:
    """Projected or in degrees, with cells that are not square in degrees."""
    path = tmp_path / "t.tif"
    keys = (1, 1, 0, 3, 1024, 0, 1, 2, 1025, 0, 1, 1, 2048, 0, 1, 4326)
    tags = [
        (33550, "d", 3, (0.2, 0.1, 0.0), True),
        (33922, "d", 6, (0.0, 0.0, 0.0, 8.0, 52.2, 0.0), True),
        (34735, "H", len(keys), keys, True),
    ]
    tifffile.imwrite(path, np.array([[30, 40], [10, 20]], np.float32), extratags=tags)

    heights = read_terrain(path)

    at = np.array([[8.1, 52.15], [8.3, 52.05]])
    np.testing.assert_allclose(heights(at), [30, 20], atol=1e-5)


def test_what_cannot_be_read_is_a_sentence(tmp_path: Path) -> None:
    """Missing, of another kind, damaged, in an unknown system, or without heights."""
    damaged = tmp_path / "d.asc"
    damaged.write_text("ncols 3\nnrows 3\ncellsize 1\n1 2")
    fine = _asc(tmp_path / "f.asc", 8.0, 52.0, 0.1, [[1, 2], [3, 4]])
    empty = _asc(tmp_path / "e.asc", 8.0, 52.0, 0.1, [[-9999, -9999], [-9999, -9999]])

    for path, system, says in (
        (tmp_path / "no.asc", None, "is not there"),
        (tmp_path / "a.las", None, "a terrain is one of"),
        (damaged, None, "cut short or damaged"),
        (fine, "EPSG:nothing", "is not known"),
        (empty, None, "holds no heights"),
    ):
        with pytest.raises(InputError, match=says):
            read_terrain(path, system)
