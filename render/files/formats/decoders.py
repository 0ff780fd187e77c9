"""Readers of the everyday kinds: JPEG, PNG, TIFF, WebP; and the choice of a reader by content."""

import io
import mmap
import struct
import warnings
from collections.abc import Callable
from itertools import islice
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from render.errors import InputError, NoPictureError
from render.files.formats.carried import (
    Kept,
    captions_as_photoshop,
    jpeg_begins,
    jpeg_scans,
    jpeg_segments,
    parted_photoshop,
    photoshop_of_png,
    png_chunks,
    xmp_of_jpeg,
    xmp_of_png,
)
from render.files.formats.decoded import (
    Decoded,
    as_bytes,
    check_page,
    exif_block,
    opened,
    plain,
    resolution,
    space_of,
    tifffile_quietly,
)
from render.files.formats.embedded import jpeg_original
from render.files.formats.linearfiles import decode_exr, decode_hdr, decode_raw
from render.files.formats.metadata.exif import exif_of_tiff
from render.files.formats.phonefiles import (
    JXL_FILE,
    JXL_STREAM,
    decode_avif,
    decode_heif,
    decode_jpegxl,
)
from render.files.formats.quiet import libraries_silenced
from render.files.inputs import input_file
from render.files.memory import check_memory, check_size
from render.limits import PROFILE_BYTES, SCANS, XMP_BYTES

__all__ = ["decode", "kind_of"]

_PHOTOSHOP = b"Photoshop 3.0\0"
#: Raw files are mostly TIFFs inside; the name tells them apart.
_RAW_ENDINGS = frozenset(
    (
        *(".3fr", ".arw", ".cr2", ".cr3", ".crw", ".dng", ".erf", ".fff", ".iiq", ".kdc", ".mef"),
        *(".mos", ".mrw", ".nef", ".nrw", ".orf", ".pef", ".raf", ".raw", ".rw2", ".rwl", ".sr2"),
        *(".srf", ".srw", ".x3f"),
    )
)
#: What says in the first box of such a file that it holds a picture (ISO/IEC 23008-12, annex B).
_STILL_BRANDS = (b"mif1", b"msf1", b"heic", b"heix", b"heim", b"heis", b"hevc", b"avif", b"avis")
#: TIFF: white or black is zero, RGB, palette, CMYK, JPEG's YCbCr, CIELab.
_PHOTOMETRIC = (0, 1, 2, 3, 5, 6, 8)
#: How many channels such colours have, without transparency.
_COLOURS = {2: 3, 5: 4, 6: 3, 8: 3}
_PNG_KEPT = (
    *(b"tEXt", b"zTXt", b"iTXt", b"tIME", b"pHYs"),
    *(b"sRGB", b"gAMA", b"cHRM", b"cICP", b"iCCP"),
)


def kind_of(path: Path) -> str:
    """Tell the kind of a picture file by its first bytes.

    Raises
    ------
    InputError
        If the file is missing, a folder, unreadable, empty, or no picture that is read here.
    """
    input_file(path, what="picture")
    try:
        with path.open("rb") as file:
            head = file.read(32)
    except OSError as error:
        raise InputError(f"{path} cannot be opened ({error.strerror})") from error
    if not head:
        raise InputError(f"{path} is empty; copy it again")
    for start, kind in (
        (b"\xff\xd8\xff", "JPEG"),
        (b"\x89PNG\r\n\x1a\n", "PNG"),
        (b"II*\0", "TIFF"),
        (b"MM\0*", "TIFF"),
        (b"II+\0", "TIFF"),
        (b"MM\0+", "TIFF"),
        (b"GIF8", "GIF"),
        (b"BM", "BMP"),
        (b"\0\0\0\x0cjP  ", "JPEG 2000"),
        (b"\xff\x4f\xff\x51", "JPEG 2000"),
        (JXL_FILE, "JPEG XL"),
        (JXL_STREAM, "JPEG XL"),
        (b"v/1\x01", "EXR"),
        (b"#?RADIANCE", "HDR"),
        (b"#?RGBE", "HDR"),
        (b"FUJIFILMCCD-RAW", "raw"),
        (b"IIU\0", "raw"),
        (b"IIRO", "raw"),
        (b"IIRS", "raw"),
        (b"FOVb", "raw"),
    ):
        if head.startswith(start):
            return "raw" if path.suffix.lower() in _RAW_ENDINGS else kind
    if path.suffix.lower() in _RAW_ENDINGS:
        return "raw"
    if head[:4] == b"RIFF" and head[8:12] == b"WEBP":
        return "WebP"
    if head[4:8] == b"ftyp" and head[8:11] != b"crx":
        if any(head[8:].find(brand) % 4 == 0 for brand in _STILL_BRANDS):
            return "AVIF" if head[8:12] in (b"avif", b"avis") else "HEIC"
        raise InputError(f"{path} is a clip, and a picture is needed here: save one frame of it")
    raise NoPictureError(
        f"{path} is not a picture that can be read here: give a JPEG, PNG, TIFF, WebP, HEIC, "
        "AVIF, EXR, HDR, JPEG 2000, JPEG XL, GIF, BMP or camera raw file"
    )


