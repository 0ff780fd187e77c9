"""One writer per kind of picture file: linear light in, a whole file out."""

import struct
import zlib
from dataclasses import replace
from pathlib import Path
from typing import Any, Literal, cast

import numpy as np
from numpy.typing import NDArray
from PIL import Image

from render.errors import OutputError
from render.files.formats.carried import (
    PNG_PHOTOSHOP_KEYS,
    XMP_KEY,
    finished_photoshop,
    jpeg_app1,
    jpeg_rewritten,
    parted_photoshop,
    photoshop_as_png,
)
from render.files.formats.colour.profiles import build_profile
from render.files.formats.linearfiles import write_exr
from render.files.formats.metadata.exif import (
    NOTE_MARK,
    finished_exif,
    grafted_into_tiff,
    has_preview,
    is_readable,
)
from render.files.formats.metadata.tags import Block
from render.files.formats.metadata.xmp import finished_xmp
from render.files.formats.picturefile import PictureFile
from render.scene.colour import LINEAR_SRGB, SRGB, Encoding

__all__ = ["ENDINGS", "encoded_bits", "save", "write_png", "written_encoding"]

#: Kinds that are written, by the ending of the file's name.
ENDINGS = {
    ".jpg": "JPEG",
    ".jpeg": "JPEG",
    ".png": "PNG",
    ".tif": "TIFF",
    ".tiff": "TIFF",
    ".exr": "EXR",
}
_BITS = {"JPEG": (8,), "PNG": (8, 16), "TIFF": (8, 16, 32), "EXR": (16, 32)}
_JPEG_SIDE = 65500  # libjpeg's own limit
_SEGMENT = 65533  # bytes that one JPEG segment holds
_PNG_MARK = b"\x89PNG\r\n\x1a\n"
_NOTE_HEAD = b"Comment\0\0\0\0\0"
_COLOUR_CHUNKS = (b"iCCP", b"sRGB", b"gAMA", b"cHRM", b"cICP")


def encoded_bits(kind: str, wanted: int | None, source_bits: int, path: Path) -> int:
    """Return the bits per channel to write: as wanted, else the most of the source that fits."""
    allowed = _BITS[kind]
    if wanted is not None and wanted not in allowed:
        raise OutputError(f"{path}: a {kind} is written with {allowed} bits, not {wanted}")
    if kind == "EXR":  # half floats only where they are asked for
        return wanted or 32
    return wanted or max((b for b in allowed if b <= source_bits), default=min(allowed))


def save(
    path: Path,
    kind: str,
    light: NDArray[np.float32],
    like: PictureFile,
    bits: int,
    note: str | None,
) -> list[str]:
    """Write `light` to `path` as `kind`, with what `like` keeps; return what was lost."""
    height, width = light.shape[:2]
    exif = finished_exif(like.kept.exif, width, height, note)
    xmp = finished_xmp(like.kept.xmp, width, height)
    lost = ["the XMP is damaged and was left out"] if like.kept.xmp and xmp is None else []
    if like.kept.exif and not is_readable(like.kept.exif):
        lost.append("the EXIF is damaged and was left out")
    if has_preview(like.kept.exif):
        lost.append("the small preview in its EXIF showed the old picture and was left out")
    codes = _codes(light, like, 32 if kind == "EXR" else bits)
    if kind == "JPEG":
        return lost + _save_jpeg(path, codes, like, exif, xmp)
    if kind == "PNG":
        _save_png(path, codes, like, exif, xmp, note)
        return lost
    if kind == "EXR":
        write_exr(path, codes, like.encoding, note, half=bits == 16)
        return ["an EXR is written without EXIF and XMP"] if like.kept.exif or xmp else []
    return lost + _save_tiff(path, codes, like, exif, xmp)


def _codes(light: NDArray[np.float32], like: PictureFile, bits: int) -> NDArray[Any]:
    """Code values; one channel if the source had one and nothing coloured was added."""
    if bits == 32:
        return np.ascontiguousarray(light, np.float32)
    encoding = written_encoding(like, bits)
    grey = like.grey and np.array_equal(light[..., 0], light[..., 1])
    if grey and np.array_equal(light[..., 1], light[..., 2]):
        return np.ascontiguousarray(encoding.codes(light, bits)[..., 0])
    return encoding.codes(light, bits)


