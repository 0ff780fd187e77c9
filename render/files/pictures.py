"""Pictures in and out: upright linear light in the file's own primaries, and back unharmed."""

from collections.abc import Iterable
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from render.errors import InputError, OutputError
from render.files.atomic import check_destination, written_beside
from render.files.formats.carried import Kept
from render.files.formats.colour.pngcolour import encoding_of_png
from render.files.formats.colour.profiles import (
    converted_to_srgb,
    profile_name,
    profile_space,
    read_profile,
)
from render.files.formats.decoded import Decoded
from render.files.formats.decoders import decode
from render.files.formats.encoders import ENDINGS, encoded_bits, save, written_encoding
from render.files.formats.metadata.exif import exif_encoding, exif_of_lens, orientation_of
from render.files.formats.metadata.turning import turned
from render.files.formats.picturefile import PictureFile
from render.scene.colour import ADOBE_RGB, LINEAR_SRGB, SRGB, Encoding

__all__ = ["coding_of", "read_picture", "write_picture"]


def read_picture(path: Path) -> PictureFile:
    """Read a picture into linear light.

    Parameters
    ----------
    path : Path
        Of any kind that `render.files.formats.decoders` knows, told apart by its content.

    Returns
    -------
    PictureFile

    Raises
    ------
    InputError
        If it is no picture, damaged, animated, of several pages, or too large.
    """
    path = Path(path)
    raw = decode(path)
    remarks = list(raw.remarks)
    codes, alpha = _without_alpha(raw)
    try:
        codes, encoding, kept = _understood(raw, codes, remarks)
    except InputError as error:
        raise InputError(f"{path} is not read: {error}") from error
    grey = codes.ndim == 2
    turn = 1 if raw.upright else orientation_of(kept.exif)
    codes = turned(codes, turn)
    light = encoding.light(np.broadcast_to(codes[..., None], (*codes.shape, 3)) if grey else codes)
    if alpha is not None:
        light = _over_white(light, turned(alpha, turn), remarks)
    if codes.dtype.kind == "f":
        light = _only_light(light, path, remarks)
    bits = {1: 8, 2: 16}.get(raw.codes.dtype.itemsize, 32)
    converted = raw.space in ("cmyk", "lab") or kept.icc != raw.kept.icc or alpha is not None
    return PictureFile(
        path, raw.kind, light, encoding, bits, grey, turn, kept, converted, remarks=tuple(remarks)
    )


def write_picture(
    path: Path,
    light: NDArray[np.float32],
    like: PictureFile | None = None,
    *,
    overwrite: bool = False,
    note: str | None = None,
    bits: int | None = None,
    inputs: Iterable[Path | None] = (),
    focal: tuple[float, float] | None = None,
) -> tuple[str, ...]:
    """Write linear light as a picture file, under the profile and with the data of `like`.

    Parameters
    ----------
    path : Path
        Where to; the ending tells the kind: .jpg, .png, .tif.
    light : ndarray, shape (H, W, 3), float32
        Linear light in the primaries of `like` (of sRGB if there is none).
    like : PictureFile or None
        The picture that `light` was made from; it is never overwritten.
    overwrite : bool
        Whether a file that is there may be replaced.
    note : str or None
        How the photograph was made, for people to read.
    bits : {8, 16} or None
        None: as many as `like` has and the kind can hold.
    inputs : iterable of Path
        Further files that must not be overwritten.
    focal : (mm, px) or None
        Focal length of what no picture was read for; what `like` states of its own stays.

    Returns
    -------
    tuple of str
        What could not be kept, one sentence each.

    Raises
    ------
    InputError
        If `light` is none.
    OutputError
        If the ending is unknown, the place refuses, or a file is there already.
    """
    path = Path(path)
    ending = path.suffix.lower()
    if ending not in ENDINGS:
        raise OutputError(f"{path}: end the name in {', '.join(ENDINGS)}")
    if not (isinstance(light, np.ndarray) and light.ndim == 3 and light.dtype.kind == "f"):
        raise InputError(f"{path}: what is written is light, an array of floats (H, W, 3)")
    asked, kind = bits, ENDINGS[ending]
    bits = encoded_bits(kind, bits, like.bits if like is not None else 8, path)
    if like is None:
        stated = focal if kind != "EXR" else None  # which carries no EXIF
        exif = exif_of_lens(*stated, light.shape[1], light.shape[0]) if stated else None
        like = PictureFile(path, "", light, SRGB, bits, False, 1, Kept(exif))
        sources = [*inputs]
    else:
        sources = [*inputs, like.path]
    check_destination(path, overwrite=overwrite, inputs=sources, allowed_by="overwrite=True")
    remarks: list[str] = []
    if asked is None and bits < like.bits:
        held = "floating-point light" if like.bits == 32 else f"{like.bits} bits a channel"
        better = ".exr or .tif" if like.bits == 32 else ".tif or .png"
        remarks.append(f"the source holds {held}, a {kind} {bits} bits: {better} keeps it")
    over = _share_above_white(light) if bits != 32 else 0.0
    if over > 0.0005:
        remarks.append(f"{over:.1%} of the picture is brighter than white and was clipped")
    with written_beside(path, overwrite=overwrite, inputs=sources) as beside:
        remarks += save(beside, kind, light, like, bits, note)
    return tuple(remarks)