def decode(path: Path) -> Decoded:
    """Read a picture file.

    Raises
    ------
    InputError
        If it is not a picture, damaged, animated, of several pages, or too large.
    """
    kind = kind_of(path)
    reader: Callable[[Path], Decoded] = {
        "JPEG": _decode_jpeg,
        "PNG": _decode_png,
        "TIFF": _decode_tiff,
        "WebP": _decode_plain,
        "GIF": _decode_plain,
        "BMP": _decode_plain,
        "JPEG 2000": _decode_jpeg2000,
        "JPEG XL": decode_jpegxl,
        "HEIC": decode_heif,
        "AVIF": decode_avif,
        "EXR": decode_exr,
        "HDR": decode_hdr,
        "raw": decode_raw,
    }[kind]
    try:
        with warnings.catch_warnings(), libraries_silenced():
            warnings.simplefilter("ignore")
            found = reader(path)
            if not found.codes.size:
                raise InputError(f"{path} is damaged: it holds no pixels; copy it again")
            size = len(found.kept.icc or b"")
            PROFILE_BYTES.check(
                size, f"the colour profile of {path} has {size:,} bytes", "save it as sRGB"
            )
            return found
    except InputError:
        raise
    except MemoryError:
        raise InputError(f"{path} does not fit into memory: make a smaller copy") from None
    except Exception as error:  # decoders raise what they like on damaged files
        raise InputError(
            f"{path} is damaged or cut short and cannot be read as {kind}"
            f"{reason_of(error)}; copy it again"
        ) from error


def reason_of(error: Exception) -> str:
    """What a decoder says of a damaged file, " (in brackets)"; nothing of its own slips on it."""
    if isinstance(error, struct.error | LookupError | TypeError | AttributeError | AssertionError):
        return ""
    words = " ".join(str(error).split())[:100]
    return f" ({words})" if words else ""


def _decode_jpeg(path: Path) -> Decoded:
    with path.open("rb") as file, mmap.mmap(file.fileno(), 0, access=mmap.ACCESS_READ) as mapped:
        if not jpeg_begins(mapped):
            raise InputError(f"{path} is damaged: no picture follows its head; copy it again")
    with opened(path) as image:
        info = dict(image.info)
        frames = getattr(image, "n_frames", 1)
        data = _whole(path)
        _check_coded(path, data, image.width * image.height)
    contents = [(m, data[a:b]) for m, a, b in jpeg_segments(data)]
    photoshop = b"".join(
        c[len(_PHOTOSHOP) :] for m, c in contents if m == 0xED and c.startswith(_PHOTOSHOP)
    )
    kept = Kept(
        exif=exif_block(info.get("exif")),
        xmp=xmp_of_jpeg(data),
        icc=info.get("icc_profile"),
        photoshop=photoshop or None,
        dpi=resolution(info.get("dpi")),
        comment=info.get("comment"),
    )
    remarks = []
    if b"hdrgm:" in (kept.xmp or b"") or b"HDRGainMap" in (kept.xmp or b""):
        remarks.append("the gain map for bright screens is not kept")
    elif frames > 1 or any(m == 0xE2 and c.startswith(b"MPF\0") for m, c in contents):
        remarks.append("the file holds further pictures; only the first is used and kept")
    if b"MotionPhoto" in (kept.xmp or b"") or b"MicroVideo" in (kept.xmp or b""):
        remarks.append("the moving part of the picture is not kept")
    if b"DepthMap" in (kept.xmp or b"") or b"GDepth:" in (kept.xmp or b""):
        remarks.append("the depth inside the picture is not kept in the result")
    original = jpeg_original(data, kept.xmp)
    if original is not None:
        remarks.append("the phone has blurred this picture; the sharp original inside it is used")
    with opened(io.BytesIO(original) if original is not None else path) as image:
        if image.mode not in ("L", "RGB", "CMYK"):
            image = image.convert("RGB")
        codes = np.asarray(image)
        space = {"L": "grey", "CMYK": "cmyk"}.get(image.mode, "rgb")
    kind = "JPEG" if original is None else "JPEG inside a JPEG"
    return Decoded(codes, space, kind, kept, remarks=tuple(remarks))


