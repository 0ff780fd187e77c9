"""What is varied on a sheet, as people read it."""

import math
from collections.abc import Callable, Sequence
from datetime import datetime

from render.optics.camera import Vantage
from render.optics.lens import FocusSpot, LensSetting
from render.units import round_metres
from render.words import (
    focal_words,
    lateral_words,
    length_words,
    rise_words,
    spell_f_number,
    swing_words,
    tilt_words,
)

__all__ = ["axis_words", "days_words"]


def axis_words(name: str, value: str, setting: LensSetting, vantage: Vantage | None = None) -> str:
    """One value of an axis as people read it: "f/5.6", "lens up 8°", "focus at 29.0 m".

    With the vantage known, a height carries how the camera is held and how far the level ground
    on its axis is: "from 2 storeys, 20° down, 16.5 m off".
    """
    written: dict[str, Callable[[], str]] = {
        "f": lambda: spell_f_number(setting.f_number),
        "lens": lambda: focal_words(setting.focal_mm),
        "tilt": lambda: tilt_words(setting.tilt_deg),
        "swing": lambda: swing_words(setting.swing_deg),
        "rise": lambda: rise_words(setting.rise_mm),
        "shift": lambda: lateral_words(setting.lateral_mm),
        "focus": lambda: _focus_words(value, setting),
        "when": lambda: f"at {datetime.fromisoformat(value):%H:%M}",
        "height": lambda: _height_words(value, vantage),
    }
    if name == "distance":
        value = _with_unit(value)
    return written[name]() if name in written else f"{name} {value}"


def days_words(moments: Sequence[str]) -> str:
    """The days and time zones of some moments: "on 21 June 2026, clock at UTC+02:00"."""
    read = [datetime.fromisoformat(moment) for moment in moments]
    days = dict.fromkeys(f"{moment.day} {moment:%B %Y}" for moment in read)
    zones = dict.fromkeys(str(moment.tzinfo) for moment in read if moment.tzinfo is not None)
    said = f"on {' and '.join(days)}"
    return f"{said}, clock at {' and '.join(zones)}" if zones else said


def _height_words(value: str, vantage: Vantage | None) -> str:
    text = f"from {'the ' if value.startswith('roof') else ''}{_with_unit(value)}"
    if vantage is None:
        return text
    text += f", {vantage.pitch_deg:.0f}° down" if vantage.pitch_deg >= 0.5 else ", level"
    if vantage.pitch_deg < 0.5:
        return text
    return (
        f"{text}, {length_words(vantage.height_m / math.tan(math.radians(vantage.pitch_deg)))} off"
    )


def _focus_words(value: str, setting: LensSetting) -> str:
    focus = setting.focus
    if isinstance(focus, FocusSpot):
        return f"focus at {length_words(focus.depth_m)} ({value.replace(',', ', ')})"
    return f"focus {_with_unit(value)}"


def _with_unit(value: str) -> str:
    """A length as it was written; one without a unit is in metres, and is told as any other."""
    try:
        length_m = float(value)
    except ValueError:
        return value
    return round_metres(length_m) if math.isfinite(length_m) else value
