"""Files that hold light itself."""

from pathlib import Path

import numpy as np
import pytest
import tifffile
from imagecodecs import rgbe_encode
from numpy.typing import NDArray

from render.errors import InputError
from render.files.pictures import read_picture, write_picture
from render.scene.colour import DISPLAY_P3, LINEAR_SRGB


@pytest.fixture
def light() -> NDArray[np.float32]:
    """Light from black to eight times white."""
    return (np.random.default_rng(4).random((9, 13, 3)) ** 3 * 8).astype(np.float32)


def test_exr_comes_back_exactly(tmp_path: Path, light: NDArray[np.float32]) -> None:
    """Read and written as EXR, every float is the same; as PNG it is coded as sRGB."""
    openexr = pytest.importorskip("OpenEXR")
    openexr.File({}, {"RGB": light}).write(str(tmp_path / "a.exr"))
    picture = read_picture(tmp_path / "a.exr")
    np.testing.assert_array_equal(picture.light, light)
    assert picture.encoding == LINEAR_SRGB

    write_picture(tmp_path / "b.exr", picture.light, picture, note="f/2.8")
    np.testing.assert_array_equal(read_picture(tmp_path / "b.exr").light, light)
    remarks = write_picture(tmp_path / "c.png", picture.light, picture)
    assert "a PNG 16 bits: .exr or .tif keeps it" in remarks[0]
    assert "brighter than white" in remarks[1]
    coded = read_picture(tmp_path / "c.png").light
    np.testing.assert_allclose(coded, np.minimum(light, 1), atol=1e-4)


def test_exr_keeps_its_primaries(tmp_path: Path, light: NDArray[np.float32]) -> None:
    """Stated chromaticities of Display P3 are understood and written again."""
    openexr = pytest.importorskip("OpenEXR")
    p3 = (0.680, 0.320, 0.265, 0.690, 0.150, 0.060, 0.3127, 0.3290)
    openexr.File({"chromaticities": p3}, {"RGB": light}).write(str(tmp_path / "a.exr"))
    picture = read_picture(tmp_path / "a.exr")
    np.testing.assert_allclose(picture.encoding.to_xyz, DISPLAY_P3.to_xyz, atol=1e-5)

    write_picture(tmp_path / "b.exr", picture.light, picture)
    again = read_picture(tmp_path / "b.exr")
    np.testing.assert_allclose(again.encoding.to_xyz, DISPLAY_P3.to_xyz, atol=1e-5)


def test_exr_without_colours_is_refused(tmp_path: Path, light: NDArray[np.float32]) -> None:
    """A depth-only EXR is no picture."""
    openexr = pytest.importorskip("OpenEXR")
    openexr.File({}, {"Z": light[..., 0].copy()}).write(str(tmp_path / "a.exr"))
    with pytest.raises(InputError, match="no channels R, G and B"):
        read_picture(tmp_path / "a.exr")


def test_radiance_pictures(tmp_path: Path, light: NDArray[np.float32]) -> None:
    """RGBE holds light within one part in 128 of the largest channel (Ward 1991)."""
    (tmp_path / "a.hdr").write_bytes(rgbe_encode(light, header=True))
    picture = read_picture(tmp_path / "a.hdr")
    largest = light.max(axis=2, keepdims=True)
    assert np.all(np.abs(picture.light - light) <= largest / 128)

    head = b"#?RADIANCE\nFORMAT=32-bit_rle_rgbe\n\n"
    for name, body, words in (
        ("b.hdr", head + b"+X 4 -Y 4\n", "order of rows"),
        ("c.hdr", head + b"-Y 60000 +X 60000\n", "60000 x 60000"),
        ("d.hdr", (tmp_path / "a.hdr").read_bytes()[:120], "cut short"),
    ):
        (tmp_path / name).write_bytes(body)
        with pytest.raises(InputError, match=words):
            read_picture(tmp_path / name)


def test_a_raw_file_is_developed_to_light(tmp_path: Path) -> None:
    """A made DNG: twice the light in a patch is twice the value, and neutral stays neutral."""
    pytest.importorskip("rawpy")
    mosaic = np.full((64, 96), 4000, np.uint16)
    mosaic[:, 48:] = 8000
    path = tmp_path / "a.dng"
    _write_dng(path, mosaic)
    picture = read_picture(path)
    left, right = picture.light[20:40, 10:30], picture.light[20:40, 66:86]

    assert picture.bits == 16
    np.testing.assert_allclose(right.mean() / left.mean(), 2.0, rtol=0.02)
    assert np.ptp(left.mean(axis=(0, 1))) < 0.03 * left.mean()
    assert any("developed plainly" in remark for remark in picture.remarks)
    (tmp_path / "b.dng").write_bytes(path.read_bytes()[:300])
    with pytest.raises(InputError, match=r"b\.dng is damaged .* as raw \((?!b')[A-Z]"):
        read_picture(tmp_path / "b.dng")


def _write_dng(path: Path, mosaic: NDArray[np.uint16]) -> None:
    """Write the smallest DNG (DNG 1.4): a Bayer mosaic, white level 16000, a D65 camera."""
    matrix = [32405, -15371, -4985, -9693, 18760, 416, 556, -2040, 10572]
    rational = [n for value in matrix for n in (value, 10000)]
    tifffile.imwrite(
        path,
        mosaic,
        photometric=32803,
        metadata=None,
        software=False,
        extratags=[
            (33421, "H", 2, (2, 2), True),
            (33422, "B", 4, b"\0\1\1\2", True),
            (50706, "B", 4, b"\1\4\0\0", True),
            (50708, "s", 0, "Made for a test", True),
            (50717, "H", 1, 16000, True),
            (50721, "2i", 9, rational, True),
            (50728, "2I", 3, (1, 1, 1, 1, 1, 1), True),
            (50778, "H", 1, 21, True),
        ],
    )
