"""Writers, one per kind of file."""

from pathlib import Path

import numpy as np
import pytest
import tifffile
from imagecodecs import png_decode, png_encode
from numpy.typing import NDArray
from PIL import Image

from render.errors import OutputError
from render.files.formats.carried import png_chunks
from render.files.formats.colour.profiles import build_profile
from render.files.formats.encoders import encoded_bits
from render.files.pictures import read_picture, write_picture
from render.scene.colour import DISPLAY_P3
from tests.pngs import insert_chunks


def test_bits_follow_the_source_and_the_kind() -> None:
    """As many bits as the source has and the kind holds; what is asked for goes first."""
    assert encoded_bits("JPEG", None, 16, Path("a.jpg")) == 8
    assert encoded_bits("PNG", None, 16, Path("a.png")) == 16
    assert encoded_bits("PNG", None, 32, Path("a.png")) == 16
    assert encoded_bits("TIFF", 8, 16, Path("a.tif")) == 8
    with pytest.raises(OutputError, match="not 12"):
        encoded_bits("PNG", 12, 8, Path("a.png"))


def test_libpng_reads_our_png(tmp_path: Path, deep_codes: NDArray[np.uint16]) -> None:
    """The reference decoder finds the values that were written, text and note included."""
    light = (deep_codes / 65535).astype(np.float32)
    write_picture(tmp_path / "a.png", light, bits=16, note="lens up 8°")
    picture = read_picture(tmp_path / "a.png")

    np.testing.assert_array_equal(
        png_decode((tmp_path / "a.png").read_bytes()), picture.encoding.codes(light, 16)
    )
    with Image.open(tmp_path / "a.png") as image:
        image.load()
        assert image.info["Comment"] == "Hingeline: lens up 8°"


def test_png_text_is_kept_and_put_after_the_header(tmp_path: Path) -> None:
    """Captions of the source come back; a comment of the photographer is not replaced."""
    Image.new("RGB", (2, 2)).save(tmp_path / "raw.png")
    chunks = [(b"tEXt", b"Title\0roofs"), (b"tEXt", b"Comment\0mine")]
    chunks.append((b"tIME", bytes([7, 234, 5, 1, 10, 30, 0])))
    source = tmp_path / "a.png"
    source.write_bytes(insert_chunks((tmp_path / "raw.png").read_bytes(), chunks))
    picture = read_picture(source)
    write_picture(tmp_path / "b.png", picture.light, picture, note="note")
    with Image.open(tmp_path / "b.png") as image:
        image.load()
        assert image.info["Title"] == "roofs"
        assert image.info["Comment"] == "mine"
    assert chunks[2] in list(png_chunks((tmp_path / "b.png").read_bytes()))


def test_captions_travel_between_jpeg_and_tiff(tmp_path: Path) -> None:
    """Photoshop resources with IPTC captions go from JPEG to TIFF, PNG and back."""
    import struct

    caption = b"\x1c\x02\x78\x00\x05roofs\0"
    block = b"8BIM\x04\x04\0\0" + struct.pack(">I", len(caption)) + caption
    segment = b"Photoshop 3.0\0" + block + b"\0" * (len(caption) % 2)
    extra = struct.pack(">BBH", 0xFF, 0xED, len(segment) + 2) + segment
    Image.new("RGB", (16, 16), (90, 80, 70)).save(tmp_path / "a.jpg", extra=extra)
    first = read_picture(tmp_path / "a.jpg")
    write_picture(tmp_path / "b.tif", first.light, first)
    second = read_picture(tmp_path / "b.tif")
    write_picture(tmp_path / "b.png", second.light, second)
    second = read_picture(tmp_path / "b.png")
    write_picture(tmp_path / "c.jpg", second.light * np.float32(0.5), second)
    third = read_picture(tmp_path / "c.jpg")

    assert first.kept.photoshop is not None
    assert b"roofs" in first.kept.photoshop
    assert second.kept.photoshop == first.kept.photoshop == third.kept.photoshop


def test_too_long_metadata_is_left_out_and_said(tmp_path: Path, camera_exif: bytes) -> None:
    """XMP beyond one JPEG segment cannot be written; the remark says so, the picture is there."""
    Image.new("RGB", (8, 8)).save(tmp_path / "a.png")
    long = b'<x:xmpmeta xmlns:x="adobe:ns:meta/">' + b" " * 70000 + b"</x:xmpmeta>"
    text = b"XML:com.adobe.xmp\0\0\0\0\0" + long
    (tmp_path / "b.png").write_bytes(
        insert_chunks((tmp_path / "a.png").read_bytes(), [(b"iTXt", text)])
    )
    picture = read_picture(tmp_path / "b.png")

    assert any("too long" in r for r in write_picture(tmp_path / "c.jpg", picture.light, picture))
    assert (tmp_path / "c.jpg").exists()


