"""Code values to linear light and back: tone curves, primaries, encodings. Numbers only."""

import math
from collections.abc import Callable, Hashable
from dataclasses import dataclass
from functools import lru_cache
from typing import Any, Protocol

import numpy as np
from numpy.typing import ArrayLike, NDArray

from render.errors import InputError

__all__ = [
    "ADOBE_RGB",
    "D50_XYZ",
    "DISPLAY_P3",
    "LINEAR_SRGB",
    "LUMINANCE",
    "PROPHOTO",
    "SRGB",
    "SRGB_CURVE",
    "Curve",
    "Encoding",
    "ParametricCurve",
    "TableCurve",
    "adapted",
    "primaries_to_xyz",
    "srgb_to_linear",
]

Matrix = tuple[tuple[float, float, float], ...]

#: The white of the profile connection space, XYZ (ICC.1:2022, 7.2.16).
D50_XYZ = (0.9642, 1.0, 0.8249)
#: CIE 1931 chromaticity of D65 as IEC 61966-2-1 rounds it.
D65_XY = (0.3127, 0.3290)
_ROWS = 1 << 18  # elements worked on at once, so that they stay in the processor's cache
_MANTISSA = {8: 14, 16: 16}  # bits of the light's mantissa that pick a code value


class Curve(Hashable, Protocol):
    """The tone curve of one channel: code value in 0..1 to linear light, and back."""

    def decode(self, coded: ArrayLike) -> NDArray[np.float64]:
        """Linear light of code values, any shape."""

    def encode(self, light: ArrayLike) -> NDArray[np.float64]:
        """Code values of linear light, any shape."""


@dataclass(frozen=True, slots=True)
class ParametricCurve:
    """The seven-number curve of ICC profiles: (a x + b)^gamma + e from x = d up, else c x + f.

    References
    ----------
    ICC.1:2022, 10.18 "parametricCurveType", function type 4.
    """

    gamma: float
    a: float = 1.0
    b: float = 0.0
    c: float = 0.0
    d: float = 0.0
    e: float = 0.0
    f: float = 0.0

    def __post_init__(self) -> None:
        numbers = (self.gamma, self.a, self.b, self.c, self.d, self.e, self.f)
        if not (all(map(math.isfinite, numbers)) and self.gamma > 0 and self.a > 0):
            raise InputError(f"a tone curve of {numbers} cannot be turned round")

    def decode(self, coded: ArrayLike) -> NDArray[np.float64]:
        """Linear light of code values, any shape; the straight part runs on below zero."""
        x = np.asarray(coded, float)
        power = np.maximum(self.a * x + self.b, 0.0) ** self.gamma + self.e
        return np.asarray(np.where(x >= self.d, power, self.c * x + self.f))

    def encode(self, light: ArrayLike) -> NDArray[np.float64]:
        """Code values of linear light, any shape."""
        y = np.asarray(light, float)
        knee = max(self.a * self.d + self.b, 0.0) ** self.gamma + self.e
        power = (np.maximum(y - self.e, 0.0) ** (1 / self.gamma) - self.b) / self.a
        straight = np.minimum((y - self.f) / self.c, self.d) if self.c > 0 else np.zeros_like(y)
        return np.asarray(np.where(y >= knee, power, straight))


@dataclass(frozen=True, slots=True)
class TableCurve:
    """A tone curve given by samples at equal steps from 0 to 1, straight in between.

    Samples of 16 bits repeat in the dark, where the curve is flat, and could not be turned
    round there; each run of equal samples stands for one point in its middle.
    """

    samples: tuple[float, ...]

    def __post_init__(self) -> None:
        values = np.asarray(self.samples)
        if values.size < 2 or not (np.all(np.diff(values) >= 0) and values[-1] > values[0]):
            raise InputError("a tone curve must rise")

    def decode(self, coded: ArrayLike) -> NDArray[np.float64]:
        """Linear light of code values, any shape; flat outside 0..1."""
        positions, values = self._strict()
        return np.asarray(np.interp(np.asarray(coded, float), positions, values))

    def encode(self, light: ArrayLike) -> NDArray[np.float64]:
        """Code values of linear light, any shape; 0 and 1 outside the table."""
        positions, values = self._strict()
        return np.asarray(np.interp(np.asarray(light, float), values, positions))

    def _strict(self) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        values, starts, counts = np.unique(
            np.asarray(self.samples), return_index=True, return_counts=True
        )
        positions = (starts + (counts - 1) / 2) / (len(self.samples) - 1)
        positions[0], positions[-1] = 0.0, 1.0
        return positions, values


