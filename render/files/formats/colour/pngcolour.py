"""What a PNG says about its colours without a profile: the chunks cICP, sRGB, gAMA, cHRM."""

import struct

from render.errors import InputError
from render.scene.colour import (
    DISPLAY_P3,
    SRGB,
    Encoding,
    ParametricCurve,
    adapted,
    primaries_to_xyz,
)

__all__ = ["encoding_of_png"]


def encoding_of_png(chunks: tuple[tuple[bytes, bytes], ...]) -> Encoding | None:
    """Return the encoding that a PNG's own chunks state, or None if they state none.

    The order of belief is that of the PNG specification (third edition, 4.3): cICP, then
    sRGB, then gAMA with cHRM.

    Raises
    ------
    InputError
        If the picture is coded for HDR screens (PQ or HLG), which is not read here.
    """
    found = dict(chunks)
    if len(found.get(b"cICP", b"")) == 4:
        primaries, transfer = found[b"cICP"][0], found[b"cICP"][1]
        if transfer in (16, 18):
            raise InputError("it is coded for HDR screens (PQ or HLG): save it as sRGB")
        if transfer == 13 and primaries in (1, 12):
            return SRGB if primaries == 1 else DISPLAY_P3
    if b"sRGB" in found:
        return SRGB
    if len(found.get(b"gAMA", b"")) != 4:
        return None
    (gamma,) = struct.unpack(">I", found[b"gAMA"])
    # 45455 is how the sRGB curve is written as a power; that curve itself is meant.
    curve = None if gamma in (0, 45455) else ParametricCurve(100000 / gamma)
    if len(found.get(b"cHRM", b"")) != 32:
        return Encoding("PNG gamma", (curve,) * 3, SRGB.to_xyz) if curve else None
    xy = [v / 100000 for v in struct.unpack(">8I", found[b"cHRM"])]
    white, red, green, blue = zip(xy[::2], xy[1::2], strict=True)
    matrix = primaries_to_xyz(red, green, blue, white)
    xyz = (white[0] / white[1], 1.0, (1 - white[0] - white[1]) / white[1])
    curves = (curve,) * 3 if curve else SRGB.curves
    return Encoding("PNG primaries", curves, adapted(matrix, xyz))
