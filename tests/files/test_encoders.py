"""Writers, one per kind of file."""

from pathlib import Path

import numpy as np
import pytest
import tifffile
from imagecodecs import png_decode
from numpy.typing import NDArray
from PIL import Image

from render.errors import OutputError
from render.files.encoders import encoded_bits, insert_chunks
from render.files.pictures import read_picture, write_picture


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
    source = tmp_path / "a.png"
    source.write_bytes(insert_chunks((tmp_path / "raw.png").read_bytes(), chunks))
    picture = read_picture(source)
    write_picture(tmp_path / "b.png", picture.light, picture, note="note")
    with Image.open(tmp_path / "b.png") as image:
        image.load()
        assert image.info["Title"] == "roofs"
        assert image.info["Comment"] == "mine"


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
