"""What a depth file says of itself: kind, unit, and which code values mean sky and not known."""

import json
import math
from dataclasses import asdict, dataclass
from dataclasses import fields as fields_of
from typing import Any

import numpy as np
from numpy.typing import NDArray

from render.depth.convert import KINDS, RELATIVE_KINDS
from render.errors import InputError, OutputError

__all__ = ["Coding", "coding_for", "read_note", "whole_codes"]

#: The largest 16-bit code for a distance; 65535 is kept for the sky, or for what is not known.
_MOST = 65534


@dataclass(frozen=True, slots=True)
class Coding:
    """How the numbers of a depth file are meant. It is written into the file as JSON.

    Attributes
    ----------
    kind : str
        One of `render.depth.convert.KINDS` or `RELATIVE_KINDS`.
    scale : float
        Units per step: metres, millimetres, 1/m or pixels.
    sky, unknown : int or None
        Code values of whole-number files that stand for the sky, and for nothing known.
    baseline_m : float or None
        For disparity.
    how : str or None
        How the depth was made, in words that follow "depth from".
    uncertainty : float or None
        Typical standard deviation of inverse depth over inverse depth.
    known : dict or None
        How the depth was known, as `render.files.formats.depthknown` writes it.
    """

    kind: str
    scale: float = 1.0
    sky: int | None = None
    unknown: int | None = None
    baseline_m: float | None = None
    how: str | None = None
    uncertainty: float | None = None
    known: dict[str, Any] | None = None

    def __post_init__(self) -> None:
        if self.kind not in {**KINDS, **RELATIVE_KINDS}:
            raise InputError(f'"{self.kind}" is no kind of depth: give one of {", ".join(KINDS)}')
        if not (math.isfinite(self.scale) and self.scale > 0):
            raise InputError(f"the scale of depth must be a number above 0, not {self.scale!r}")

    @property
    def note(self) -> str:
        """The coding as a line of JSON, for people and programs."""
        said = {key: value for key, value in asdict(self).items() if value is not None}
        return json.dumps({"depth": KINDS.get(self.kind, self.kind), **said})

    def values(self, codes: NDArray[Any]) -> NDArray[np.float32]:
        """Values in the unit of the kind: NaN not known, the sky infinitely far."""
        with np.errstate(invalid="ignore", over="ignore"):  # odd NaNs and too large a number
            values = codes.astype(np.float32) * np.float32(self.scale)
            values[np.isnan(values)] = np.nan
        if self.sky is not None:
            near_is_large = self.kind in ("inverse", "disparity", "relative inverse")
            values[codes == self.sky] = 0 if near_is_large else np.inf
        if self.unknown is not None:
            values[codes == self.unknown] = np.nan
        return values


def read_note(text: str | None) -> Coding | None:
    """Read the coding that a file carries, or None if the text is another's.

    Raises
    ------
    InputError
        If the text is ours and damaged.
    """
    if not text or not text.lstrip().startswith("{"):
        return None
    try:
        said = json.loads(text)
    except ValueError:
        return None
    if not isinstance(said, dict) or "depth" not in said or "kind" not in said:
        return None
    fields = {field.name: said[field.name] for field in fields_of(Coding) if field.name in said}
    try:
        return Coding(**fields)
    except TypeError:
        raise InputError("what the depth file says of itself is damaged") from None


def coding_for(values: NDArray[np.float32], kind: str, scale: float | None) -> Coding:
    """Choose the 16-bit coding of values: round steps, fine enough, reaching far enough.

    Raises
    ------
    OutputError
        If the values don't fit at the scale that was asked for.
    """
    known = values[np.isfinite(values) & (values > 0)]
    most = float(known.max()) if known.size else 1.0
    sky, unknown = (0, 65535) if kind in ("inverse", "disparity") else (65535, 0)
    if scale is None:
        scale = 1.0 if kind == "millimetres" else _round_step(most / _MOST)
        if kind in ("inverse", "disparity"):
            scale = most / _MOST  # nobody reads these as numbers; all steps are used
    if most > scale * (_MOST + 0.5):
        raise OutputError(
            f"{kind} up to {most:.4g} do not fit into 16 bits at {scale:g} per step: "
            "take a larger step, or a float TIFF or NPZ"
        )
    return Coding(kind, scale, sky, unknown)


def whole_codes(values: NDArray[np.float32], coding: Coding) -> NDArray[np.uint16]:
    """Round values to the 16-bit codes of a coding."""
    assert coding.sky is not None
    assert coding.unknown is not None
    steps = np.rint(np.nan_to_num(values, nan=0.0, posinf=0.0) / np.float32(coding.scale))
    codes: NDArray[np.uint16] = np.clip(steps, 1, _MOST).astype(np.uint16)
    far = values == 0 if coding.sky == 0 else np.isposinf(values)
    codes[far] = coding.sky
    codes[np.isnan(values)] = coding.unknown
    return codes


def _round_step(least: float) -> float:
    """Return the smallest of 1, 2, 5 times a power of ten that is not below `least`."""
    power = 10.0 ** math.floor(math.log10(least))
    return float(f"{next(m for m in (1, 2, 5, 10) if m * power >= least * 0.9999999) * power:.1e}")
