"""EXIF blocks: what took the picture, and the block as it belongs to the finished photograph."""

import math
import re
import struct
from dataclasses import dataclass

from PIL import Image
from PIL.TiffImagePlugin import IFDRational

from render.errors import InputError
from render.files.formats.metadata.tags import Block, Directory, Entry, lay_directory
from render.optics.camera import Sensor

__all__ = [
    "NOTE_MARK",
    "Exposed",
    "Taken",
    "exif_encoding",
    "exif_of_lens",
    "exif_of_tiff",
    "exposed_with",
    "finished_exif",
    "grafted_into_tiff",
    "has_preview",
    "is_readable",
    "orientation_of",
    "taken_with",
]

#: What our own note begins with, so that a later one replaces it.
NOTE_MARK = "Hingeline: "

_ORIENTATION, _EXIF, _GPS, _INTEROP = 0x0112, 0x8769, 0x8825, 0xA005
_WIDTH, _HEIGHT, _PIXEL_X, _PIXEL_Y = 0x0100, 0x0101, 0xA002, 0xA003
_EXPOSURE_TIME, _F_NUMBER, _ISO = 0x829A, 0x829D, 0x8827
_COMMENT, _HISTORY, _COLOUR_SPACE = 0x9286, 0x9213, 0xA001
_THUMBNAIL_AT, _THUMBNAIL_SIZE = 0x0201, 0x0202
_DESCRIPTION = 0x010E
#: As tifffile writes it: {"shape": [612, 816, 3]}.
_SHAPE = re.compile(r'\{"shape": \[[\d, ]*\].*\}')
_MOST_SHORT = 65535
_FULL_FRAME_DIAGONAL_MM = math.hypot(36.0, 24.0)

#: Tags that say how a TIFF's pixels are stored; they belong to one file and never travel.
STRUCTURE = frozenset(
    (
        *(254, 255, *range(256, 260), *range(262, 267), 273, *range(277, 282), 284),
        *(*range(288, 294), 297, 301, 317, *range(320, 326), 330, *range(332, 348)),
        *(*range(512, 522), *range(529, 533), 700, 33723, 34377, 34675),
        *(_EXIF, _GPS, _INTEROP),
    )
)


@dataclass(frozen=True, slots=True)
class Taken:
    """What a picture's EXIF says about the lens and sensor that took it.

    Attributes
    ----------
    focal_px : float or None
        Focal length in pixels of the upright picture; None where EXIF doesn't tell.
    focal_mm : float or None
        The focal length that EXIF states, mm.
    sensor : Sensor or None
        The part of the sensor that the picture fills, lying as the upright picture lies.
    how : str
        How it was found and how sure it is, one sentence.
    """

    focal_px: float | None
    focal_mm: float | None
    sensor: Sensor | None
    how: str


def taken_with(exif: bytes | None, width_px: int, height_px: int) -> Taken:
    """Work out focal length and sensor from an EXIF block.

    Two ways: the focal plane resolution, exact but left wrong by many programs that
    resize, and the 35 mm equivalent (by the diagonal, as CIPA DC-008 means it), a whole
    number of mm. The first is taken where the second is missing or agrees within a tenth.

    Parameters
    ----------
    exif : bytes or None
        The block, from its byte order mark on.
    width_px, height_px : int
        Size of the upright picture.
    """
    block = _block(exif)
    if block is None:
        return Taken(None, None, None, "the picture carries no EXIF")
    read = _Reader(block, block.sub(block.first, _EXIF))
    focal_mm, equal_mm = read.positive(0x920A), read.positive(0xA405)
    zoom = max(read.positive(0xA404) or 1.0, 1.0)
    diagonal_px = math.hypot(width_px, height_px)
    plane_px = _from_plane(read, focal_mm, width_px, height_px)
    doubts = _doubts(read, zoom, width_px, height_px)
    if equal_mm is None and plane_px is None:
        if focal_mm is None:
            return Taken(None, None, None, "EXIF holds no focal length")
        how = f"EXIF says {focal_mm:g} mm but not how large the sensor is"
        return Taken(None, focal_mm, None, how)
    if equal_mm is None or (
        plane_px is not None
        and abs(plane_px * _FULL_FRAME_DIAGONAL_MM / (equal_mm * diagonal_px) - 1) < 0.1
    ):
        assert plane_px is not None
        focal_px = plane_px * zoom
        how = f"{focal_mm:g} mm and the focal plane resolution in EXIF, good to about 2 %"
    else:
        focal_px = equal_mm * diagonal_px / _FULL_FRAME_DIAGONAL_MM * zoom
        how = f"35 mm equivalent of {equal_mm:g} mm in EXIF, by the diagonal, good to about 5 %"
        if plane_px is not None:
            doubts += ", and the focal plane resolution, which says otherwise, was not believed"
    sensor = None
    if focal_mm is not None:
        sensor = Sensor(width_px * focal_mm / focal_px, height_px * focal_mm / focal_px)
    return Taken(focal_px, focal_mm, sensor, how + doubts)


