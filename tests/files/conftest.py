"""Pictures and EXIF blocks that the tests of files share."""

import base64
import io
import struct
from collections.abc import Callable

import numpy as np
import pytest
from numpy.typing import NDArray
from PIL import Image

from render.files.formats.metadata.tags import Entry, lay_directory


def _entry(order: str, tag: int, value: object) -> Entry:
    if isinstance(value, str):
        raw = value.encode() + b"\0"
        return Entry(tag, 2, len(raw), raw)
    if isinstance(value, bytes):
        return Entry(tag, 7, len(value), value)
    if isinstance(value, tuple):
        return Entry(tag, 5, 1, struct.pack(f"{order}II", *value))
    return Entry(tag, 3, 1, struct.pack(f"{order}H", value))


def _make_exif(
    first: dict[int, object],
    inner: dict[int, object],
    *,
    order: str = ">",
    preview: bytes = b"",
) -> bytes:
    """Lay out an EXIF block by the letter of TIFF 6.0 from plain values."""
    head = b"MM\0*" if order == ">" else b"II*\0"
    entries = [_entry(order, tag, value) for tag, value in first.items()]
    blank = Entry(0x8769, 4, 1, bytes(4))
    size = len(lay_directory(order, 8, [*entries, blank])) + 8
    link = Entry(0x8769, 4, 1, struct.pack(f"{order}I", size))
    inside = lay_directory(order, size, [_entry(order, tag, v) for tag, v in inner.items()])
    block = bytearray(head + struct.pack(f"{order}I", 8))
    block += lay_directory(order, 8, [*entries, link]) + inside
    if preview:
        block += b"\0" * (len(block) % 2)
        second_at = len(block)
        struct.pack_into(f"{order}I", block, 8 + 2 + 12 * (len(entries) + 1), second_at)
        places = [
            Entry(0x0201, 4, 1, struct.pack(f"{order}I", second_at + 30)),
            Entry(0x0202, 4, 1, struct.pack(f"{order}I", len(preview))),
        ]
        block += lay_directory(order, second_at, places) + preview
    return bytes(block)


@pytest.fixture(name="make_exif")
def make_exif_fixture() -> Callable[..., bytes]:
    """The maker of EXIF blocks."""
    return _make_exif


@pytest.fixture
def codes() -> NDArray[np.uint8]:
    """A picture with every 8-bit value in each channel, and no symmetry."""
    generator = np.random.default_rng(5)
    values = np.stack([generator.permutation(256) for _ in range(3)], axis=-1)
    return np.concatenate([values, values[:128]]).reshape(16, 24, 3).astype(np.uint8)


@pytest.fixture
def deep_codes() -> NDArray[np.uint16]:
    """A picture with every 16-bit value in each channel."""
    generator = np.random.default_rng(6)
    values = np.stack([generator.permutation(65536) for _ in range(3)], axis=-1)
    return values.reshape(128, 512, 3).astype(np.uint16)


@pytest.fixture
def smooth_codes() -> NDArray[np.uint8]:
    """A picture that a JPEG holds well, without symmetry."""
    y, x = np.mgrid[0:64, 0:96]
    return np.stack([40 + x, 60 + y, 200 - x], axis=-1).astype(np.uint8)


@pytest.fixture
def camera_exif() -> bytes:
    """An EXIF block as a camera writes it: turned, with caption, maker's note and preview."""
    preview = Image.new("RGB", (16, 12), (200, 10, 10))

    packed = io.BytesIO()
    preview.save(packed, "JPEG")
    return _make_exif(
        {0x010E: "roofs by the station", 0x010F: "Nobody", 0x0112: 6, 0x011A: (300, 1)},
        {
            0x829D: (28, 10),
            0x920A: (43, 10),
            0xA405: 35,
            0xA001: 1,
            0xA002: 96,
            0xA003: 64,
            0x927C: b"maker's private note, forty bytes long..",
        },
        preview=packed.getvalue(),
    )


def _extended(guid: str, packet: bytes) -> bytes:
    """Extended XMP as JPEG segments (Adobe XMP Specification Part 3, 1.1.3.1), in two pieces."""
    out, half = b"", len(packet) // 2
    for start, piece in ((half, packet[half:]), (0, packet[:half])):  # any order is allowed
        body = b"http://ns.adobe.com/xmp/extension/\0" + guid.encode()
        body += struct.pack(">II", len(packet), start) + piece
        out += struct.pack(">BBH", 0xFF, 0xE1, len(body) + 2) + body
    return out


@pytest.fixture(name="extended_xmp")
def extended_xmp_fixture() -> Callable[[str, bytes], bytes]:
    """The maker of extended XMP segments."""
    return _extended


@pytest.fixture
def phone_jpeg() -> Callable[..., bytes]:
    """The maker of JPEGs that carry depth (and a sharp original) inside their XMP."""

    def make(
        shown: NDArray[np.uint8],
        depth: NDArray[np.uint8],
        said: str,
        *,
        original: NDArray[np.uint8] | None = None,
        exif: bytes = b"",
    ) -> bytes:
        def packed(codes: NDArray[np.uint8], kind: str) -> bytes:
            out = io.BytesIO()
            Image.fromarray(codes).save(out, kind, quality=95)
            return out.getvalue()

        space = "http://ns.google.com/photos/1.0/"
        head = (
            '<x:xmpmeta xmlns:x="adobe:ns:meta/"><rdf:RDF '
            'xmlns:rdf="http://www.w3.org/1999/02/22-rdf-syntax-ns#"><rdf:Description rdf:about="" '
            f'xmlns:P="{space}image/" xmlns:Q="{space}depthmap/" '
            'xmlns:n="http://ns.adobe.com/xmp/note/" '
        )
        tail = "/></rdf:RDF></x:xmpmeta>"
        mime = 'P:Mime="image/jpeg" ' if original is not None else ""
        guid = "0123456789ABCDEF0123456789ABCDEF"
        main = head + mime + said + f' n:HasExtendedXMP="{guid}"' + tail
        data = base64.b64encode(packed(depth, "PNG")).decode()
        more = f'Q:Data="{data}"'
        if original is not None:
            more += f' P:Data="{base64.b64encode(packed(original, "JPEG")).decode()}"'
        out = io.BytesIO()
        extra = _extended(guid, (head + more + tail).encode())
        image = Image.fromarray(shown)
        image.save(out, "JPEG", xmp=main.encode(), extra=extra, exif=exif, quality=95)
        return out.getvalue()

    return make
