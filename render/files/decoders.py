"""One reader per kind of picture file: code values as they stand, and what travels with them."""

import mmap
import struct
import warnings
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from threading import Lock
from typing import Any

import numpy as np
from numpy.typing import NDArray
from PIL import Image

from render.errors import InputError
from render.files.exif import exif_of_tiff
from render.files.memory import check_size
from render.files.metadata import Kept, jpeg_segments, png_chunks

__all__ = ["Decoded", "decode", "kind_of"]

_PHOTOSHOP = b"Photoshop 3.0\0"
_PNG_KEPT = (b"tEXt", b"zTXt", b"iTXt", b"pHYs", b"sRGB", b"gAMA", b"cHRM", b"cICP", b"iCCP")
_lock = Lock()


@dataclass(frozen=True, slots=True, eq=False)
class Decoded:
    """A file's code values and what came with them, before any meaning is given to them.

    Attributes
    ----------
    codes : ndarray, (H, W) or (H, W, 2 to 4), uint8, uint16 or float32
        Grey, grey and alpha, colour, colour and alpha, or CMYK.
    space : {"grey", "rgb", "cmyk", "lab"}
    kind : str
        "JPEG", "PNG", and so on.
    kept : Kept
    upright : bool
        Whether the reader has already turned the picture as EXIF says.
    remarks : tuple of str
        What the file holds that will not come back, one sentence each.
    """

    codes: NDArray[Any]
    space: str
    kind: str
    kept: Kept
    upright: bool = False
    remarks: tuple[str, ...] = ()


def kind_of(path: Path) -> str:
    """Tell the kind of a picture file by its first bytes.

    Raises
    ------
    InputError
        If the file is missing, a folder, unreadable, empty, or no picture that is read here.
    """
    if path.is_dir():
        raise InputError(f"{path} is a folder, not a picture")
    try:
        with path.open("rb") as file:
            head = file.read(32)
    except FileNotFoundError:
        raise InputError(f"{path} does not exist; check its name") from None
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
    ):
        if head.startswith(start):
            return kind
    if head[:4] == b"RIFF" and head[8:12] == b"WEBP":
        return "WebP"
    raise InputError(
        f"{path} is not a picture that can be read here: give a JPEG, PNG, TIFF or WebP"
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
        "WebP": _decode_webp,
    }[kind]
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            return reader(path)
    except InputError:
        raise
    except MemoryError:
        raise InputError(f"{path} does not fit into memory: make a smaller copy") from None
    except Exception as error:  # decoders raise what they like on damaged files
        reason = " ".join(str(error).split())[:100] or type(error).__name__
        raise InputError(
            f"{path} is damaged or cut short and cannot be read as {kind} ({reason}); copy it again"
        ) from error


@contextmanager
def _opened(path: Path) -> Iterator[Image.Image]:
    """Open with Pillow under our own guard of sizes instead of Pillow's."""
    with _lock:
        limit, Image.MAX_IMAGE_PIXELS = Image.MAX_IMAGE_PIXELS, None
        try:
            image = Image.open(path)
        finally:
            Image.MAX_IMAGE_PIXELS = limit
    with image:
        check_size(str(path), image.width, image.height)
        yield image


def _decode_jpeg(path: Path) -> Decoded:
    with _opened(path) as image:
        if image.mode not in ("L", "RGB", "CMYK"):
            image = image.convert("RGB")
        codes = np.asarray(image)
        info = dict(image.info)
        frames = getattr(image, "n_frames", 1)
    data = path.read_bytes()
    contents = [(m, data[a:b]) for m, a, b in jpeg_segments(data)]
    photoshop = b"".join(
        c[len(_PHOTOSHOP) :] for m, c in contents if m == 0xED and c.startswith(_PHOTOSHOP)
    )
    kept = Kept(
        exif=_exif_block(info.get("exif")),
        xmp=info.get("xmp"),
        icc=info.get("icc_profile"),
        photoshop=photoshop or None,
        dpi=_dpi(info.get("dpi")),
        comment=info.get("comment"),
    )
    remarks = []
    if b"hdrgm:" in (kept.xmp or b"") or b"HDRGainMap" in (kept.xmp or b""):
        remarks.append("the gain map for bright screens is not kept")
    elif frames > 1 or any(m == 0xE2 and c.startswith(b"MPF\0") for m, c in contents):
        remarks.append("the file holds further pictures; only the first is used and kept")
    space = {"L": "grey", "CMYK": "cmyk"}.get(image.mode, "rgb")
    return Decoded(codes, space, "JPEG", kept, remarks=tuple(remarks))