def exif_of_lens(focal_mm: float, focal_px: float, width_px: int, height_px: int) -> bytes:
    """Return a block that states the focal length, alone and as 35 mm equivalent by the diagonal.

    Tags FocalLength and FocalLengthIn35mmFilm of EXIF 2.32 (CIPA DC-008), the second a whole
    number of mm. It is what `taken_with` reads.
    """
    equal_mm = focal_px * _FULL_FRAME_DIAGONAL_MM / math.hypot(width_px, height_px)
    block = Image.Exif()
    block.get_ifd(_EXIF).update({0x920A: IFDRational(round(1000 * focal_mm), 1000)})
    if 1 <= round(equal_mm) <= _MOST_SHORT:
        block.get_ifd(_EXIF)[0xA405] = round(equal_mm)
    return block.tobytes().removeprefix(b"Exif\0\0")


@dataclass(frozen=True, slots=True)
class Exposed:
    """The exposure that a picture's EXIF states."""

    f_number: float
    shutter_s: float
    iso: float


def exposed_with(exif: bytes | None) -> Exposed | None:
    """Read f-number, exposure time and ISO; None unless EXIF states all three."""
    block = _block(exif)
    if block is None:
        return None
    read = _Reader(block, block.sub(block.first, _EXIF))
    f_number, shutter_s, iso = map(read.positive, (_F_NUMBER, _EXPOSURE_TIME, _ISO))
    if f_number is None or shutter_s is None or iso is None:
        return None
    return Exposed(f_number, shutter_s, iso)


def orientation_of(exif: bytes | None) -> int:
    """Return the EXIF orientation, 1 to 8; 1 where it is missing or makes no sense."""
    block = _block(exif)
    entry = block.first.entries.get(_ORIENTATION) if block is not None else None
    numbers = entry.numbers(block.order) if block is not None and entry is not None else ()
    return int(numbers[0]) if numbers and numbers[0] in range(1, 9) else 1


def exif_encoding(exif: bytes | None) -> str | None:
    """Return "sRGB", "Adobe RGB" or None, as EXIF ColorSpace and the interoperability index say."""
    block = _block(exif)
    if block is None:
        return None
    tags = block.sub(block.first, _EXIF)
    space = _Reader(block, tags).positive(_COLOUR_SPACE)
    interop = block.sub(tags, _INTEROP) if tags is not None else None
    index = interop.entries[1].text if interop is not None and 1 in interop.entries else ""
    if space == 2 or (space == 65535 and index == "R03"):
        return "Adobe RGB"
    return "sRGB" if space == 1 else None


def exif_of_tiff(data: bytes) -> bytes | None:
    """Gather what a TIFF file says about its picture into an EXIF block of its own."""
    block = Block.over(data)
    first = block.first
    described = [entry for tag, entry in first.entries.items() if tag not in STRUCTURE]
    if not described and block.sub(first, _EXIF) is None and block.sub(first, _GPS) is None:
        return None
    order = block.order
    head = (b"II*\0" if order == "<" else b"MM\0*") + struct.pack(f"{order}I", 8)
    return head + _lay_all(block, 8, described, {})


def grafted_into_tiff(tiff: Block, exif: bytes, end: int) -> tuple[bytes, int]:
    """Lay out a TIFF's first directory anew, with all that an EXIF block says added.

    Parameters
    ----------
    tiff : Block
        The TIFF file, in the byte order of the EXIF block.
    exif : bytes
        The EXIF block.
    end : int
        Length of the file; the returned bytes are to stand there.

    Returns
    -------
    bytes, int
        What to append to the file, and where its first directory then stands.
    """
    block = Block.over(exif)
    kept = {
        entry.tag: bytes(tiff.data[entry.at : entry.at + 12])
        for entry in tiff.first.entries.values()
    }
    added = [entry for tag, entry in block.first.entries.items() if tag not in STRUCTURE]
    return _lay_all(block, end, added, kept), end


def is_readable(exif: bytes) -> bool:
    """Whether a block is one that can be carried on; of one that is not, nothing is kept."""
    return _block(exif) is not None


def has_preview(exif: bytes | None) -> bool:
    """Whether a block holds a small picture beside the picture, which would show the old one."""
    block = _block(exif)
    if block is None or not block.first.next_at or block.first.next_field_at < 0:
        return False
    return _THUMBNAIL_AT in block.directory(block.first.next_at).entries