def test_bare_captions_of_a_tiff_are_kept(tmp_path: Path) -> None:
    """IPTC captions in a tag of their own (33723), as bytes or as whole numbers, are carried on."""
    caption = b"\x1c\x02\x78\x00\x05roofs\0\0"
    for kind, count, value in (("B", 12, caption), ("I", 3, tuple(np.frombuffer(caption, "<u4")))):
        path = tmp_path / f"{kind}.tif"
        extra = [(33723, kind, count, value, True)]
        tifffile.imwrite(path, np.zeros((8, 8, 3), np.uint8), photometric="rgb", extratags=extra)
        kept = read_picture(path).kept
        assert kept.photoshop is not None
        assert kept.photoshop.endswith(caption)


def test_light_in_a_float_tiff_says_that_it_is_light(tmp_path: Path) -> None:
    """A coded picture written as floats carries a profile of straight curves and its primaries."""
    icc = build_profile(DISPLAY_P3)
    Image.new("RGB", (4, 3), (200, 100, 50)).save(tmp_path / "a.png", icc_profile=icc)
    first = read_picture(tmp_path / "a.png")
    write_picture(tmp_path / "b.tif", first.light * np.float32(3), first, bits=32)
    second = read_picture(tmp_path / "b.tif")

    np.testing.assert_array_equal(second.light, first.light * np.float32(3))
    np.testing.assert_allclose(second.encoding.to_xyz, first.encoding.to_xyz, atol=2e-5)
    write_picture(tmp_path / "c.tif", second.light, second)
    third = read_picture(tmp_path / "c.tif")
    assert third.encoding == second.encoding
    assert third.remarks == ()

    write_picture(tmp_path / "d.png", second.light / 4, second, bits=8)
    fourth = read_picture(tmp_path / "d.png")
    assert float(fourth.encoding.curves[0].decode(0.5)) == pytest.approx(0.2140411, abs=1e-4)
    np.testing.assert_allclose(fourth.light, second.light / 4, atol=0.004)


def test_a_png_of_light_itself_keeps_its_gamma_at_16_bits(tmp_path: Path) -> None:
    """The gAMA of 1 comes back with 16 bits; with 8 bits the picture is coded as sRGB instead."""
    values = np.linspace(0, 65535, 48).astype(np.uint16).reshape(4, 4, 3)
    gamma = [(b"gAMA", (100000).to_bytes(4, "big"))]
    (tmp_path / "a.png").write_bytes(insert_chunks(png_encode(values), gamma))
    first = read_picture(tmp_path / "a.png")
    np.testing.assert_allclose(first.light, values / np.float32(65535), atol=1e-6)

    write_picture(tmp_path / "b.png", first.light, first)
    np.testing.assert_array_equal(png_decode((tmp_path / "b.png").read_bytes()), values)
    np.testing.assert_array_equal(read_picture(tmp_path / "b.png").light, first.light)
    write_picture(tmp_path / "c.png", first.light, first, bits=8)
    np.testing.assert_allclose(read_picture(tmp_path / "c.png").light, first.light, atol=0.005)


def test_what_no_jpeg_can_hold_is_refused(tmp_path: Path) -> None:
    """A panorama of more than 65,500 px goes into a PNG or TIFF, and the sentence says so."""
    light = np.zeros((2, 65501, 3), np.float32)
    with pytest.raises(OutputError, match="65500 px a side"):
        write_picture(tmp_path / "a.jpg", light)
    assert list(tmp_path.iterdir()) == []
    write_picture(tmp_path / "a.png", light)
    assert read_picture(tmp_path / "a.png").width_px == 65501


@pytest.mark.parametrize(("row", "column"), [(0, 0), (1, 5), (60, 3), (79, 90)])
def test_one_changed_pixel_makes_another_jpeg(tmp_path: Path, row: int, column: int) -> None:
    """Only where every pixel comes back is the source's own coding kept, whichever row it is."""
    rng = np.random.default_rng(7)
    Image.fromarray(rng.integers(60, 200, (80, 91, 3), np.uint8)).save(tmp_path / "a.jpg")
    picture = read_picture(tmp_path / "a.jpg")
    changed = picture.light.copy()
    changed[row, column] = 1.0

    write_picture(tmp_path / "same.jpg", picture.light, like=picture)
    write_picture(tmp_path / "other.jpg", changed, like=picture)

    with Image.open(tmp_path / "a.jpg") as a, Image.open(tmp_path / "same.jpg") as same:
        np.testing.assert_array_equal(np.asarray(a), np.asarray(same))
    with Image.open(tmp_path / "other.jpg") as other:
        assert np.asarray(other)[row, column].min() > 225
