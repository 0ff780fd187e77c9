"""What is varied on a sheet, as people read it."""

from collections.abc import Callable
from datetime import datetime

from render.optics.lens import FocusSpot, LensSetting
from render.words import (
    lateral_words,
    metres,
    rise_words,
    spell_f_number,
    swing_words,
    tilt_words,
)

__all__ = ["axis_words"]


def axis_words(name: str, value: str, setting: LensSetting) -> str:
    """One value of an axis as people read it: "f/5.6", "lens up 8°", "focus at 29.0 m"."""
    written: dict[str, Callable[[], str]] = {
        "f": lambda: spell_f_number(setting.f_number),
        "lens": lambda: f"{setting.focal_mm:g} mm",
        "tilt": lambda: tilt_words(setting.tilt_deg),
        "swing": lambda: swing_words(setting.swing_deg),
        "rise": lambda: rise_words(setting.rise_mm),
        "shift": lambda: lateral_words(setting.lateral_mm),
        "focus": lambda: _focus_words(value, setting),
        "when": lambda: f"at {datetime.fromisoformat(value):%H:%M}",
        "height": lambda: f"from {'the ' if value.startswith('roof') else ''}{value}",
    }
    return written[name]() if name in written else f"{name} {value}"


def _focus_words(value: str, setting: LensSetting) -> str:
    focus = setting.focus
    if isinstance(focus, FocusSpot):
        return f"focus at {metres(focus.depth_m)} ({value.replace(',', ', ')})"
    return f"focus {value}"