def finished_exif(exif: bytes | None, width_px: int, height_px: int, note: str | None) -> bytes:
    """Return the EXIF block of the finished photograph.

    Upright, with its pixel count, without the small preview of the old picture, and with
    our note. Everything else stays at its place, so that a camera maker's private notes,
    which point to places in the block, remain readable.

    Parameters
    ----------
    exif : bytes or None
        The block of the picture that was read.
    width_px, height_px : int
        Size of the finished photograph.
    note : str or None
        How the photograph was made, for people to read. It goes into UserComment if that
        is free, else into ImageHistory.
    """
    block = _block(exif)
    if block is None:
        block = Block(b"II*\0\x08\0\0\0\0\0\0\0\0\0", "<")
    data = bytearray(block.data)
    first = block.first
    _set(data, block, first, _ORIENTATION, 1)
    tags = block.sub(first, _EXIF)
    for directory, numbers in ((first, (_WIDTH, _HEIGHT)), (tags, (_PIXEL_X, _PIXEL_Y))):
        if directory is not None:
            _set(data, block, directory, numbers[0], width_px)
            _set(data, block, directory, numbers[1], height_px)
    _drop_preview(data, block, first)
    _blank_shape(data, first)
    if note:
        _add_note(data, Block(bytes(data), block.order), NOTE_MARK + note)
    return bytes(data)


@dataclass(frozen=True, slots=True)
class _Reader:
    """Single numbers out of a directory that may be damaged or missing."""

    block: Block
    tags: Directory | None

    def positive(self, tag: int) -> float | None:
        """Return the first value of `tag` if it is a finite number above 0."""
        entry = self.tags.entries.get(tag) if self.tags is not None else None
        numbers = entry.numbers(self.block.order) if entry is not None else ()
        return numbers[0] if numbers and math.isfinite(numbers[0]) and numbers[0] > 0 else None


def _from_plane(read: _Reader, focal_mm: float | None, width: int, height: int) -> float | None:
    """Focal length in px by the focal plane resolution, if that describes square pixels."""
    unit_mm = {2.0: 25.4, 3.0: 10.0, 4.0: 1.0, 5.0: 0.001}.get(read.positive(0xA210) or 2.0)
    across, down = read.positive(0xA20E), read.positive(0xA20F)
    if focal_mm is None or unit_mm is None or across is None:
        return None
    if down is not None and not 0.98 < across / down < 1.02:
        return None
    focal_px = focal_mm * across / unit_mm
    stated = _stated_size(read)
    if (
        stated is not None
        and abs(max(stated) * min(width, height) / min(stated) / max(width, height) - 1) < 0.01
    ):
        focal_px *= max(width, height) / max(stated)
    sensor_mm = max(width, height) * focal_mm / focal_px
    # The smallest phone sensors are 3 mm long, the largest scanning backs about 130 mm.
    return focal_px if 2.0 < sensor_mm < 150.0 else None


def _doubts(read: _Reader, zoom: float, width: int, height: int) -> str:
    """What makes the focal length less sure, as the rest of a sentence."""
    doubts = ""
    if zoom > 1.001:
        doubts += f", times a digital zoom of {zoom:g} (check it: some phones count it twice)"
    stated = _stated_size(read)
    if stated is not None:
        ratio = max(width, height) / min(width, height)
        if abs(max(stated) / min(stated) / ratio - 1) > 0.01:
            doubts += "; the picture was cropped since it was taken, so check the angle of view"
    return doubts


def _stated_size(read: _Reader) -> tuple[float, float] | None:
    width, height = read.positive(_PIXEL_X), read.positive(_PIXEL_Y)
    return (width, height) if width is not None and height is not None else None


def _block(exif: bytes | None) -> Block | None:
    try:
        return Block.over(exif) if exif else None
    except InputError:
        return None


def _set(data: bytearray, block: Block, directory: Directory, tag: int, value: int) -> None:
    """Overwrite a single whole number where it stands; nothing is added where it is missing."""
    entry = directory.entries.get(tag)
    if entry is None or entry.kind not in (3, 4) or entry.count != 1:
        return
    kind = 3 if entry.kind == 3 and value < 65536 else 4
    field = struct.pack(f"{block.order}HHI", tag, kind, 1)
    field += struct.pack(f"{block.order}{'H' if kind == 3 else 'I'}", value).ljust(4, b"\0")
    data[entry.at : entry.at + 12] = field


