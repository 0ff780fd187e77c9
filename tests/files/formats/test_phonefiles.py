"""HEIC and AVIF."""

from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray
from PIL import Image

from render.errors import InputError
from render.files.formats.decoders import decode
from render.files.pictures import read_picture, write_picture

PHONE = Path(__file__).parents[2] / "data" / "files"
HAS_AVIF = ".avif" in Image.registered_extensions()


def test_a_phones_heic_is_read_upright_in_its_own_colours(tmp_path: Path) -> None:
    """4032 x 3024 px, Display P3, the gain map named as lost; EXIF goes on."""
    pytest.importorskip("pillow_heif")
    picture = read_picture(PHONE / "phone_depth_p3.heic")
    assert picture.light.shape == (3024, 4032, 3)
    assert picture.encoding.name == "Display P3"
    assert any("gain map" in remark for remark in picture.remarks)

    write_picture(tmp_path / "a.jpg", picture.light[::8, ::8], picture)
    again = read_picture(tmp_path / "a.jpg")
    assert again.encoding == picture.encoding
    assert again.kept.exif is not None
    assert again.orientation == 1


def test_ten_bits_of_heic_are_kept(tmp_path: Path) -> None:
    """A 10-bit HEIC comes out with its 1024 steps, black and white being the ends."""
    heif = pytest.importorskip("pillow_heif")
    ramp = np.linspace(0, 65535, 64 * 64).astype(np.uint16).reshape(64, 64)
    codes = np.repeat(ramp[..., None], 3, axis=2)
    heif.from_bytes("RGB;16", (64, 64), codes.tobytes()).save(tmp_path / "a.heic", quality=-1)
    found = decode(tmp_path / "a.heic").codes

    assert found.dtype == np.uint16
    assert len(np.unique(found)) > 300
    assert found.max() == 65535
    np.testing.assert_allclose(found / 65535, codes / 65535, atol=0.02)


@pytest.mark.skipif(not HAS_AVIF, reason="this Pillow has no AVIF")
def test_avif(tmp_path: Path, smooth_codes: NDArray[np.uint8]) -> None:
    """8 bits close to the source, 10 bits kept as 16, orientation followed."""
    from imagecodecs import avif_encode

    Image.fromarray(smooth_codes).save(tmp_path / "a.avif", quality=95)
    found = decode(tmp_path / "a.avif")
    assert np.abs(found.codes.astype(int) - smooth_codes).mean() < 2

    deep = smooth_codes.astype(np.uint16) * 4 + 3
    (tmp_path / "b.avif").write_bytes(avif_encode(deep, bitspersample=10, level=95))
    found = decode(tmp_path / "b.avif")
    assert found.codes.dtype == np.uint16
    np.testing.assert_allclose(found.codes / 65535, deep / 1023, atol=0.02)


@pytest.mark.skipif(not HAS_AVIF, reason="this Pillow has no AVIF")
def test_animated_avif_is_refused(tmp_path: Path) -> None:
    """Several frames are not guessed at."""
    frames = [Image.new("RGB", (16, 16), (n, n, n)) for n in (0, 200)]
    frames[0].save(tmp_path / "a.avif", save_all=True, append_images=frames[1:])
    with pytest.raises(InputError, match="give one picture"):
        decode(tmp_path / "a.avif")


def test_cut_files_are_refused(tmp_path: Path) -> None:
    """Half a HEIC is refused in one sentence."""
    pytest.importorskip("pillow_heif")
    data = (PHONE / "phone_depth_p3.heic").read_bytes()
    (tmp_path / "cut.heic").write_bytes(data[: len(data) // 3])
    with pytest.raises(InputError, match=r"cut\.heic is cut short"):
        read_picture(tmp_path / "cut.heic")
