"""The unit that a survey records of itself."""

import struct
from pathlib import Path

import numpy as np
import pytest
import tifffile

from render.files.formats.surveyunits import recorded_unit_m

FEET, US_FEET = 0.3048, 1200 / 3937


def _geotiff(path: Path, *keys: int) -> Path:
    directory = (1, 1, 0, len(keys) // 2)
    for key, value in zip(keys[::2], keys[1::2], strict=True):
        directory += (key, 0, 1, value)
    tags = [(34735, "H", len(directory), directory, True)]
    tifffile.imwrite(path, np.zeros((3, 4), np.float32), extratags=tags)
    return path


def _las(path: Path, number: int, content: bytes) -> Path:
    head = bytearray(227)
    head[:4] = b"LASF"
    struct.pack_into("<H", head, 94, 227)
    struct.pack_into("<I", head, 100, 1)
    record = struct.pack("<H16sHH32s", 0, b"LASF_Projection", number, len(content), b"")
    path.write_bytes(bytes(head) + record + content)
    return path


@pytest.mark.parametrize(("code", "metres"), [(9001, 1.0), (9002, FEET), (9003, US_FEET)])
def test_a_geotiff_names_its_unit(tmp_path: Path, code: int, metres: float) -> None:
    """ProjLinearUnitsGeoKey by its EPSG code (OGC GeoTIFF 1.1)."""
    assert recorded_unit_m(_geotiff(tmp_path / "a.tif", 1024, 1, 3076, code)) == metres


def test_a_projected_system_brings_its_unit(tmp_path: Path) -> None:
    """EPSG 2227 (California zone 3) is in US survey feet, 25832 in metres: PROJ says so."""
    pytest.importorskip("pyproj")

    assert recorded_unit_m(_geotiff(tmp_path / "a.tif", 3072, 2227)) == pytest.approx(US_FEET)
    assert recorded_unit_m(_geotiff(tmp_path / "b.tif", 3072, 25832)) == 1.0


def test_a_point_cloud_names_its_unit_either_way(tmp_path: Path) -> None:
    """Keys in record 34735, or well-known text in record 2112 (LAS 1.4)."""
    keys = struct.pack("<8H", 1, 1, 0, 1, 3076, 0, 1, 9002)
    text = (
        b'COMPD_CS["x",PROJCS["y",GEOGCS["z",UNIT["degree",0.0174532925199433]],'
        b'UNIT["US survey foot",0.3048006096012192]],VERT_CS["h",UNIT["metre",1]]]'
    )

    assert recorded_unit_m(_las(tmp_path / "a.las", 34735, keys)) == FEET
    assert recorded_unit_m(_las(tmp_path / "b.las", 2112, text)) == pytest.approx(US_FEET)


def test_nothing_recorded_or_damaged_says_nothing(tmp_path: Path) -> None:
    """Reading the heights is what complains."""
    (tmp_path / "c.laz").write_bytes(b"LASF")
    (tmp_path / "d.tif").write_bytes(b"II*")

    for name in ("c.laz", "d.tif"):
        assert recorded_unit_m(tmp_path / name) is None