def coding_of(path: Path, like: PictureFile | None = None) -> tuple[Encoding, int]:
    """Return the encoding and the bits a channel that `write_picture` would write there.

    Raises
    ------
    OutputError
        If the ending is unknown.
    """
    ending = Path(path).suffix.lower()
    if ending not in ENDINGS:
        raise OutputError(f"{path}: end the name in {', '.join(ENDINGS)}")
    bits = encoded_bits(ENDINGS[ending], None, like.bits if like is not None else 8, path)
    return (SRGB if like is None else written_encoding(like, bits)), bits


def _share_above_white(light: NDArray[np.float32]) -> float:
    """Share of pixels of which a channel is clipped, half a 16-bit step and more above white."""
    if not light.max() > 1.0005:
        return 0.0
    red, green, blue = (light[..., channel] > 1.0005 for channel in range(3))
    return float(np.mean(red | green | blue))


def _understood(
    raw: Decoded, codes: NDArray[Any], remarks: list[str]
) -> tuple[NDArray[Any], Encoding, Kept]:
    """Find the encoding of code values; convert those that no matrix and curve describe."""
    kept = raw.kept
    if raw.encoding is not None:
        return codes, raw.encoding, kept
    icc = kept.icc
    if icc is not None:
        try:
            space = profile_space(icc)
            wanted = {"grey": ("GRAY", "RGB"), "rgb": ("RGB",), "cmyk": ("CMYK",), "lab": ("Lab",)}
            if space not in wanted[raw.space]:
                raise InputError(f"the colour profile is for {space}, the picture is not")
            encoding = read_profile(icc)
            if encoding is not None:
                return codes, encoding, kept
            if space == "RGB" and codes.ndim == 2:
                codes = np.repeat(codes[..., None], 3, axis=2)
            codes = converted_to_srgb(codes, icc)
            remarks.append(f"colours were converted from {profile_name(icc)} to sRGB at 16 bits")
            return codes, SRGB, replace(kept, icc=None, png=_no_colour(kept))
        except InputError as error:
            remarks.append(f"{error}; sRGB was assumed")
        except Exception:  # littleCMS raises its own kind on damaged tables
            remarks.append("the colour profile is damaged; sRGB was assumed")
        kept = replace(kept, icc=None, png=_no_colour(kept))
    if raw.space == "cmyk":
        remarks.append("a CMYK picture without a usable profile: its colours are a guess")
        return _naive_cmyk(codes), SRGB, replace(kept, icc=None)
    if raw.space == "lab":
        raise InputError("it holds Lab colours without a profile: save it as RGB")
    if codes.dtype.kind == "f":
        remarks.append("floating point without a profile: taken as linear light, sRGB primaries")
        return codes, LINEAR_SRGB, kept
    from_png = encoding_of_png(kept.png)
    if from_png is not None:
        return codes, from_png, kept
    if exif_encoding(kept.exif) == "Adobe RGB":
        return codes, ADOBE_RGB, kept
    return codes, SRGB, kept


def _no_colour(kept: Kept) -> tuple[tuple[bytes, bytes], ...]:
    return tuple(c for c in kept.png if c[0] not in (b"iCCP", b"sRGB", b"gAMA", b"cHRM", b"cICP"))


def _naive_cmyk(codes: NDArray[Any]) -> NDArray[Any]:
    top = np.iinfo(codes.dtype).max
    inks = codes.astype(np.float32) / top
    return np.rint((1 - inks[..., :3]) * (1 - inks[..., 3:]) * top).astype(codes.dtype)


def _without_alpha(raw: Decoded) -> tuple[NDArray[Any], NDArray[Any] | None]:
    """Part the colours from the alpha channel; one that hides nothing is dropped."""
    codes = raw.codes
    colours = {"grey": 1, "rgb": 3, "cmyk": 4, "lab": 3}[raw.space]
    if codes.ndim == 2:
        return codes, None
    alpha = codes[..., colours] if codes.shape[2] > colours else None
    codes = codes[..., 0] if colours == 1 else np.ascontiguousarray(codes[..., :colours])
    top = 1 if codes.dtype.kind == "f" else np.iinfo(codes.dtype).max
    if alpha is None or alpha.min() == top:
        return codes, None
    return codes, np.asarray(alpha, np.float32) / np.float32(top)


def _over_white(
    light: NDArray[np.float32], alpha: NDArray[np.float32], remarks: list[str]
) -> NDArray[np.float32]:
    remarks.append("transparent parts were laid over white")
    return light * alpha[..., None] + (1 - alpha[..., None])


def _only_light(light: NDArray[np.float32], path: Path, remarks: list[str]) -> NDArray[np.float32]:
    if not np.isfinite(light).all():
        raise InputError(f"{path} holds values that are not numbers: mend it first")
    if light.min() < 0:
        remarks.append("light below zero was set to zero")
        light = np.maximum(light, 0)
    return light
