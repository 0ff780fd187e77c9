"""Formats of depth files."""

import zipfile
from pathlib import Path

import numpy as np
import pytest
import tifffile

from render.errors import InputError
from render.files.formats.depthcodes import Coding
from render.files.formats.depthformats import DEPTH_ENDINGS, stored_depth, write_stored


@pytest.mark.parametrize("ending", [e for e in DEPTH_ENDINGS if e != ".exr"])
def test_numbers_are_stored_as_they_are(tmp_path: Path, ending: str) -> None:
    """What is stored is what was handed over, in a type that the format has."""
    dtype = np.uint16 if ending == ".png" else np.float32
    numbers = np.arange(12).reshape(3, 4).astype(dtype)
    write_stored(tmp_path / f"a{ending}", numbers, Coding("inverse", 0.5))
    stored, coding = stored_depth(tmp_path / f"a{ending}")

    np.testing.assert_array_equal(stored, numbers)
    assert stored.dtype == dtype
    assert coding == (None if ending in (".npy", ".pfm") else Coding("inverse", 0.5))


def test_exr_keeps_depth_and_note(tmp_path: Path) -> None:
    """An EXR holds channel Z in float32 and the note; without Z it is refused."""
    openexr = pytest.importorskip("OpenEXR")
    numbers = np.array([[1.5, np.inf], [2.5, 1e-9]], np.float32)
    write_stored(tmp_path / "a.exr", numbers, Coding("metres"))
    stored, coding = stored_depth(tmp_path / "a.exr")
    np.testing.assert_array_equal(stored, numbers)
    assert coding == Coding("metres")

    openexr.File({}, {"left.R": numbers}).write(str(tmp_path / "b.exr"))
    with pytest.raises(InputError, match="no channel Z"):
        stored_depth(tmp_path / "b.exr")


def test_a_plane_called_depth_m_is_metres(tmp_path: Path) -> None:
    """An archive that names its plane depth_m has said its unit."""
    np.savez(tmp_path / "a.npz", depth_m=np.ones((2, 2)), other=np.ones((2, 2)))

    assert stored_depth(tmp_path / "a.npz")[1] == Coding("metres")


def test_claims_of_enormous_arrays_are_refused(tmp_path: Path) -> None:
    """A head of 60,000 x 60,000 is refused before anything of its size is asked for."""
    head = {"descr": "<f4", "fortran_order": False, "shape": (60000, 60000)}
    with (tmp_path / "a.npy").open("wb") as file:
        np.lib.format.write_array_header_1_0(file, head)
    with zipfile.ZipFile(tmp_path / "a.npz", "w") as archive:
        archive.write(tmp_path / "a.npy", "depth_m.npy")
    (tmp_path / "a.pfm").write_bytes(b"Pf\n60000 60000\n-1\n")
    for name in ("a.npy", "a.npz", "a.pfm"):
        with pytest.raises(InputError, match="60000 x 60000"):
            stored_depth(tmp_path / name)


def test_tiffs_of_several_pages_are_refused(tmp_path: Path) -> None:
    """Which page is the depth is not guessed."""
    tifffile.imwrite(tmp_path / "a.tif", np.ones((2, 4, 4), np.float32), photometric="minisblack")
    with pytest.raises(InputError, match="several pages"):
        stored_depth(tmp_path / "a.tif")
