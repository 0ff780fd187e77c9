"""Readers of files that hold light itself: EXR, Radiance HDR, and camera raw files."""

from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from render.errors import InputError
from render.extras import needed
from render.files.formats.carried import Kept
from render.files.formats.decoded import Decoded
from render.files.formats.metadata.exif import exif_of_tiff
from render.files.memory import check_size
from render.scene.colour import (
    D50_XYZ,
    LINEAR_SRGB,
    Encoding,
    ParametricCurve,
    adapted,
    primaries_to_xyz,
)

__all__ = ["decode_exr", "decode_hdr", "decode_raw", "write_exr"]


def decode_exr(path: Path) -> Decoded:
    """Read an OpenEXR file: channels R, G, B (or Y alone), light as it is."""
    openexr = needed("OpenEXR", "an EXR file")
    low, high = openexr.File(str(path), header_only=True).header()["dataWindow"]
    check_size(str(path), int(high[0] - low[0]) + 1, int(high[1] - low[1]) + 1)
    with openexr.File(str(path), separate_channels=True) as file:
        if len(file.parts) > 1:
            raise InputError(f"{path} holds {len(file.parts)} parts: give one picture")
        channels = {name: np.array(c.pixels) for name, c in file.channels().items()}
        chromaticities = file.header().get("chromaticities")  # gone once the file is closed
    names = [n for n in ("R", "G", "B") if n in channels] or [n for n in ("Y",) if n in channels]
    if len(names) not in (1, 3):
        raise InputError(f"{path} has no channels R, G and B: it has {', '.join(channels)}")
    planes = [channels[name].astype(np.float32) for name in names]
    light = planes[0] if len(planes) == 1 else np.stack(planes, axis=-1)
    space = "grey" if light.ndim == 2 else "rgb"
    encoding = _of_chromaticities(chromaticities)
    return Decoded(light, space, "EXR", Kept(), encoding=encoding)


def decode_hdr(path: Path) -> Decoded:
    """Read a Radiance picture (RGBE), light as it is."""
    from imagecodecs import rgbe_decode

    data = path.read_bytes()
    head = data[:4096].split(b"\n\n", 1)
    size = head[1].split(b"\n", 1)[0].split() if len(head) == 2 else []
    if len(size) != 4 or size[0] != b"-Y" or size[2] != b"+X":
        raise InputError(f"{path} is stored in an order of rows that is not read here")
    check_size(str(path), int(size[3]), int(size[1]))
    if b"FORMAT=32-bit_rle_xyze" in head[0]:
        raise InputError(f"{path} holds XYZ instead of red, green and blue: convert it first")
    light = np.asarray(rgbe_decode(data), np.float32)
    return Decoded(light, "rgb", "HDR", Kept(), encoding=LINEAR_SRGB)


def decode_raw(path: Path) -> Decoded:
    """Develop a camera raw file to linear light: camera white, 16 bits, sRGB primaries."""
    rawpy: Any = needed("rawpy", "a camera raw file")
    try:
        with rawpy.imread(str(path)) as raw:
            check_size(str(path), raw.sizes.width, raw.sizes.height)
            codes = raw.postprocess(
                gamma=(1, 1),
                no_auto_bright=True,
                output_bps=16,
                use_camera_wb=True,
                output_color=rawpy.ColorSpace.sRGB,
            )
    except rawpy.LibRawError as error:
        (said,) = error.args or (b"",)  # the library's own words are bytes
        raise ValueError(
            said.decode("utf-8", "replace") if isinstance(said, bytes) else said
        ) from None
    remarks = ["developed plainly: camera white balance, no tone curve, sRGB primaries"]
    try:
        exif = exif_of_tiff(path.read_bytes())
    except InputError:
        exif = None
        remarks.append("the EXIF of this kind of raw file is not read: give the focal length")
    return Decoded(
        codes,
        "rgb",
        "raw",
        Kept(exif=exif),
        upright=True,
        encoding=LINEAR_SRGB,
        remarks=tuple(remarks),
    )


def write_exr(
    path: Path,
    light: NDArray[np.float32],
    encoding: Encoding,
    note: str | None,
    *,
    half: bool = False,
) -> None:
    """Write light as an OpenEXR file of 32-bit floats, or of 16-bit ones, with its primaries."""
    openexr = needed("OpenEXR", "an EXR file")
    header: dict[str, Any] = {
        "compression": openexr.ZIP_COMPRESSION,
        "type": openexr.scanlineimage,
        "chromaticities": _chromaticities(encoding),
    }
    if note:
        header["comments"] = note.encode("ascii", "replace").decode()
    if half:
        light = np.minimum(light, np.finfo(np.float16).max)
    channels = {"RGB": np.ascontiguousarray(light, np.float16 if half else np.float32)}
    openexr.File(header, channels).write(str(path))


def _chromaticities(encoding: Encoding) -> tuple[float, ...]:
    """Primaries x, y of red, green, blue and white, taken back from D50 to the white D65."""
    d65 = np.array([0.3127 / 0.3290, 1.0, 0.3583 / 0.3290])
    columns = np.array(adapted(np.array(encoding.to_xyz), D50_XYZ, d65)).T
    points = [*columns, columns.sum(axis=0)]
    return tuple(float(v) for p in points for v in (p[0] / p.sum(), p[1] / p.sum()))


def _of_chromaticities(numbers: Any) -> Encoding:
    """Linear light with the primaries that the file states (EXR: x, y of R, G, B, white)."""
    if numbers is None:
        return LINEAR_SRGB
    n = [float(v) for v in np.ravel(numbers)]
    if len(n) != 8:
        return LINEAR_SRGB
    xy = [(n[i], n[i + 1]) for i in range(0, 8, 2)]
    matrix = primaries_to_xyz(xy[0], xy[1], xy[2], xy[3])
    x, y = xy[3]
    to_xyz = adapted(matrix, (x / y, 1.0, (1 - x - y) / y))
    if np.allclose(to_xyz, LINEAR_SRGB.to_xyz, atol=2e-4):
        return LINEAR_SRGB
    return Encoding("linear light, primaries of the file", (ParametricCurve(1.0),) * 3, to_xyz)
