"""Readers of HEIC (an optional extra), AVIF and JPEG XL, as phones store their pictures."""

import struct
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from render.errors import InputError
from render.extras import needed
from render.files.formats.carried import Kept
from render.files.formats.decoded import Decoded, exif_block, opened, plain, space_of
from render.files.memory import check_size

__all__ = ["JXL_FILE", "JXL_STREAM", "decode_avif", "decode_heif", "decode_jpegxl"]

#: How a JPEG XL file begins: boxes, or the bare codestream (ISO/IEC 18181-2 and -1).
JXL_FILE, JXL_STREAM = b"\0\0\0\x0cJXL \r\n\x87\n", b"\xff\x0a"
#: Width over height where the stream gives only the height (ISO/IEC 18181-1, SizeHeader).
_JXL_RATIOS = ((1, 1), (12, 10), (4, 3), (3, 2), (16, 9), (5, 4), (2, 1))


def decode_heif(path: Path) -> Decoded:
    """Read a HEIC file; pillow-heif has turned it upright already."""
    heif: Any = needed("pillow_heif", "a HEIC picture").open_heif(path, convert_hdr_to_8bit=False)
    _check_whole(path)
    check_size(str(path), *heif.size)
    info = heif.info
    codes = np.asarray(heif)
    if codes.dtype == np.uint16:
        codes = _stretched(codes >> np.uint16(16 - info["bit_depth"]), info["bit_depth"])
    remarks = []
    if any("gainmap" in name.lower() for name in info.get("aux", {})):
        remarks.append("the gain map for bright screens is not kept")
    if info.get("depth_images"):
        remarks.append("the depth inside the picture is not kept in the result")
    if len(heif) > 1:
        remarks.append(f"the file holds {len(heif)} pictures; the main one is used and kept")
    kept = Kept(
        exif=exif_block(info.get("exif")),
        xmp=info.get("xmp"),
        icc=info.get("icc_profile"),
        png=_code_points(path),
    )
    return Decoded(codes, space_of(codes), "HEIC", kept, upright=True, remarks=tuple(remarks))


def decode_avif(path: Path) -> Decoded:
    """Read an AVIF file; more than 8 bits are kept."""
    from imagecodecs import avif_decode

    try:
        with opened(path) as image:
            frames = getattr(image, "n_frames", 1)
            info = dict(image.info)
            eight = np.asarray(plain(image)) if frames == 1 else None
    except OSError as error:
        raise InputError(f"{path} cannot be read as AVIF; it needs Pillow 11.3 or newer") from error
    if eight is None:
        raise InputError(f"{path} is animated: give one picture")
    codes = avif_decode(path.read_bytes())
    codes = _stretched(codes, _av1_bits(path)) if codes.dtype == np.uint16 else eight
    kept = Kept(
        exif=exif_block(info.get("exif")),
        xmp=info.get("xmp"),
        icc=info.get("icc_profile"),
        png=_code_points(path),
    )
    return Decoded(codes, space_of(codes), "AVIF", kept)


def decode_jpegxl(path: Path) -> Decoded:
    """Read JPEG XL with all its bits; the library turns it upright, and gives no colour profile."""
    from imagecodecs import jpegxl_decode

    data = path.read_bytes()
    boxes = _jxl_boxes(data) if data.startswith(JXL_FILE) else {b"jxlc": data}
    # a stream in parts has four bytes before each, the number of the part
    stream = boxes.get(b"jxlc") or boxes.get(b"jxlp", b"")[4:]
    check_size(str(path), *_jxl_size(path, stream))
    try:
        codes = np.asarray(jpegxl_decode(data))
    except RuntimeError as error:
        raise InputError(f"{path} is damaged and cannot be read as JPEG XL") from error
    if codes.dtype not in (np.uint8, np.uint16, np.float32) or codes.ndim not in (2, 3):
        raise InputError(f"{path} is animated, or of a kind not read here: save one picture of it")
    remarks = ["the colour profile of JPEG XL is not read: its colours are taken as sRGB"]
    if b"brob" in boxes:
        remarks.append("its compressed EXIF and XMP are not read and not kept")
    exif = boxes.get(b"Exif", b"")
    kept = Kept(exif=exif_block(exif[4:] or None), xmp=boxes.get(b"xml "))
    return Decoded(codes, space_of(codes), "JPEG XL", kept, upright=True, remarks=tuple(remarks))


def _jxl_boxes(data: bytes) -> dict[bytes, bytes]:
    """The first box of each kind (ISO/IEC 14496-12, 4.2)."""
    boxes: dict[bytes, bytes] = {}
    at = 0
    while at + 8 <= len(data):
        size, kind = struct.unpack_from(">I4s", data, at)
        head = 8
        if size == 1 and at + 16 <= len(data):
            (size,), head = struct.unpack_from(">Q", data, at + 8), 16
        end = len(data) if size == 0 else at + size
        boxes.setdefault(kind, data[at + head : end])
        if end <= at + head - 1:
            break
        at = end
    return boxes


def _jxl_size(path: Path, stream: bytes) -> tuple[int, int]:
    """Width and height that a stream claims (ISO/IEC 18181-1, SizeHeader), lowest bits first."""
    bits, at = int.from_bytes(stream[2:16], "little"), 0

    def take(count: int) -> int:
        nonlocal at
        found = bits >> at & ((1 << count) - 1)
        at += count
        return found

    def side(small: int) -> int:
        return 8 * (1 + take(5)) if small else 1 + take((9, 13, 18, 30)[take(2)])

    if not stream.startswith(JXL_STREAM) or len(stream) < 16:
        raise InputError(f"{path} is damaged and cannot be read as JPEG XL")
    small = take(1)
    height = side(small)
    ratio = take(3)
    if not ratio:
        return side(small), height
    across, down = _JXL_RATIOS[ratio - 1]
    return height * across // down, height


def _check_whole(path: Path) -> None:
    """Refuse a file whose boxes reach beyond its end; libheif would show what there is."""
    data = path.read_bytes()
    at = 0
    while at + 16 <= len(data):
        (size,) = struct.unpack_from(">I", data, at)
        if size == 1:
            (size,) = struct.unpack_from(">Q", data, at + 8)
        if size == 0:  # to the end of the file
            return
        if size < 8 or at + size > len(data):
            raise InputError(f"{path} is cut short; copy it again")
        at += size


def _stretched(codes: NDArray[np.uint16], bits: int) -> NDArray[np.uint16]:
    """Spread values of 10 or 12 bits over 16, white being the largest."""
    table = np.rint(np.arange(1 << bits) * (65535 / ((1 << bits) - 1))).astype(np.uint16)
    return np.take(table, codes, mode="clip")


def _av1_bits(path: Path) -> int:
    """Bits per sample by the AV1 configuration box (AV1-ISOBMFF 2.3.3)."""
    data = path.read_bytes()
    at = data.find(b"av1C")
    flags = data[at + 6] if at > 0 else 0
    return (12 if flags & 0x20 else 10) if flags & 0x40 else 8


def _code_points(path: Path) -> tuple[tuple[bytes, bytes], ...]:
    """Colour by code points (a "colr" box of type "nclx"), in the form of a PNG's cICP."""
    data = path.read_bytes()
    at = data.find(b"colrnclx")
    if at < 0 or at + 14 > len(data):
        return ()
    return ((b"cICP", bytes([data[at + 9], data[at + 11], 0, 1])),)
