"""`Decoded`: a picture file's code values and what came with them, and what its readers share."""

import logging
import math
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from threading import Lock
from typing import IO, Any

import numpy as np
from numpy.typing import NDArray
from PIL import Image

from render.errors import InputError
from render.files.formats.carried import Kept
from render.files.memory import check_size
from render.scene.colour import Encoding

__all__ = [
    "Decoded",
    "as_bytes",
    "check_page",
    "exif_block",
    "opened",
    "plain",
    "resolution",
    "space_of",
    "tifffile_quietly",
]

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
    encoding : Encoding or None
        How the values stand for light, where the file says so other than by a profile.
    remarks : tuple of str
        What the file holds that will not come back, one sentence each.
    """

    codes: NDArray[Any]
    space: str
    kind: str
    kept: Kept
    upright: bool = False
    encoding: Encoding | None = None
    remarks: tuple[str, ...] = ()


@contextmanager
def opened(path: Path | IO[bytes]) -> Iterator[Image.Image]:
    """Open with Pillow under our own guard of sizes instead of Pillow's."""
    with _lock:
        limit, Image.MAX_IMAGE_PIXELS = Image.MAX_IMAGE_PIXELS, None
        try:
            image = Image.open(path)
        finally:
            Image.MAX_IMAGE_PIXELS = limit
    name = str(path) if isinstance(path, Path) else "the picture inside"
    with image:
        check_size(name, image.width, image.height)
        yield image


def tifffile_quietly() -> Any:
    """Import tifffile; what it logs about odd files is said in our own sentences, once."""
    import tifffile

    logging.getLogger("tifffile").addHandler(logging.NullHandler())
    return tifffile


def check_page(path: Path, page: Any, file_size: int) -> None:
    """Refuse a TIFF page that is too large or whose parts are missing; they would come out black.

    A damaged directory may hold anything, also where one number is meant.
    """
    numbers = (page.imagewidth, page.imagelength, page.samplesperpixel)
    if not all(isinstance(n, int) for n in numbers) or not 0 < page.samplesperpixel <= 16:
        raise InputError(f"{path} is damaged: its size makes no sense; copy it again")
    check_size(str(path), page.imagewidth, page.imagelength)
    try:
        ends = [a + n for a, n in zip(page.dataoffsets, page.databytecounts, strict=False)]
        whole = len(ends) >= math.prod(page.chunked) and all(page.databytecounts)
        beyond = max(ends, default=0) > file_size
    except (TypeError, ValueError, ArithmeticError):
        raise InputError(f"{path} is damaged: where its parts lie makes no sense") from None
    if not whole or beyond:
        raise InputError(f"{path} is cut short or has parts missing; copy it again")


def plain(image: Image.Image) -> Image.Image:
    """Turn palettes and single bits into grey or colour, with alpha where there is any."""
    if image.mode in ("L", "RGB", "LA", "RGBA"):
        return image.convert("RGBA") if "transparency" in image.info else image
    if image.mode == "1":
        return image.convert("L")
    return image.convert("RGBA" if "transparency" in image.info or image.mode == "PA" else "RGB")


def space_of(codes: NDArray[Any]) -> str:
    """Return "grey" for one channel (with alpha or without), else "rgb"."""
    return "grey" if codes.ndim == 2 or codes.shape[2] < 3 else "rgb"


def exif_block(raw: bytes | None) -> bytes | None:
    """Return EXIF from its byte order mark on, without the six bytes that JPEGs put before."""
    if raw and raw.startswith(b"Exif\0\0"):
        raw = raw[6:]
    return raw or None


def as_bytes(value: Any) -> bytes | None:
    """Return the value of a TIFF tag as the bytes it was stored as."""
    if value is None:
        return None
    if isinstance(value, str):
        return value.encode("latin-1")
    if isinstance(value, tuple):  # whole numbers of four bytes, as some programs store captions
        return np.array(value, "<u4").tobytes()
    return bytes(value)


def resolution(value: Any) -> tuple[float, float] | None:
    """Return a resolution across and down in dpi, if it is one that can be."""
    try:
        across, down = float(value[0]), float(value[1])
    except (TypeError, ValueError, ZeroDivisionError, IndexError):
        return None
    return (across, down) if 0 < across < 1e6 and 0 < down < 1e6 else None