@dataclass(frozen=True, slots=True)
class Encoding:
    """How the code values of a picture stand for light.

    Attributes
    ----------
    name : str
        As people call it: "sRGB", "Display P3", or the profile's own description.
    curves : tuple of three Curve
        Red, green, blue.
    to_xyz : 3 x 3 numbers
        Linear red, green, blue to CIE XYZ adapted to D50.
    """

    name: str
    curves: tuple[Curve, Curve, Curve]
    to_xyz: Matrix

    def matrix_to(self, other: "Encoding") -> NDArray[np.float64]:
        """Matrix that takes this encoding's linear light to the other's, shape (3, 3)."""
        return np.linalg.solve(np.array(other.to_xyz), np.array(self.to_xyz))

    def light(self, codes: NDArray[np.generic]) -> NDArray[np.float32]:
        """Linear light of code values.

        Parameters
        ----------
        codes : ndarray, shape (H, W, 3), uint8, uint16 or float
            Whole numbers count from 0 to their largest; floats from 0 to 1.

        Returns
        -------
        ndarray, shape (H, W, 3), float32
        """
        if codes.dtype.kind == "f" and set(self.curves) == {ParametricCurve(1.0)}:
            return codes.astype(np.float32)
        if codes.dtype.kind == "f":
            return self._each(codes, np.dtype(np.float32), lambda curve, x: curve.decode(x))
        bits = 8 * codes.dtype.itemsize
        return self._each(
            codes,
            np.dtype(np.float32),
            lambda curve, x: np.take(_decode_table(curve, bits), x, mode="clip"),
        )

    def codes(self, light: NDArray[np.float32], bits: int) -> NDArray[np.generic]:
        """Code values of linear light, rounded to the nearest; what lies outside 0..1 is clipped.

        Parameters
        ----------
        light : ndarray, shape (H, W, 3), float32
        bits : {8, 16}

        Returns
        -------
        ndarray, shape (H, W, 3), uint8 or uint16
        """
        shift = 23 - _MANTISSA[bits]

        def coded(curve: Curve, values: NDArray[np.float32]) -> NDArray[np.generic]:
            table, first = _encode_table(curve, bits)
            low = np.uint32(first << shift).view(np.float32)
            index = np.clip(values, low, np.float32(1)).view(np.uint32)
            index >>= np.uint32(shift)
            index -= np.uint32(first)
            return np.take(table, index, mode="clip")

        return self._each(light, np.dtype(f"u{bits // 8}"), coded)

    def _each(
        self,
        values: NDArray[Any],
        dtype: np.dtype[Any],
        work: Callable[[Curve, NDArray[Any]], NDArray[Any]],
    ) -> NDArray[Any]:
        """Apply `work(curve, values)` piece by piece, once for all channels where curves agree."""
        out = np.empty(values.shape, dtype)
        if len(set(self.curves)) == 1:
            flat, flat_out = np.ascontiguousarray(values).reshape(-1), out.reshape(-1)
            for start in range(0, flat.size, _ROWS):
                stop = start + _ROWS
                flat_out[start:stop] = work(self.curves[0], flat[start:stop])
            return out
        step = max(1, _ROWS // max(1, values.shape[1]))
        for start in range(0, values.shape[0], step):
            for channel, curve in enumerate(self.curves):
                piece = np.ascontiguousarray(values[start : start + step, :, channel])
                out[start : start + step, :, channel] = work(curve, piece)
        return out


@lru_cache(maxsize=8)
def _decode_table(curve: Curve, bits: int) -> NDArray[np.float32]:
    coded = np.arange(1 << bits) / ((1 << bits) - 1)
    return np.maximum(curve.decode(coded), 0.0).astype(np.float32)


@lru_cache(maxsize=8)
def _encode_table(curve: Curve, bits: int) -> tuple[NDArray[np.generic], int]:
    """Code value for each leading bit pattern of a float32, from half a code value up to 1.

    The leading bits of a float count octaves and equal steps inside them, so dark and
    bright code values are found equally well, and no power is taken per pixel.
    """
    top, shift = (1 << bits) - 1, 23 - _MANTISSA[bits]
    low = np.float32(max(float(curve.decode(0.25 / top)), 2.0**-60))
    first = int(low.view(np.uint32)) >> shift
    last = int(np.float32(1).view(np.uint32)) >> shift
    middles = (np.arange(first, last + 1, dtype=np.uint32) << np.uint32(shift)) + np.uint32(
        1 << (shift - 1)
    )
    coded = curve.encode(np.minimum(middles.view(np.float32), np.float32(1)))
    return np.rint(np.clip(coded, 0, 1) * top).astype(f"u{bits // 8}"), first


def primaries_to_xyz(
    red: tuple[float, float],
    green: tuple[float, float],
    blue: tuple[float, float],
    white: tuple[float, float],
) -> NDArray[np.float64]:
    """Matrix from linear RGB to XYZ, from CIE xy chromaticities, Y of white = 1.

    References
    ----------
    SMPTE RP 177-1993, "Derivation of basic television color equations".
    """
    for x, y in (red, green, blue, white):
        if not (math.isfinite(x) and y > 0):
            raise InputError(f"a primary colour at x {x}, y {y} does not exist")
    columns = np.array([[x / y, 1.0, (1 - x - y) / y] for x, y in (red, green, blue)]).T
    x, y = white
    try:
        scale = np.linalg.solve(columns, np.array([x / y, 1.0, (1 - x - y) / y]))
    except np.linalg.LinAlgError:
        raise InputError("three primary colours on one line make no picture") from None
    return np.asarray(columns * scale)


def adapted(
    to_xyz: NDArray[np.float64], white_xyz: ArrayLike, target_xyz: ArrayLike = D50_XYZ
) -> Matrix:
    """Take a matrix whose white is `white_xyz` to another white, the D50 of profiles if none.

    References
    ----------
    Linearised Bradford adaptation, ICC.1:2022, annex E.
    """
    bradford = np.array(
        [[0.8951, 0.2664, -0.1614], [-0.7502, 1.7135, 0.0367], [0.0389, -0.0685, 1.0296]]
    )
    gains = (bradford @ np.asarray(target_xyz, float)) / (bradford @ np.asarray(white_xyz, float))
    result = np.linalg.inv(bradford) @ np.diag(gains) @ bradford @ to_xyz
    return tuple((float(r), float(g), float(b)) for r, g, b in result)


def _standard(
    name: str, curve: Curve, xy: tuple[tuple[float, float], ...], white: tuple[float, float]
) -> Encoding:
    x, y = white
    matrix = primaries_to_xyz(xy[0], xy[1], xy[2], white)
    return Encoding(name, (curve,) * 3, adapted(matrix, (x / y, 1.0, (1 - x - y) / y)))


#: IEC 61966-2-1:1999 (sRGB), the two-part curve.
SRGB_CURVE = ParametricCurve(2.4, 1 / 1.055, 0.055 / 1.055, 1 / 12.92, 0.04045)
_BT709 = ((0.64, 0.33), (0.30, 0.60), (0.15, 0.06))
#: Luminance of linear RGB of these primaries (Rec. ITU-R BT.709).
LUMINANCE = np.array([0.2126, 0.7152, 0.0722])
SRGB = _standard("sRGB", SRGB_CURVE, _BT709, D65_XY)
LINEAR_SRGB = _standard("linear light, sRGB primaries", ParametricCurve(1.0), _BT709, D65_XY)
#: SMPTE EG 432-1 primaries, D65 white, sRGB curve.
DISPLAY_P3 = _standard(
    "Display P3", SRGB_CURVE, ((0.680, 0.320), (0.265, 0.690), (0.150, 0.060)), D65_XY
)
#: Adobe RGB (1998) Color Image Encoding, 2005-05: gamma 563/256.
ADOBE_RGB = _standard(
    "Adobe RGB (1998)",
    ParametricCurve(563 / 256),
    ((0.64, 0.33), (0.21, 0.71), (0.15, 0.06)),
    D65_XY,
)
#: ISO 22028-2 (ROMM RGB): gamma 1.8 with a straight start, D50 white.
PROPHOTO = _standard(
    "ProPhoto RGB",
    ParametricCurve(1.8, c=1 / 16, d=16 * 16 ** (1.8 / (1 - 1.8))),
    ((0.7347, 0.2653), (0.1596, 0.8404), (0.0366, 0.0001)),
    (0.3457, 0.3585),
)


def srgb_to_linear(coded: ArrayLike) -> NDArray[np.float64]:
    """Linear light of sRGB code values in 0..1, any shape (IEC 61966-2-1)."""
    return SRGB_CURVE.decode(coded)
