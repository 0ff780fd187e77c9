"""Sheets and pictures that explain, written with the profile of a screen."""

import io
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from PIL import Image

from render.errors import OutputError
from render.files.atomic import written_beside
from render.files.formats.colour.profiles import build_profile
from render.scene.colour import SRGB

__all__ = ["check_ending", "painted_bytes", "profiled", "write_bytes", "write_painted"]

#: A quarter of the time of the usual 6 for a fifth more bytes.
_PNG_LEVEL = 1
_KINDS = {".png": "PNG", ".jpg": "JPEG", ".jpeg": "JPEG", ".webp": "WEBP"}
_ALSO = {".jpeg": ".jpg", ".htm": ".html"}


def check_ending(path: Path, what: str, *endings: str) -> None:
    """Refuse a name whose ending is none of those that something is written as.

    Raises
    ------
    OutputError
    """
    ending = path.suffix.lower()
    if _ALSO.get(ending, ending) not in endings:
        *others, last = endings
        known = f"{', '.join(others)} or {last}" if others else last
        raise OutputError(f"{path}: {what} is written as {known}; give it such a name")


def write_painted(
    path: Path,
    image: Image.Image,
    *,
    overwrite: bool = False,
    inputs: Sequence[Path] = (),
    dpi: float | None = None,
) -> None:
    """Write a painted picture as PNG, JPEG or WebP, by the name's ending, with its sRGB profile.

    Raises
    ------
    OutputError
        If it cannot be written there.
    """
    ending = path.suffix.lower()
    with written_beside(path, overwrite=overwrite, inputs=inputs) as beside:
        beside.write_bytes(painted_bytes(image, ending, dpi=dpi))


def painted_bytes(image: Image.Image, ending: str, *, dpi: float | None = None) -> bytes:
    """The file that `write_painted` writes under a name of that ending."""
    how: dict[str, Any] = {
        ".png": {"compress_level": _PNG_LEVEL},
        ".webp": {"quality": 80},
    }.get(ending, {"quality": 92, "subsampling": 0})
    if dpi is not None:
        how["dpi"] = (dpi, dpi)
    packed = io.BytesIO()
    image.save(packed, _KINDS[ending], icc_profile=build_profile(SRGB), **how)
    return packed.getvalue()


def write_bytes(
    path: Path, content: bytes, *, overwrite: bool = False, inputs: Sequence[Path] = ()
) -> None:
    """Write a finished document; errors as `write_painted`."""
    with written_beside(path, overwrite=overwrite, inputs=inputs) as beside:
        beside.write_bytes(content)


def profiled(image: Image.Image) -> Image.Image:
    """The same picture, marked as sRGB for where it is set into a PDF."""
    image.info["icc_profile"] = build_profile(SRGB)
    return image
