"""Colour profiles: matrix and curve profiles read and written by ourselves, others converted.

A picture is worked on in its file's own linear primaries and goes back under the same
profile, so no gamut is clipped on the way (ICC.1:2022 is the source of the layout).
"""

import math
import struct
from collections.abc import Iterator
from functools import lru_cache

import numpy as np
from numpy.typing import ArrayLike, NDArray

from render.errors import InputError
from render.scene.colour import (
    D50_XYZ,
    SRGB,
    Curve,
    Encoding,
    Matrix,
    ParametricCurve,
    TableCurve,
)

__all__ = ["build_profile", "converted_to_srgb", "profile_name", "profile_space", "read_profile"]


def read_profile(icc: bytes) -> Encoding | None:
    """Read a profile of matrix and curves (or of one grey curve).

    Returns
    -------
    Encoding or None
        None if the profile holds tables instead, and must be left to a colour engine.

    Raises
    ------
    InputError
        If the bytes are no profile.
    """
    space = profile_space(icc)
    tags = dict(_tags(icc))
    if icc[20:24] != b"XYZ " or "A2B0" in tags:
        return None
    if space == "GRAY" and "kTRC" in tags:
        return Encoding(profile_name(icc), (_usable(tags["kTRC"]),) * 3, SRGB.to_xyz)
    needed = ("rXYZ", "gXYZ", "bXYZ", "rTRC", "gTRC", "bTRC")
    if space != "RGB" or not all(name in tags for name in needed):
        return None
    columns = [_numbers(tags[name], 8, 3) for name in needed[:3]]
    matrix: Matrix = tuple(tuple(row) for row in np.array(columns).T.tolist())
    if not abs(np.linalg.det(np.array(matrix))) > 1e-6:
        raise InputError("the primaries of the colour profile lie on one line")
    curves = (_usable(tags["rTRC"]), _usable(tags["gTRC"]), _usable(tags["bTRC"]))
    return Encoding(profile_name(icc), curves, matrix)


def profile_space(icc: bytes) -> str:
    """Return "RGB", "GRAY", "CMYK" or whatever the profile is for."""
    if len(icc) < 132 or icc[36:40] != b"acsp":
        raise InputError("the colour profile is damaged")
    return icc[16:20].decode("latin-1").strip()


def profile_name(icc: bytes) -> str:
    """Return the profile's own description, or "a profile without a name"."""
    data = dict(_tags(icc)).get("desc", b"")
    if data[:4] == b"desc" and len(data) > 12:
        (count,) = struct.unpack_from(">I", data, 8)
        name = data[12 : 12 + count].decode("latin-1")
    elif data[:4] == b"mluc" and len(data) >= 28:
        length, at = struct.unpack_from(">II", data, 20)
        name = data[at : at + length].decode("utf-16-be", "replace")
    else:
        name = ""
    return name.strip("\0 ") or "a profile without a name"


def converted_to_srgb(codes: NDArray[np.generic], icc: bytes) -> NDArray[np.uint16]:
    """Convert code values to 16-bit sRGB through littleCMS, relative colorimetric.

    Parameters
    ----------
    codes : ndarray, shape (H, W), (H, W, 3) or (H, W, 4), uint8 or uint16
        Grey, RGB or CMYK, as the profile says.
    icc : bytes
        The profile of `codes`.
    """
    from imagecodecs import cms_transform

    space = {"RGB": "rgb", "GRAY": "gray", "CMYK": "cmyk", "Lab": "lab"}.get(profile_space(icc))
    if space is None:
        raise InputError(f"a profile for {profile_space(icc)} is not one for pictures")
    return np.asarray(
        cms_transform(
            codes,
            icc,
            build_profile(SRGB),
            colorspace=space,
            outcolorspace="rgb",
            outdtype="uint16",
            intent=1,
        )
    )


