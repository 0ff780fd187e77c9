"""XMP, captions and JPEG segments of the finished photograph."""

import io
import struct
import zlib

import numpy as np
from numpy.typing import NDArray
from PIL import Image

from render.files.formats.carried import (
    finished_photoshop,
    jpeg_app1,
    jpeg_rewritten,
    jpeg_scans,
    jpeg_segments,
    parted_photoshop,
    photoshop_as_png,
    photoshop_of_png,
    png_chunks,
    xmp_of_jpeg,
    xmp_of_png,
)


def _resource(number: int, data: bytes) -> bytes:
    padded = data + b"\0" * (len(data) % 2)
    return b"8BIM" + struct.pack(">H", number) + b"\0\0" + struct.pack(">I", len(data)) + padded


def test_photoshop_previews_are_dropped() -> None:
    """The small preview (1036) goes, the captions (1028) stay."""
    captions = _resource(1028, b"\x1c\x02\x78\x00\x05roofs")

    assert finished_photoshop(captions + _resource(1036, b"old") + captions) == captions * 2
    assert finished_photoshop(_resource(1036, b"old")) is None
    assert finished_photoshop(None) is None


def test_a_rewritten_jpeg_holds_the_same_pixels(smooth_codes: NDArray[np.uint8]) -> None:
    """New EXIF and XMP, the same coded pixels; what is appended goes; progressive too."""
    for progressive in (False, True):
        packed = io.BytesIO()
        Image.fromarray(smooth_codes).save(
            packed, "JPEG", progressive=progressive, comment=b"mine", exif=b"Exif\0\0old"
        )
        tail = b"\xff\xd8 a second picture \xff\xd9"
        done = jpeg_rewritten(packed.getvalue() + tail, jpeg_app1(b"new", b"<x/>", None))
        with Image.open(io.BytesIO(done)) as image, Image.open(packed) as before:
            np.testing.assert_array_equal(np.asarray(image), np.asarray(before))
            assert image.info["exif"] == b"Exif\0\0new"
            assert image.info["comment"] == b"mine"
        assert done.endswith(b"\xff\xd9")
        assert b"second" not in done
        assert b"old" not in done


def test_segments_and_chunks_of_damaged_files_end() -> None:
    """Cut or senseless files give what there is and never run on."""
    assert list(jpeg_segments(b"\xff\xd8\xff\xe0\x00\x10JF")) == [(0xE0, 6, 8)]
    assert list(jpeg_segments(b"\xff\xd8nothing")) == []
    assert list(png_chunks(b"\x89PNG\r\n\x1a\n" + struct.pack(">I4s", 99, b"tEXt"))) == []


def test_photoshop_resources_travel_in_a_png() -> None:
    """What goes into the text chunk comes out; other and damaged chunks give nothing."""
    resources = _resource(1028, bytes(range(200)))

    assert photoshop_of_png([(b"tEXt", b"Title\0x"), photoshop_as_png(resources)]) == resources
    assert photoshop_of_png([(b"zTXt", b"Raw profile type 8bim\0\0damaged")]) is None
    assert photoshop_of_png([]) is None
    text = b"Raw profile type iptc\0" + b"\nIPTC profile\n 4\n1c02\n0500\n"
    found = photoshop_of_png([(b"tEXt", text)])
    assert found is not None
    assert parted_photoshop(found) == (b"\x1c\x02\x05\x00", None)


def test_captions_are_parted_from_the_other_resources() -> None:
    """A TIFF keeps captions in a tag of their own; the rest stays together, in order."""
    others = [_resource(1005, b"resolution"), _resource(1060, b"xmp")]

    assert parted_photoshop(others[0] + _resource(1028, b"cap") + others[1]) == (
        b"cap",
        others[0] + others[1],
    )
    assert parted_photoshop(None) == (None, None)


def test_xmp_is_found_under_a_damaged_mark() -> None:
    """Some programs wrote "XMP" over the first letters of the mark; the packet is still there."""
    for mark in (b"http://ns.adobe.com/xap/1.0/\0", b"XMP\0://ns.adobe.com/xap/1.0/\0"):
        body = mark + b"<x/>"
        data = b"\xff\xd8" + struct.pack(">BBH", 0xFF, 0xE1, len(body) + 2) + body
        assert xmp_of_jpeg(data + b"\xff\xda\0\2") == b"<x/>"
    assert xmp_of_jpeg(b"\xff\xd8\xff\xda\0\2") is None


def test_xmp_of_a_png_is_found_packed_or_not() -> None:
    """The text chunk with Adobe's keyword, deflated or plain; damage gives nothing."""
    head, packet = b"XML:com.adobe.xmp\0", b"<x:xmpmeta/>"
    plain, packed = head + b"\0\0\0\0" + packet, head + b"\1\0\0\0" + zlib.compress(packet)

    assert xmp_of_png([(b"tEXt", b"Title\0x"), (b"iTXt", plain)]) == packet
    assert xmp_of_png([(b"iTXt", packed)]) == packet
    assert xmp_of_png([(b"iTXt", head + b"\1\0\0\0junk")]) is None


def test_scans_are_counted_to_the_end_of_the_first_picture() -> None:
    """Once in a plain JPEG, several times in a progressive one, whatever is appended."""
    for progressive, least in ((False, 1), (True, 6)):
        packed = io.BytesIO()
        image = Image.effect_noise((64, 64), 80).convert("RGB")
        image.save(packed, "JPEG", progressive=progressive, comment=b"\xff\xda\xff\xda")
        data = packed.getvalue()

        assert least <= jpeg_scans(data) <= 12 * least
        assert (jpeg_scans(data) == 1) == (not progressive)
        assert jpeg_scans(data + b"\xff\xda" * 50) == jpeg_scans(data)
    assert jpeg_scans(b"\xff\xd8nothing") == 0
