"""Point clouds read apart: counts against the file's size, limits of time and memory."""

import struct
from pathlib import Path

import numpy as np
import pytest

from render.errors import InputError
from render.files.apart import pointcloud, process
from render.files.apart.pointcloud import read_points
from render.limits import Limit

laspy = pytest.importorskip("laspy")


@pytest.fixture
def cloud(tmp_path: Path) -> Path:
    """Twenty points, two of them noise."""
    data = laspy.create(point_format=3, file_version="1.2")
    data.x, data.y, data.z = np.arange(20.0), np.arange(20.0) * 2, np.full(20, 7.0)
    data.classification = np.where(np.arange(20) < 2, 7, 2).astype(np.uint8)
    data.write(tmp_path / "a.las")
    data.write(tmp_path / "a.laz")
    return tmp_path / "a.las"


def test_points_come_back_without_noise(cloud: Path) -> None:
    """The same from LAS and LAZ."""
    points = read_points(cloud)

    np.testing.assert_allclose(points[:, 0], np.arange(2, 20))
    np.testing.assert_array_equal(points, read_points(cloud.with_suffix(".laz")))


def _patched(path: Path, at: int, form: str, value: int) -> Path:
    data = bytearray(path.read_bytes())
    struct.pack_into(form, data, at, value)
    path.write_bytes(data)
    return path


def test_claims_are_held_against_the_file(cloud: Path) -> None:
    """Too many points for its bytes, a cut at a record's border, a head that is none."""
    packed = cloud.with_suffix(".laz")
    with pytest.raises(InputError, match=r"claims 960,000,000 points"):
        read_points(_patched(packed, 107, "<I", 960_000_000))
    whole = cloud.read_bytes()
    cloud.write_bytes(whole[:-34])  # one record of format 3
    with pytest.raises(InputError, match=r"claims 20 points.*hold 19 at most.*cut short"):
        read_points(cloud)
    cloud.write_bytes(whole[:100])
    with pytest.raises(InputError, match="no LAS or LAZ"):
        read_points(cloud)


def test_a_reader_that_dies_or_hangs_is_one_sentence(
    cloud: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A crash, an endless loop and too large an allocation in the reader end there alone."""
    monkeypatch.setattr(process, "_START", "import os; os.abort()")
    with pytest.raises(InputError, match="its reader ended over it"):
        read_points(cloud)
    monkeypatch.undo()
    for module in (process, pointcloud):
        monkeypatch.setattr(module, "SECONDS_APART", Limit(0.2, "seconds"))
    monkeypatch.setattr(process, "_START", "while True: pass")
    with pytest.raises(InputError, match="ended after 0 seconds"):
        read_points(cloud)
    monkeypatch.undo()
    monkeypatch.setattr(pointcloud, "_BASE_BYTES", 30_000_000)
    with pytest.raises(InputError, match="asks for more memory than its points need"):
        read_points(cloud)


def test_notes_that_have_no_room_are_refused(cloud: Path) -> None:
    """Billions of records behind the head would be gone through one by one."""
    with pytest.raises(InputError, match="more notes than it has room for"):
        read_points(_patched(cloud, 100, "<I", 2**31))
    data = laspy.create(point_format=6, file_version="1.4")
    data.x = data.y = data.z = np.arange(9.0)
    data.write(cloud)
    assert len(read_points(cloud)) == 9
    with pytest.raises(InputError, match="more notes than it has room for"):
        read_points(_patched(cloud, 243, "<I", 2**31))
