"""What a picture file carries beside its pixels, and how it travels to the finished photograph."""

import mmap
import re
import struct
import zlib
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field

from render.limits import CHUNKS, XMP_BYTES

__all__ = [
    "PNG_PHOTOSHOP_KEYS",
    "XMP_KEY",
    "Kept",
    "captions_as_photoshop",
    "finished_photoshop",
    "jpeg_app1",
    "jpeg_begins",
    "jpeg_rewritten",
    "jpeg_scans",
    "jpeg_segments",
    "parted_photoshop",
    "photoshop_as_png",
    "photoshop_of_png",
    "png_chunks",
    "xmp_of_jpeg",
    "xmp_of_png",
]

_XMP_HEAD = b"http://ns.adobe.com/xap/1.0/\0"
_PHOTOSHOP = b"Photoshop 3.0\0"
#: Keywords of a PNG's texts that hold Photoshop resources or captions, and XMP.
XMP_KEY = b"XML:com.adobe.xmp"
PNG_PHOTOSHOP_KEYS = (b"Raw profile type 8bim", b"Raw profile type iptc")
_PHOTOSHOP_PIECE = 65000


@dataclass(frozen=True, slots=True)
class Kept:
    """What is kept of a file for the photograph that is made from it.

    Attributes
    ----------
    exif : bytes or None
        EXIF block from its byte order mark on, as it was read.
    xmp : bytes or None
        The main XMP packet, as it was read.
    icc : bytes or None
        Colour profile that the pixels are written under.
    photoshop : bytes or None
        Photoshop resources, in which IPTC captions live.
    dpi : tuple of two float, or None
        Resolution across and down.
    comment : bytes or None
        JPEG comment.
    png : tuple of (name, data)
        PNG chunks of text, colour and resolution.
    """

    exif: bytes | None = None
    xmp: bytes | None = None
    icc: bytes | None = None
    photoshop: bytes | None = None
    dpi: tuple[float, float] | None = None
    comment: bytes | None = None
    png: tuple[tuple[bytes, bytes], ...] = field(default=())


_LONGEST_GAP = 65_536
#: A marker among coded pixels, where 0xFF is followed by 0 and restarts mean nothing.
_MARKER = re.compile(rb"\xff[\x01-\xcf\xd8-\xfe]")


def jpeg_segments(data: bytes) -> Iterator[tuple[int, int, int]]:
    """Yield marker, start and end of the content of each segment before the first scan.

    The start of scan (0xDA) comes last.
    """
    at = 2
    while at + 4 <= len(data):
        if data[at] != 0xFF:
            return
        marker = data[at + 1]
        if marker == 0xFF:  # fill byte
            at += 1
            continue
        if marker in (0x01, *range(0xD0, 0xD9)):
            at += 2
            continue
        (length,) = struct.unpack_from(">H", data, at + 2)
        yield marker, at + 4, min(at + 2 + length, len(data))
        if marker == 0xDA:
            return
        at += 2 + length


def jpeg_begins(data: mmap.mmap) -> bool:
    """Whether a JPEG comes to its picture: not after a long way through nothing.

    Decoders that are patient with gaps between segments would go through it byte by byte.
    """
    at, steps = 2, 0
    while at + 4 <= len(data):
        steps += 1
        if steps > CHUNKS.most / 10:
            return False
        marker = data[at + 1]
        if data[at] != 0xFF:
            at = data.find(b"\xff", at, at + _LONGEST_GAP)
            if at < 0:
                return False
        elif marker == 0xFF:
            at += 1
        elif marker in (0x00, 0x01, *range(0xD0, 0xD9)):
            at += 2
        elif 0xC0 <= marker <= 0xCF and marker not in (0xC4, 0xC8, 0xCC):
            return True
        else:
            at += 2 + int(struct.unpack_from(">H", data, at + 2)[0])
    return False


def jpeg_scans(data: bytes) -> int:
    """How many scans the first picture of a JPEG has: how often a decoder goes over all of it."""
    at = next((start for marker, start, _ in jpeg_segments(data) if marker == 0xDA), len(data))
    count = int(at < len(data))
    for found in _MARKER.finditer(data, at):
        if found[0] == b"\xff\xd9":
            break
        count += found[0] == b"\xff\xda"
    return count


def png_chunks(data: bytes | mmap.mmap) -> Iterator[tuple[bytes, bytes]]:
    """Yield name and content of each PNG chunk but the pixels.

    Raises
    ------
    ValueError
        If there are more than any picture has.
    """
    at, count = 8, 0
    while at + 12 <= len(data):
        count += 1
        if count > CHUNKS.most:
            raise ValueError(f"it has {CHUNKS.words()}")
        length, name = struct.unpack_from(">I4s", data, at)
        if name == b"IEND" or at + 12 + length > len(data):
            return
        if name != b"IDAT":
            yield name, data[at + 8 : at + 8 + length]
        at += 12 + length


def jpeg_app1(exif: bytes, xmp: bytes | None, photoshop: bytes | None) -> bytes:
    """Lay out EXIF, XMP and Photoshop resources as JPEG segments."""
    parts = []
    if exif:
        parts.append((0xE1, b"Exif\0\0" + exif))
    if xmp is not None:
        parts.append((0xE1, _XMP_HEAD + xmp))
    for start in range(0, len(photoshop or b""), _PHOTOSHOP_PIECE):
        piece = (photoshop or b"")[start : start + _PHOTOSHOP_PIECE]
        parts.append((0xED, _PHOTOSHOP + piece))
    return b"".join(struct.pack(">BBH", 0xFF, m, len(data) + 2) + data for m, data in parts)