def _decode_png(path: Path) -> Decoded:
    data = path.read_bytes()
    width, height, depth = struct.unpack_from(">IIB", data, 16)
    check_size(str(path), width, height)
    chunks = list(png_chunks(data))
    if any(name == b"acTL" for name, _ in chunks):
        raise InputError(f"{path} is animated: give one picture")
    with _opened(path) as image:
        info = dict(image.info)
        if depth != 16:
            image = _plain(image)
            codes = np.asarray(image)
    if depth == 16:
        from imagecodecs import png_decode

        codes = png_decode(data)
    exif = next((c for name, c in chunks if name == b"eXIf"), info.get("exif"))
    kept = Kept(
        exif=_exif_block(exif),
        xmp=info.get("xmp"),
        icc=info.get("icc_profile"),
        dpi=_dpi(info.get("dpi")),
        png=tuple((n, c) for n, c in chunks if n in _PNG_KEPT),
    )
    return Decoded(codes, _space_of(codes), "PNG", kept)


def _decode_webp(path: Path) -> Decoded:
    with _opened(path) as image:
        if getattr(image, "n_frames", 1) > 1:
            raise InputError(f"{path} is animated: give one picture")
        info = dict(image.info)
        codes = np.asarray(_plain(image))
    kept = Kept(
        exif=_exif_block(info.get("exif")), xmp=info.get("xmp"), icc=info.get("icc_profile")
    )
    return Decoded(codes, _space_of(codes), "WebP", kept)


def _decode_tiff(path: Path) -> Decoded:
    import tifffile

    with tifffile.TiffFile(path) as tiff:
        pages = [p for p in tiff.pages if not int(getattr(p, "subfiletype", 0) or 0) & 1]
        if len(pages) > 1:
            raise InputError(f"{path} holds {len(pages)} pages: give one picture")
        page: Any = pages[0] if pages else tiff.pages[0]
        check_size(str(path), page.imagewidth, page.imagelength)
        ends = [a + n for a, n in zip(page.dataoffsets, page.databytecounts, strict=False)]
        if not ends or max(ends) > tiff.filehandle.size:
            raise InputError(f"{path} is cut short; copy it again")
        codes = page.asarray()
        photometric = int(page.photometric)
        if page.planarconfig == 2 and codes.ndim == 3:
            codes = np.moveaxis(codes, 0, -1)
        if photometric == 3:
            colours = np.asarray(page.colormap)
            if not np.any(colours & 255):  # 8-bit colours, shifted up
                colours = (colours >> 8).astype(np.uint8)
            codes = colours[:, codes.astype(np.intp)].transpose(1, 2, 0)
        tags = {code: page.tags[code].value for code in (700, 34377) if code in page.tags}
        icc = page.tags[34675].value if 34675 in page.tags else None
        dpi = page.get_resolution(2) if 282 in page.tags else None
    with path.open("rb") as file, mmap.mmap(file.fileno(), 0, access=mmap.ACCESS_READ) as data:
        classic = bytes(data[2:4]) in (b"*\0", b"\0*")
        exif = exif_of_tiff(data) if classic else None  # type: ignore[arg-type]
    kept = Kept(
        exif=exif,
        xmp=_as_bytes(tags.get(700)),
        icc=_as_bytes(icc),
        photoshop=_as_bytes(tags.get(34377)),
        dpi=_dpi(dpi),
    )
    remarks = () if classic else ("the EXIF of a file larger than 4 GB is not kept",)
    codes = _standard_type(codes, photometric, path)
    space = {5: "cmyk", 8: "lab"}.get(photometric) or _space_of(codes)
    return Decoded(codes, space, "TIFF", kept, remarks=remarks)


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


def _plain(image: Image.Image) -> Image.Image:
    """Turn palettes and single bits into grey or colour, with alpha where there is any."""
    if image.mode in ("L", "RGB", "LA", "RGBA"):
        return image.convert("RGBA") if "transparency" in image.info else image
    if image.mode == "1":
        return image.convert("L")
    return image.convert("RGBA" if "transparency" in image.info or image.mode == "PA" else "RGB")


def _space_of(codes: NDArray[Any]) -> str:
    return "grey" if codes.ndim == 2 or codes.shape[2] < 3 else "rgb"


def _exif_block(raw: bytes | None) -> bytes | None:
    if raw and raw.startswith(b"Exif\0\0"):
        raw = raw[6:]
    return raw or None


def _as_bytes(value: Any) -> bytes | None:
    if value is None:
        return None
    return value.encode("latin-1") if isinstance(value, str) else bytes(value)


def _dpi(value: Any) -> tuple[float, float] | None:
    try:
        across, down = float(value[0]), float(value[1])
    except (TypeError, ValueError, ZeroDivisionError, IndexError):
        return None
    return (across, down) if 0 < across < 1e6 and 0 < down < 1e6 else None
