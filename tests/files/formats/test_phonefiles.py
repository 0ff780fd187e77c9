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


@pytest.mark.parametrize("size", [(40, 60), (64, 96), (33, 44), (720, 1280), (8, 8), (1, 700)])
@pytest.mark.parametrize("boxes", [False, True])
def test_jpeg_xl_comes_in_with_its_exact_values(
    tmp_path: Path, size: tuple[int, int], boxes: bool
) -> None:
    """16 bits, bare or in boxes; the size is read from the stream before anything is decoded."""
    imagecodecs = pytest.importorskip("imagecodecs")
    codes = np.random.default_rng(3).integers(0, 65536, (*size, 3)).astype(np.uint16)
    data = imagecodecs.jpegxl_encode(codes, lossless=True, effort=1, usecontainer=boxes)
    (tmp_path / "a.jxl").write_bytes(data)

    found = decode(tmp_path / "a.jxl")

    assert found.kind == "JPEG XL"
    np.testing.assert_array_equal(found.codes, codes)
    assert any("colour profile" in remark for remark in found.remarks)
    with pytest.MonkeyPatch.context() as patch:
        claimed: list[tuple[int, int]] = []
        patch.setattr(
            "render.files.formats.phonefiles.check_size",
            lambda name, width, height: claimed.append((width, height)),
        )
        decode(tmp_path / "a.jxl")
    assert claimed == [(size[1], size[0])]


def test_a_damaged_jpeg_xl_is_refused_in_a_sentence(tmp_path: Path) -> None:
    """Cut short or scribbled over, bare or in boxes."""
    imagecodecs = pytest.importorskip("imagecodecs")
    for boxes in (False, True):
        codes = np.full((40, 60, 3), 99, np.uint8)
        data = imagecodecs.jpegxl_encode(codes, lossless=True, usecontainer=boxes)
        for broken in (data[:20], data[: len(data) // 2], data[:14] + b"\xff" * 40):
            (tmp_path / "a.jxl").write_bytes(broken)
            with pytest.raises(InputError, match=r"a\.jxl"):
                decode(tmp_path / "a.jxl")