def _blank_shape(data: bytearray, first: Directory) -> None:
    """Blank the note that array libraries leave as a description: it tells the old picture's shape.

    Read back, it would be believed before the real size. What people wrote stays.
    """
    entry = first.entries.get(_DESCRIPTION)
    if entry is not None and _SHAPE.fullmatch(entry.text):
        data[entry.value_at : entry.value_at + len(entry.raw)] = bytes(len(entry.raw))


def _drop_preview(data: bytearray, block: Block, first: Directory) -> None:
    """Unhook the second directory and wipe the small picture it points to."""
    if not first.next_at or first.next_field_at < 0:
        return
    second = block.directory(first.next_at)
    data[first.next_field_at : first.next_field_at + 4] = b"\0\0\0\0"
    places = [second.entries.get(tag) for tag in (_THUMBNAIL_AT, _THUMBNAIL_SIZE)]
    numbers = [p.numbers(block.order) for p in places if p is not None]
    if len(numbers) == 2 and all(numbers):
        start = int(numbers[0][0])
        stop = min(start + int(numbers[1][0]), len(data))
        if 8 < start < stop:
            data[start:stop] = bytes(stop - start)
            if stop >= len(data) - 2:
                del data[start:]


def _add_note(data: bytearray, block: Block, note: str) -> None:
    order, first = block.order, block.first
    tags = block.sub(first, _EXIF)
    entries = tags.entries if tags is not None else {}
    comment = _comment_text(entries.get(_COMMENT), order)
    if not comment or comment.startswith(NOTE_MARK):
        utf16 = "utf-16-le" if order == "<" else "utf-16-be"
        raw = (
            b"ASCII\0\0\0" + note.encode() if note.isascii() else b"UNICODE\0" + note.encode(utf16)
        )
        fresh = Entry(_COMMENT, 7, len(raw), raw)
    else:
        history = entries[_HISTORY].text if _HISTORY in entries else ""
        earlier = [x for x in history.splitlines() if x and not x.startswith(NOTE_MARK)]
        raw = "\n".join([*earlier, note]).encode() + b"\0"
        fresh = Entry(_HISTORY, 2, len(raw), raw)
    kept = {e.tag: bytes(block.data[e.at : e.at + 12]) for e in entries.values()}
    at = _append(data, lay_directory(order, _even(data), [fresh], kept))
    pointer = first.entries.get(_EXIF)
    if pointer is not None:
        struct.pack_into(f"{order}HHII", data, pointer.at, _EXIF, 4, 1, at)
        return
    kept = {e.tag: bytes(block.data[e.at : e.at + 12]) for e in first.entries.values()}
    link = Entry(_EXIF, 4, 1, struct.pack(f"{order}I", at))
    struct.pack_into(
        f"{order}I", data, 4, _append(data, lay_directory(order, len(data), [link], kept))
    )


def _comment_text(entry: Entry | None, order: str) -> str:
    """Read UserComment, whose first eight bytes name its alphabet (EXIF 2.32, 4.6.5)."""
    if entry is None:
        return ""
    head, body = entry.raw[:8], entry.raw[8:]
    if head == b"UNICODE\0":
        return body.decode("utf-16-le" if order == "<" else "utf-16-be", "replace").strip("\0 ")
    return body.decode("utf-8", "replace").strip("\0 ")


def _lay_all(block: Block, start: int, first: list[Entry], kept: dict[int, bytes]) -> bytes:
    """Lay out a first directory at `start`, with the sub-directories of `block` after it."""
    order = block.order
    source = block.first
    links = [tag for tag in (_EXIF, _GPS) if block.sub(source, tag) is not None]
    blank = [Entry(tag, 4, 1, bytes(4)) for tag in links]
    first = [entry for entry in first if entry.tag not in links]
    out = bytearray(lay_directory(order, start, first + blank, kept))
    placed = []
    for tag in links:
        directory = block.sub(source, tag)
        assert directory is not None
        entries = [e for e in directory.entries.values() if e.tag != _INTEROP]
        interop = block.sub(directory, _INTEROP)
        if interop is not None:
            at = start + _append(
                out, lay_directory(order, start + _even(out), list(interop.entries.values()))
            )
            entries.append(Entry(_INTEROP, 4, 1, struct.pack(f"{order}I", at)))
        at = start + _append(out, lay_directory(order, start + _even(out), entries))
        placed.append(Entry(tag, 4, 1, struct.pack(f"{order}I", at)))
    head = lay_directory(order, start, first + placed, kept)
    out[: len(head)] = head
    return bytes(out)


def _even(data: bytearray) -> int:
    return len(data) + len(data) % 2


def _append(data: bytearray, more: bytes) -> int:
    """Append at an even place, as TIFF 6.0 asks, and return that place."""
    data.extend(b"\0" * (len(data) % 2))
    at = len(data)
    data.extend(more)
    return at
