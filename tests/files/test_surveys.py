"""Survey files."""

from pathlib import Path

import numpy as np
import pytest
import tifffile

from render.errors import InputError
from render.files.surveys import read_survey

HEIGHTS = np.arange(12, dtype=np.float32).reshape(3, 4)


def _geotiff(path: Path, *, model: int = 1, scale: tuple[float, float] = (2.0, 2.0)) -> Path:
    keys = (1, 1, 0, 2, 1024, 0, 1, model, 1025, 0, 1, 1)
    extra = [
        (33550, "d", 3, (*scale, 0.0), True),
        (33922, "d", 6, (0.0, 0.0, 0.0, 100.0, 50.0, 0.0), True),
        (34735, "H", len(keys), keys, True),
        (42113, "s", 0, "5", True),
    ]
    tifffile.imwrite(path, HEIGHTS, extratags=extra)
    return path


def test_a_geotiff_lies_where_its_tags_say(tmp_path: Path) -> None:
    """The tie point is the north-west corner; rows are turned to go north, gaps stay unknown."""
    field = read_survey(_geotiff(tmp_path / "dem.tif"))

    assert (field.east_m, field.north_m, field.cell_m) == (101.0, 45.0, 2.0)
    np.testing.assert_array_equal(field.heights_m[0], HEIGHTS[2])
    assert np.isnan(field.heights_m[1, 1])


def test_feet_are_turned_into_metres(tmp_path: Path) -> None:
    """The unit applies to heights, cells and position alike."""
    field = read_survey(_geotiff(tmp_path / "dem.tif"), 0.3048)

    assert field.cell_m == pytest.approx(0.6096)
    assert field.heights_m[0, 3] == pytest.approx(11 * 0.3048)


def test_an_ascii_grid_says_the_same(tmp_path: Path) -> None:
    """Corner, cell size and gaps of an ESRI grid are read."""
    path = tmp_path / "dem.asc"
    path.write_text(
        "ncols 4\nnrows 3\nxllcorner 100\nyllcorner 44\ncellsize 2\nNODATA_value 5\n"
        + "\n".join(" ".join(f"{v:g}" for v in row) for row in HEIGHTS)
    )

    field = read_survey(path)

    assert (field.east_m, field.north_m, field.cell_m) == (101.0, 45.0, 2.0)
    np.testing.assert_array_equal(field.heights_m[2], HEIGHTS[0])


def test_a_point_cloud_is_read(tmp_path: Path) -> None:
    """LAZ points come back as their top surface, noise left out."""
    laspy = pytest.importorskip("laspy")
    rng = np.random.default_rng(3)
    header = laspy.LasHeader(point_format=3, version="1.2")
    header.scales = (0.01, 0.01, 0.01)
    cloud = laspy.LasData(header)
    cloud.x, cloud.y = rng.uniform(0, 40, (2, 5000))
    cloud.z = np.full(5000, 7.0)
    cloud.z[0] = 900.0
    cloud.classification = np.where(np.arange(5000) == 0, 7, 2)
    cloud.write(tmp_path / "cloud.laz")

    field = read_survey(tmp_path / "cloud.laz")

    assert np.nanmax(field.heights_m) == pytest.approx(7, abs=0.02)


def test_surveys_that_cannot_be_used_are_refused(tmp_path: Path) -> None:
    """Missing, damaged, without a place, in degrees, or of another kind: one sentence each."""
    plain = tmp_path / "plain.tif"
    tifffile.imwrite(plain, HEIGHTS)
    broken = tmp_path / "broken.laz"
    broken.write_bytes(b"LASF but not really")
    damaged = tmp_path / "damaged.asc"
    damaged.write_text("ncols 4\nnrows 3\n1 2 3\n")

    for path, sentence in (
        (tmp_path / "none.tif", "is not there"),
        (tmp_path / "x.jpg", "a survey is one of"),
        (plain, "does not say where it lies"),
        (_geotiff(tmp_path / "deg.tif", model=2), "laid out in degrees"),
        (_geotiff(tmp_path / "long.tif", scale=(2.0, 3.0)), "not square"),
        (broken, "no LAS or LAZ"),
        (damaged, "cut short or damaged"),
    ):
        with pytest.raises(InputError, match=sentence):
            read_survey(path)