def _check_coded(path: Path, data: bytes, pixels: int) -> None:
    """Refuse a JPEG whose bytes cannot hold its pixels, or that goes over them without end.

    Each block of 64 pixels takes a bit at least (ITU-T T.81, annex F and G: one Huffman code).
    """
    if pixels > 64 * 8 * len(data):
        raise InputError(f"{path} is cut short: it holds too little for its size; copy it again")
    SCANS.check(count := jpeg_scans(data), f"{path} has {count:,} scans", "save it anew")


def _whole(path: Path) -> bytes:
    """A file's bytes, if there is room for them and for a copy."""
    size = path.stat().st_size
    check_memory(f"{path} has {size:,} bytes and", 2 * size, "save it anew")
    return path.read_bytes()


def _decode_png(path: Path) -> Decoded:
    data = _whole(path)
    width, height, depth = struct.unpack_from(">IIB", data, 16)
    check_size(str(path), width, height)
    if width * height * depth > 8 * 1100 * len(data):  # deflate packs 1032 times at most
        raise InputError(f"{path} is cut short: it holds too little for its size; copy it again")
    chunks = list(png_chunks(data))
    if any(name == b"acTL" for name, _ in chunks):
        raise InputError(f"{path} is animated: give one picture")
    with opened(path) as image:
        info = dict(image.info)
        if depth != 16:
            image = plain(image)
            codes = np.asarray(image)
    if depth == 16:
        from imagecodecs import png_decode

        codes = png_decode(data)
    exif = next((c for name, c in chunks if name == b"eXIf"), info.get("exif"))
    kept = Kept(
        exif=exif_block(exif),
        xmp=xmp_of_png(chunks),
        icc=info.get("icc_profile"),
        photoshop=photoshop_of_png(chunks),
        dpi=resolution(info.get("dpi")),
        png=tuple((n, c) for n, c in chunks if n in _PNG_KEPT),
    )
    return Decoded(codes, space_of(codes), "PNG", kept)


def _decode_plain(path: Path) -> Decoded:
    """Read what Pillow reads without loss: WebP, GIF, BMP; one picture, not several."""
    with opened(path) as image:
        if getattr(image, "n_frames", 1) > 1:
            raise InputError(f"{path} is animated: give one picture")
        info, kind = dict(image.info), str(image.format).replace("WEBP", "WebP")
        codes = np.asarray(plain(image))
    kept = Kept(
        exif=exif_block(info.get("exif")),
        xmp=info.get("xmp") if kind == "WebP" else None,
        icc=info.get("icc_profile"),
        dpi=resolution(info.get("dpi")),
    )
    return Decoded(codes, space_of(codes), kind, kept)


def _decode_jpeg2000(path: Path) -> Decoded:
    """Read JPEG 2000 with all its bits; the size is checked before it is decoded."""
    from imagecodecs import jpeg2k_decode

    with opened(path) as image:
        icc = image.info.get("icc_profile")
    codes = np.asarray(jpeg2k_decode(path.read_bytes()))
    if codes.dtype not in (np.uint8, np.uint16) or codes.ndim not in (2, 3):
        raise InputError(f"{path} holds samples of type {codes.dtype}: save it with 8 or 16 bits")
    remarks = ("the EXIF and XMP of JPEG 2000 are not read and not kept",)
    return Decoded(codes, space_of(codes), "JPEG 2000", Kept(icc=icc), remarks=remarks)


