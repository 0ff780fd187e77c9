"""The colour tags of a clip: what its code values stand for, and the tags of what is written.

References
----------
ITU-T H.273 (07/2021), tables 2 (colour primaries), 3 (transfer characteristics), 4 (matrix
coefficients) and equations 38 to 43 (Kr, Kb); ITU-R BT.709-6, BT.601-7, BT.2020-2, BT.2100-2;
SMPTE ST 2084:2014.
"""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike, NDArray

from render.errors import InputError
from render.scene.colour import (
    D65_XY,
    DISPLAY_P3,
    SRGB,
    SRGB_CURVE,
    Curve,
    Encoding,
    Matrix,
    ParametricCurve,
    adapted,
    primaries_to_xyz,
)

__all__ = ["ColourTags", "as_written", "clip_encoding", "matrix_weights", "settled"]

UNSAID = 2
#: Profiles of one colour space differ by so much in XYZ, as their makers rounded.
_SAME = 5e-4
_C_XY, _DCI_XY = (0.310, 0.316), (0.314, 0.351)
_709 = ((0.640, 0.330), (0.300, 0.600), (0.150, 0.060))
_525 = ((0.630, 0.340), (0.310, 0.595), (0.155, 0.070))
_P3 = ((0.680, 0.320), (0.265, 0.690), (0.150, 0.060))
_PRIMARIES = {
    1: ("BT.709", _709, D65_XY),
    4: ("BT.470 M", ((0.67, 0.33), (0.21, 0.71), (0.14, 0.08)), _C_XY),
    5: ("BT.601 (625 lines)", ((0.64, 0.33), (0.29, 0.60), (0.15, 0.06)), D65_XY),
    6: ("BT.601 (525 lines)", _525, D65_XY),
    7: ("ST 240", _525, D65_XY),
    9: ("BT.2020", ((0.708, 0.292), (0.170, 0.797), (0.131, 0.046)), D65_XY),
    11: ("P3, theatre white", _P3, _DCI_XY),
    12: ("P3, D65", _P3, D65_XY),
    22: ("EBU 3213", ((0.630, 0.340), (0.295, 0.605), (0.155, 0.077)), D65_XY),
}
#: Red's and blue's share in luma.
_WEIGHTS = {1: (0.2126, 0.0722), 4: (0.30, 0.11), 5: (0.299, 0.114), 6: (0.299, 0.114)}
_WEIGHTS |= {7: (0.212, 0.087), 9: (0.2627, 0.0593)}


@dataclass(frozen=True, slots=True)
class PqCurve:
    """The perceptual quantizer, SMPTE ST 2084; light 1 is 10,000 cd/m2."""

    def decode(self, coded: ArrayLike) -> NDArray[np.float64]:
        """Linear light of code values, any shape."""
        p = np.clip(np.asarray(coded, float), 0.0, 1.0) ** (32 / 2523)
        top = np.maximum(p - 107 / 128, 0.0)
        return np.asarray((top / (2413 / 128 - 2392 / 128 * p)) ** (8192 / 1305))

    def encode(self, light: ArrayLike) -> NDArray[np.float64]:
        """Code values of linear light, any shape."""
        y = np.maximum(np.asarray(light, float), 0.0) ** (1305 / 8192)
        return np.asarray(((107 / 128 + 2413 / 128 * y) / (1 + 2392 / 128 * y)) ** (2523 / 32))


@dataclass(frozen=True, slots=True)
class HlgCurve:
    """Hybrid log-gamma, ITU-R BT.2100-2 table 5: the light of the scene, 1 at the top code."""

    def decode(self, coded: ArrayLike) -> NDArray[np.float64]:
        """Linear light of code values, any shape."""
        v = np.maximum(np.asarray(coded, float), 0.0)
        bright = (np.exp((np.maximum(v, 0.5) - 0.55991073) / 0.17883277) + 0.28466892) / 12
        return np.asarray(np.where(v <= 0.5, v * v / 3, bright))

    def encode(self, light: ArrayLike) -> NDArray[np.float64]:
        """Code values of linear light, any shape."""
        e = np.maximum(np.asarray(light, float), 0.0)
        bright = 0.17883277 * np.log(12 * np.maximum(e, 1 / 12) - 0.28466892) + 0.55991073
        return np.asarray(np.where(e <= 1 / 12, np.sqrt(3 * e), bright))