def written_encoding(like: PictureFile, bits: int) -> Encoding:
    """Return the encoding that is written: the source's own, but with a curve that suits `bits`.

    Floats hold light as it is; 8 and 16 bits would show steps in the dark if they did, so
    only a source that did it itself, with a profile to say so, gets it back.
    """
    own, straight = like.encoding, LINEAR_SRGB.curves
    if bits == 32:
        return own if own.curves == straight else replace(own, curves=straight)
    said = like.kept.icc is not None or any(name in _COLOUR_CHUNKS for name, _ in like.kept.png)
    if own.curves != straight or (said and like.bits == bits == 16):
        return own
    return SRGB if own == LINEAR_SRGB else replace(own, curves=SRGB.curves)


def _profile(like: PictureFile, codes: NDArray[Any]) -> bytes | None:
    """Return the profile to embed: the file's own where it fits, else one built for it."""
    icc = like.kept.icc
    coding = written_encoding(like, 8 * codes.itemsize)
    fits = coding == like.encoding and icc is not None
    if fits and icc is not None and (codes.ndim == 2 or icc[16:20] != b"GRAY"):
        return icc
    if codes.ndim == 2:
        return None
    ours = like.converted or not like.kind  # our own colours: say what they are
    if like.as_shown:
        coding = replace(coding, curves=SRGB.curves, name=SRGB.name)
    return None if coding == SRGB and not ours else build_profile(coding)


def _save_jpeg(
    path: Path, codes: NDArray[Any], like: PictureFile, exif: bytes, xmp: bytes | None
) -> list[str]:
    if max(codes.shape[:2]) > _JPEG_SIDE:
        raise OutputError(f"a JPEG holds at most {_JPEG_SIDE} px a side: write a PNG or TIFF")
    lost = []
    kept = like.kept
    icc = _profile(like, codes)
    photoshop = finished_photoshop(kept.photoshop)
    if len(exif) + 6 > _SEGMENT:
        exif, lost = b"", ["the EXIF is too long for a JPEG and was left out"]
    if xmp is not None and len(xmp) + 29 > _SEGMENT:
        xmp, lost = None, [*lost, "the XMP is too long for a JPEG and was left out"]
    untouched = _untouched_jpeg(codes, like)
    if untouched is not None:
        path.write_bytes(jpeg_rewritten(untouched, jpeg_app1(exif, xmp, photoshop)))
        return lost
    extra = jpeg_app1(b"", xmp, photoshop)
    options: dict[str, Any] = {"quality": 100, "subsampling": 0, "extra": extra}
    if kept.dpi is not None:
        options["dpi"] = kept.dpi
    if kept.comment is not None:
        options["comment"] = kept.comment
    if icc is not None:
        options["icc_profile"] = icc
    if exif:
        options["exif"] = b"Exif\0\0" + exif
    Image.fromarray(codes).save(path, "JPEG", **options)
    return lost


def _untouched_jpeg(codes: NDArray[Any], like: PictureFile) -> bytes | None:
    """Return the source's own bytes if it is a JPEG whose pixels come back unchanged.

    Coding a JPEG a second time moves some values by up to four; copying moves none.
    """
    if like.orientation != 1 or like.kind != "JPEG" or codes.shape[:2] != like.light.shape[:2]:
        return None
    if like.converted:
        return None
    for rows in (slice(None, None, 61), slice(None)):  # a sample first: mostly it has changed
        if not np.array_equal(codes[rows], _codes(like.light[rows], like, 8)):
            return None
    try:
        return like.path.read_bytes()
    except OSError:
        return None


def _save_png(
    path: Path,
    codes: NDArray[Any],
    like: PictureFile,
    exif: bytes,
    xmp: bytes | None,
    note: str | None,
) -> None:
    kept = like.kept
    own = kept.png
    icc = _profile(like, codes)
    same = written_encoding(like, 8 * codes.itemsize) == like.encoding
    colour = [c for c in own if c[0] in _COLOUR_CHUNKS and same]
    if not colour and icc is not None and icc != build_profile(SRGB):
        colour = [(b"iCCP", b"profile\0\0" + zlib.compress(icc))]
    elif not colour and codes.ndim == 3 and like.kind != "PNG":
        colour = [(b"sRGB", b"\0")]  # what the code values are by now
    chunks = [*colour, (b"eXIf", exif)]
    density = [c for c in own if c[0] == b"pHYs"]
    if not density and kept.dpi is not None:
        x, y = (round(v / 0.0254) for v in kept.dpi)
        density = [(b"pHYs", struct.pack(">IIB", x, y, 1))]
    texts = [c for c in own if c[0] in (b"tEXt", b"zTXt", b"iTXt") and _keyword(c) != XMP_KEY]
    photoshop = finished_photoshop(kept.photoshop)
    if photoshop is not None:
        texts = [c for c in texts if _keyword(c) not in PNG_PHOTOSHOP_KEYS]
        texts.append(photoshop_as_png(photoshop))
    if xmp is not None:
        texts.append((b"iTXt", XMP_KEY + b"\0\0\0\0\0" + xmp))
    texts = [c for c in texts if not _is_own_note(c)]
    if note and not any(_keyword(c) == b"Comment" for c in texts):
        texts.append((b"iTXt", _NOTE_HEAD + (NOTE_MARK + note).encode()))
    times = [c for c in own if c[0] == b"tIME"]
    write_png(path, codes, [*chunks, *density, *texts, *times])