def _decode_tiff(path: Path) -> Decoded:
    with tifffile_quietly().TiffFile(path) as tiff:
        # A damaged chain of pages may run in a ring, so only the first few are looked at.
        pages: list[Any] = list(islice(tiff.pages, 32))
        full = [p for p in pages if not int(getattr(p, "subfiletype", 0) or 0) & 1]
        if len(full) > 1:
            raise InputError(f"{path} holds several pages: give one picture")
        page = (full or pages)[0]
        check_page(path, page, tiff.filehandle.size)
        photometric = int(page.photometric)
        if photometric not in _PHOTOMETRIC or (photometric == 6 and int(page.compression) != 7):
            raise InputError(f"{path} stores its colours in a way not read here: save it as RGB")
        for code, most in ((34675, PROFILE_BYTES), (700, XMP_BYTES)):
            count = page.tags[code].count if code in page.tags else 0
            most.check(count, f"tag {code} of {path} has {count:,} bytes", "save it without")
        codes = page.asarray()
        if page.planarconfig == 2 and codes.ndim == 3:
            codes = np.moveaxis(codes, 0, -1)
        codes, more = _without_extras(codes, page.extrasamples, _COLOURS.get(photometric, 1))
        if photometric == 3:
            palette = np.asarray(page.colormap)
            if not np.any(palette & 255):  # 8-bit colours, shifted up
                palette = (palette >> 8).astype(np.uint8)
            codes = palette[:, codes.astype(np.intp)].transpose(1, 2, 0)
        wanted = (700, 33723, 34377)
        tags = {code: as_bytes(page.tags[code].value) for code in wanted if code in page.tags}
        icc = page.tags[34675].value if 34675 in page.tags else None
        dpi = _tiff_resolution(page)
    with path.open("rb") as file, mmap.mmap(file.fileno(), 0, access=mmap.ACCESS_READ) as data:
        classic = bytes(data[2:4]) in (b"*\0", b"\0*")
        exif = exif_of_tiff(data) if classic else None  # type: ignore[arg-type]
    kept = Kept(
        exif=exif,
        xmp=tags.get(700),
        icc=as_bytes(icc),
        photoshop=_captioned(tags.get(34377), tags.get(33723)),
        dpi=dpi,
    )
    remarks = more if classic else (*more, "the EXIF of a file larger than 4 GB is not kept")
    colours = _COLOURS.get(photometric)
    wants = (colours, colours + 1) if colours else (1, 2, 3, 4)
    if codes.ndim not in (2, 3) or (1 if codes.ndim == 2 else codes.shape[2]) not in wants:
        raise InputError(f"{path} is damaged: its channels are not those of its colours")
    if _are_codes(codes):
        codes = codes.astype(np.uint8)
        remarks += ("floating point of whole numbers up to 255: taken as codes of 8 bits",)
    codes = _standard_type(codes, photometric, path)
    space = {5: "cmyk", 8: "lab"}.get(photometric) or space_of(codes)
    return Decoded(codes, space, "TIFF", kept, remarks=remarks)


def _captioned(photoshop: bytes | None, captions: bytes | None) -> bytes | None:
    """Put captions that stand in a tag of their own among the Photoshop resources."""
    if parted_photoshop(photoshop)[0] is not None or captions is None:
        return photoshop
    return (captions_as_photoshop(captions) or b"") + (photoshop or b"")


def _tiff_resolution(page: Any) -> tuple[float, float] | None:
    """Resolution in dpi; without a unit it is taken as inches, as most programs do."""
    if 282 not in page.tags or 283 not in page.tags:
        return None
    per_cm = 296 in page.tags and int(page.tags[296].value) == 3
    values = [page.tags[tag].value for tag in (282, 283)]
    if not all(isinstance(v, tuple) and len(v) == 2 and v[1] for v in values):
        return None
    across, down = (v[0] / v[1] * (2.54 if per_cm else 1.0) for v in values)
    return resolution((across, down))


def _without_extras(
    codes: NDArray[Any], extras: tuple[int, ...], colours: int
) -> tuple[NDArray[Any], tuple[str, ...]]:
    """Keep one plain alpha channel (TIFF 6.0, section 18); others mean nothing to us.

    Some programs name more of them than there are: colours are colours then too.
    """
    if not extras or codes.ndim != 3 or codes.shape[2] <= colours:
        return codes, ()
    colours = max(colours, codes.shape[2] - len(extras))
    kind = int(extras[0])
    if kind == 1 and codes.dtype.kind == "u":  # colours were multiplied by alpha: undo it
        top = np.iinfo(codes.dtype).max
        alpha = np.maximum(codes[..., colours : colours + 1], 1).astype(np.float64)
        whole = np.rint(np.minimum(codes[..., :colours] * (top / alpha), top)).astype(codes.dtype)
        codes = np.concatenate([whole, codes[..., colours:]], axis=2)
    kept = colours + (kind in (1, 2))
    said = ("the further channels of the file are not kept",) if kept < codes.shape[2] else ()
    return np.ascontiguousarray(codes[..., :kept]), said


def _are_codes(codes: NDArray[Any]) -> bool:
    """Whether floats are the codes of 8 bits: whole numbers, from 0 to 255 and not just 0 and 1."""
    if codes.dtype.kind != "f" or not 1 < codes.max() <= 255 or codes.min() < 0:
        return False
    return bool(np.all(codes == np.rint(codes)))


def _standard_type(codes: NDArray[Any], photometric: int, path: Path) -> NDArray[Any]:
    """Bring TIFF samples to uint8, uint16 or float32, white being the largest."""
    if codes.dtype == bool:
        codes = codes.astype(np.uint8) * np.uint8(255)
    elif codes.dtype.kind == "f":
        codes = codes.astype(np.float32)
    elif codes.dtype == np.uint32:
        codes = (codes >> np.uint32(16)).astype(np.uint16)
    elif codes.dtype not in (np.uint8, np.uint16):
        raise InputError(f"{path} holds samples of type {codes.dtype}: save it with 8 or 16 bits")
    if photometric == 0 and codes.dtype.kind == "u":  # white is zero
        codes = np.iinfo(codes.dtype).max - codes
    return codes
