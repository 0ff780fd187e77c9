"""How many times faster than life something is shown."""

import re
from dataclasses import dataclass
from typing import Any

from render.decimals import pointed
from render.errors import SettingError
from render.shot.declaring import shot_key

__all__ = ["Pace", "pace_key", "read_pace"]

MODEL_PACE = "model"


@dataclass(frozen=True, slots=True)
class Pace:
    """How fast a film runs: a factor, or as a model of 1:`scale` moves (None: as it reads)."""

    factor: float | None = None
    scale: float | None = None


def read_pace(text: str) -> Pace:
    """Read how fast a film runs: "12", "x12", "model", "model 1:87"."""
    plain = pointed(text.strip().lower())
    match = re.fullmatch(rf"{MODEL_PACE}(?:\s+1\s*:\s*(\d+(?:\.\d+)?))?", plain)
    if match:
        scale = float(match.group(1)) if match.group(1) else None
        if scale is not None and not scale >= 1:
            raise SettingError(f'"{text}": a model is 1:1 or smaller')
        return Pace(scale=scale)
    try:
        factor = float(plain.removeprefix("x").removesuffix("x"))
    except ValueError:
        factor = 0.0
    if not 0.001 <= factor <= 1e6:
        raise SettingError(f'"{text}": write a factor such as 12, "model", or "model 1:87"')
    return Pace(factor=factor)


def pace_key() -> Any:
    """Declare how fast something is shown, of a film and of a time-lapse alike."""
    return shot_key(
        "--speed",
        "How many times faster than life: 12; 'model' moves as a model of the scale that it "
        "reads as, 'model 1:87' of that one.",
        read_pace,
        shown="FACTOR",
    )