@lru_cache(maxsize=8)
def build_profile(encoding: Encoding) -> bytes:
    """Build a small display profile (ICC version 4) that says what `encoding` says."""
    columns = np.array(encoding.to_xyz).T
    tags = {
        b"desc": _text(encoding.name),
        b"cprt": _text("No copyright, use freely"),
        b"wtpt": _xyz(D50_XYZ),
        b"rXYZ": _xyz(columns[0]),
        b"gXYZ": _xyz(columns[1]),
        b"bXYZ": _xyz(columns[2]),
    }
    for name, curve in zip((b"rTRC", b"gTRC", b"bTRC"), encoding.curves, strict=True):
        tags[name] = _curve_bytes(curve)
    table, body, places = b"", b"", dict[bytes, int]()
    start = 128 + 4 + 12 * len(tags)
    for name, data in tags.items():
        if data not in places:  # the three curves are mostly one
            places[data] = start + len(body)
            body += data + b"\0" * (-len(data) % 4)
        table += name + struct.pack(">II", places[data], len(data))
    size = start + len(body)
    head = struct.pack(">I4xI", size, 0x04200000) + b"mntrRGB XYZ "
    # A fixed date, so that the same picture gives the same bytes.
    head += struct.pack(">6H", 2026, 1, 1, 0, 0, 0) + b"acsp" + bytes(24)
    head += struct.pack(">I", 1) + _s15f16(D50_XYZ)
    return head.ljust(128, b"\0") + struct.pack(">I", len(tags)) + table + body


def _tags(icc: bytes) -> Iterator[tuple[str, bytes]]:
    (count,) = struct.unpack_from(">I", icc, 128)
    for i in range(min(count, (len(icc) - 132) // 12, 200)):
        name, at, size = struct.unpack_from(">4sII", icc, 132 + 12 * i)
        if at + size > len(icc):
            raise InputError("the colour profile is cut short")
        yield name.decode("latin-1"), icc[at : at + size]


def _numbers(data: bytes, at: int, count: int) -> list[float]:
    if len(data) < at + 4 * count:
        raise InputError("the colour profile is cut short")
    return [v / 65536 for v in struct.unpack_from(f">{count}i", data, at)]


def _usable(data: bytes) -> Curve:
    """Read a curve that rises from dark to light, so that it can be turned round."""
    curve = _curve(data)
    dark, light = (float(curve.decode(v)) for v in (0.0, 1.0))
    if not (math.isfinite(dark) and 0.01 < light < 100 and dark < light):
        raise InputError("the colour profile has a tone curve that cannot be turned round")
    return curve


def _curve(data: bytes) -> Curve:
    if data[:4] == b"para" and len(data) >= 12:
        (kind,) = struct.unpack_from(">H", data, 8)
        return _parametric(kind, data)
    if data[:4] != b"curv" or len(data) < 12:
        raise InputError("the colour profile has a tone curve of an unknown kind")
    (count,) = struct.unpack_from(">I", data, 8)
    if len(data) < 12 + 2 * count:
        raise InputError("the colour profile is cut short")
    values = struct.unpack_from(f">{count}H", data, 12)
    if count == 0:
        return ParametricCurve(1.0)
    if count == 1:
        return ParametricCurve(values[0] / 256)
    return TableCurve(tuple(np.maximum.accumulate(np.array(values) / 65535).tolist()))


def _parametric(kind: int, data: bytes) -> ParametricCurve:
    """Read a parametric curve of function type 0 to 4 (ICC.1:2022, table 68)."""
    counts = {0: 1, 1: 3, 2: 4, 3: 5, 4: 7}
    if kind not in counts:
        raise InputError("the colour profile has a tone curve of an unknown kind")
    p = _numbers(data, 12, counts[kind])
    if kind == 0:
        return ParametricCurve(p[0])
    if kind in (1, 2):
        e = p[3] if kind == 2 else 0.0
        if not p[1] > 0:
            raise InputError("the colour profile has a tone curve that cannot be turned round")
        return ParametricCurve(p[0], p[1], p[2], 0.0, -p[2] / p[1], e, e)
    return ParametricCurve(*p)


def _curve_bytes(curve: Curve) -> bytes:
    if isinstance(curve, ParametricCurve):
        p = (curve.gamma, curve.a, curve.b, curve.c, curve.d, curve.e, curve.f)
        return b"para" + bytes(4) + struct.pack(">HH", 4, 0) + _s15f16(p)
    values = np.rint(np.clip(curve.decode(np.linspace(0, 1, 4096)), 0, 1) * 65535).astype(">u2")
    return b"curv" + bytes(4) + struct.pack(">I", values.size) + values.tobytes()


def _text(text: str) -> bytes:
    raw = text.encode("utf-16-be")
    return b"mluc" + bytes(4) + struct.pack(">II2s2sII", 1, 12, b"en", b"US", len(raw), 28) + raw


def _xyz(values: ArrayLike) -> bytes:
    return b"XYZ " + bytes(4) + _s15f16(values)


def _s15f16(values: ArrayLike) -> bytes:
    return bytes(np.rint(np.asarray(values, float) * 65536).astype(">i4").tobytes())