def write_png(path: Path, codes: NDArray[Any], chunks: list[tuple[bytes, bytes]]) -> None:
    """Write grey (H, W) or colour (H, W, 3) code values of 8 or 16 bits, and chunks before them."""
    colours = 2 if codes.ndim == 3 else 0
    head = struct.pack(">IIBB3x", codes.shape[1], codes.shape[0], 8 * codes.itemsize, colours)
    with path.open("wb") as file:
        file.write(_PNG_MARK)
        for chunk in [(b"IHDR", head), *chunks, *_pixels(codes), (b"IEND", b"")]:
            file.writelines(_chunk(*chunk))


def _chunk(name: bytes, data: bytes) -> tuple[bytes, bytes, bytes]:
    """Length and name, content, checksum."""
    return (
        struct.pack(">I", len(data)) + name,
        data,
        struct.pack(">I", zlib.crc32(data, zlib.crc32(name))),
    )


def _keyword(chunk: tuple[bytes, bytes]) -> bytes:
    return chunk[1].split(b"\0")[0]


def _is_own_note(chunk: tuple[bytes, bytes]) -> bool:
    return chunk[1].startswith(_NOTE_HEAD + NOTE_MARK.encode())


def _pixels(codes: NDArray[Any]) -> list[tuple[bytes, bytes]]:
    """Pixel chunks of a PNG: rows filtered against the row above, deflated.

    libpng takes five times as long for a larger file; the layout is two lines.
    """
    from imagecodecs import deflate_encode

    rows = codes.astype(codes.dtype.newbyteorder(">")).view(np.uint8).reshape(len(codes), -1)
    filtered = np.empty((rows.shape[0], rows.shape[1] + 1), np.uint8)
    filtered[0, 0], filtered[1:, 0] = 0, 2  # none for the first row, "up" for the others
    filtered[0, 1:] = rows[0]
    np.subtract(rows[1:], rows[:-1], out=filtered[1:, 1:])
    packed = bytes(deflate_encode(cast(Any, filtered), 6))
    return [(b"IDAT", packed[i : i + (1 << 30)]) for i in range(0, len(packed), 1 << 30)]


def _save_tiff(
    path: Path, codes: NDArray[Any], like: PictureFile, exif: bytes, xmp: bytes | None
) -> list[str]:
    import tifffile

    kept = like.kept
    order: Literal["<", ">"] = "<" if exif.startswith(b"II") else ">"
    extra = []
    if xmp is not None:
        extra.append((700, 1, len(xmp), xmp, True))
    captions, photoshop = parted_photoshop(finished_photoshop(kept.photoshop))
    for tag, block in ((33723, captions), (34377, photoshop)):
        if block is not None:
            extra.append((tag, 7, len(block), block, True))
    options: dict[str, Any] = {}
    if kept.dpi is not None:
        options = {"resolution": kept.dpi, "resolutionunit": 2}
    icc = _profile(like, codes)
    tifffile.imwrite(
        path,
        codes,
        byteorder=order,
        photometric="rgb" if codes.ndim == 3 else "minisblack",
        compression="zlib",
        predictor=True,
        rowsperstrip=64,
        iccprofile=icc,
        metadata=None,
        software=False,
        extratags=extra,
        **options,
    )
    with path.open("r+b") as file:
        data = file.read()
        if data[2:4] not in (b"*\0", b"\0*"):
            return ["a TIFF above 4 GB is written without EXIF"]
        end = len(data) + len(data) % 2
        more, first_at = grafted_into_tiff(Block.over(data), exif, end)
        file.seek(end)
        file.write(more)
        file.seek(4)
        file.write(struct.pack(f"{order}I", first_at))
    return []