def jpeg_rewritten(data: bytes, segments: bytes) -> bytes:
    """Return a JPEG with the same coded pixels, but with `segments` as its EXIF and XMP.

    The old EXIF, XMP and Photoshop segments go, and so do the index of further pictures
    and all that is appended after the end of the image.
    """
    head, rest, scan = b"", b"", len(data)
    for marker, start, end in jpeg_segments(data):
        whole = data[start - 4 : end]
        if marker == 0xDA:
            scan = start - 4
        elif marker == 0xE0 and not rest:
            head += whole  # JFIF comes first
        elif marker not in (0xE1, 0xED) and not data.startswith(b"MPF\0", start):
            rest += whole
    return b"\xff\xd8" + head + segments + rest + data[scan : _end_of_image(data, scan)]


def _end_of_image(data: bytes, scan: int) -> int:
    """Find the end of a JPEG whose (first) start of scan stands at `scan`."""
    at = scan
    while True:
        at = data.find(b"\xff", at)
        if at < 0 or at + 4 > len(data):
            return len(data)
        marker = data[at + 1]
        if marker == 0xD9:
            return at + 2
        if marker in (0x00, 0x01, 0xFF, *range(0xD0, 0xD9)):
            at += 1 if marker == 0xFF else 2
        else:
            at += 2 + int(struct.unpack_from(">H", data, at + 2)[0])


def xmp_of_jpeg(data: bytes) -> bytes | None:
    """Find the main XMP packet of a JPEG, also where the first letters of its mark are damaged."""
    for marker, start, end in jpeg_segments(data):
        mark = data.find(_XMP_HEAD[7:], start, min(end, start + 40))
        if marker == 0xE1 and mark >= 0:
            return data[mark + len(_XMP_HEAD) - 7 : end]
    return None


def xmp_of_png(chunks: Iterable[tuple[bytes, bytes]]) -> bytes | None:
    """Find the XMP packet of a PNG (Adobe XMP Specification Part 3, 1.1.5)."""
    for name, data in chunks:
        if name == b"iTXt" and data.startswith(XMP_KEY + b"\0") and len(data) > len(XMP_KEY) + 5:
            packed = data[len(XMP_KEY) + 1] == 1
            packet = data[len(XMP_KEY) + 3 :].split(b"\0", 2)[2]
            try:
                return _unfolded(packet) if packed else packet
            except zlib.error:
                return None
    return None


def _unfolded(packed: bytes) -> bytes:
    """What a packed text unfolds to, as far as it is taken."""
    return zlib.decompressobj().decompress(packed, int(XMP_BYTES.most))


def captions_as_photoshop(iptc: bytes | None) -> bytes | None:
    """Wrap bare IPTC captions into the Photoshop resource that holds them (1028)."""
    if not iptc:
        return None
    return b"8BIM\x04\x04\0\0" + struct.pack(">I", len(iptc)) + iptc + b"\0" * (len(iptc) % 2)


def photoshop_as_png(resources: bytes) -> tuple[bytes, bytes]:
    """Lay Photoshop resources into a PNG text chunk, in the form that other programs read."""
    lines = resources.hex()
    body = "\n".join(lines[i : i + 72] for i in range(0, len(lines), 72))
    text = f"\n8bim\n{len(resources):8d}\n{body}\n"
    return b"zTXt", PNG_PHOTOSHOP_KEYS[0] + b"\0\0" + zlib.compress(text.encode())


def photoshop_of_png(chunks: Iterable[tuple[bytes, bytes]]) -> bytes | None:
    """Return the Photoshop resources, or bare captions as such, that a PNG carries as text."""
    for name, data in chunks:
        keyword, _, rest = data.partition(b"\0")
        if keyword not in PNG_PHOTOSHOP_KEYS or name not in (b"zTXt", b"tEXt"):
            continue
        try:
            text = _unfolded(rest[1:]) if name == b"zTXt" else rest
            found = bytes.fromhex(b"".join(text.strip().split(b"\n")[2:]).decode())
        except (zlib.error, ValueError):
            return None
        return found if found.startswith(b"8BIM") else captions_as_photoshop(found)
    return None


def finished_photoshop(resources: bytes | None) -> bytes | None:
    """Return Photoshop resources without the small preview of the old picture (1033, 1036)."""
    kept = [whole for number, whole, _ in _resources(resources) if number not in (1033, 1036)]
    return b"".join(kept) or None


def parted_photoshop(resources: bytes | None) -> tuple[bytes | None, bytes | None]:
    """Part resources into the captions (1028), bare, and the others; a TIFF keeps them apart."""
    found = list(_resources(resources))
    captions = next((content for number, _, content in found if number == 1028), None)
    others = b"".join(whole for number, whole, _ in found if number != 1028)
    return captions or None, others or None


def _resources(data: bytes | None) -> Iterator[tuple[int, bytes, bytes]]:
    """Yield number, whole and content of each Photoshop resource."""
    at = 0
    while data is not None and at + 12 <= len(data) and data[at : at + 4] == b"8BIM":
        (number,) = struct.unpack_from(">H", data, at + 4)
        name = data[at + 6] + 1
        size_at = at + 6 + name + name % 2
        if size_at + 4 > len(data):
            return
        (size,) = struct.unpack_from(">I", data, size_at)
        end = size_at + 4 + size + size % 2
        yield number, data[at:end], data[size_at + 4 : size_at + 4 + size]
        at = end