_CAMERA = ParametricCurve(1 / 0.45, 1 / 1.099, 0.099 / 1.099, 1 / 4.5, 0.081)
_CURVES: dict[int, tuple[str, Curve]] = {
    **dict.fromkeys((1, 6, 11, 14, 15), ("BT.709", _CAMERA)),
    4: ("gamma 2.2", ParametricCurve(2.2)),
    5: ("gamma 2.8", ParametricCurve(2.8)),
    7: ("ST 240", ParametricCurve(1 / 0.45, 1 / 1.1115, 0.1115 / 1.1115, 1 / 4.0, 0.0913)),
    8: ("linear", ParametricCurve(1.0)),
    13: ("sRGB", SRGB_CURVE),
    16: ("PQ", PqCurve()),
    18: ("HLG", HlgCurve()),
}


@dataclass(frozen=True, slots=True)
class ColourTags:
    """Colour tags as H.273 numbers them; 2 is "unspecified".

    Attributes
    ----------
    primaries, transfer, matrix : int
    full_range : bool
        Whether codes run from end to end, instead of from 16 to 235 (of 8 bits).
    """

    primaries: int
    transfer: int
    matrix: int
    full_range: bool

    def words(self) -> str:
        """Return them as people read them."""
        held = "full range" if self.full_range else "video range"
        return f"{_PRIMARIES[self.primaries][0]} primaries, {_CURVES[self.transfer][0]}, {held}"


def settled(tags: ColourTags, height_px: int) -> tuple[ColourTags, str]:
    """Fill in what a clip does not say, as its size suggests; returns a sentence about it, or none.

    From 720 lines on BT.709, below BT.601 of 576 or 480 lines (common practice of players).

    Raises
    ------
    InputError
        If a tag names something that is not understood here, such as a camera's logarithm.
    """
    usual = 1 if height_px >= 720 else 5 if height_px in (288, 576) else 6
    given = replace(
        tags,
        primaries=usual if tags.primaries == UNSAID else tags.primaries,
        transfer=1 if tags.transfer in (0, UNSAID) else tags.transfer,
        matrix=usual if tags.matrix == UNSAID else tags.matrix,
    )
    if given.primaries not in _PRIMARIES:
        raise InputError(f"its colour primaries are number {given.primaries}, not known here")
    if given.transfer not in _CURVES:
        raise InputError(
            f"its tone curve is number {given.transfer} (a logarithm, or for cinema): develop it "
            "to BT.709, HLG or PQ first"
        )
    if given.matrix != 0 and given.matrix not in _WEIGHTS:
        raise InputError(f"its colour matrix is number {given.matrix}, not known here")
    if given == tags:
        return given, ""
    return given, f"its colour tags do not say all: taken as {given.words()}"


def matrix_weights(tags: ColourTags) -> tuple[float, float]:
    """Share of red and of blue in luma (Kr, Kb)."""
    return _WEIGHTS[tags.matrix if tags.matrix else 1]


def clip_encoding(tags: ColourTags) -> Encoding:
    """How R'G'B' of a clip stands for light, by its settled tags."""
    name, xy, white = _PRIMARIES[tags.primaries]
    curve_name, curve = _CURVES[tags.transfer]
    matrix = primaries_to_xyz(xy[0], xy[1], xy[2], white)
    x, y = white
    to_xyz: Matrix = adapted(matrix, (x / y, 1.0, (1 - x - y) / y))
    return Encoding(f"{name} primaries, {curve_name} curve", (curve,) * 3, to_xyz)


def as_written(encoding: Encoding) -> tuple[ColourTags, Encoding, str]:
    """Tags for a clip made of stills, the encoding to write it in, and a sentence if that differs.

    A still's code values stay what they are: screens show sRGB and BT.709 codes alike. Primaries
    that no tag names become those of sRGB.
    """
    if np.allclose(encoding.to_xyz, DISPLAY_P3.to_xyz, atol=_SAME):
        return ColourTags(12, 13, 1, False), DISPLAY_P3, ""
    tags = ColourTags(1, 13, 1, False)
    if np.allclose(encoding.to_xyz, SRGB.to_xyz, atol=_SAME):
        return tags, SRGB, ""
    return tags, SRGB, f"colours were taken from {encoding.name} to sRGB, which clips can say"
