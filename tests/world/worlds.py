"""Small scenes that several tests look at."""

from typing import Any

from render.trace.trace import View
from render.world.description import Description
from render.world.scenefile import read_description

__all__ = ["SHADE", "described", "eye_level"]

#: Light without a sun: what is tested is where things are.
SHADE = {"sun_level": 0.0, "visual_range_km": 1e6}


def described(things: list[dict[str, Any]], **more: Any) -> Description:
    """A scene of these things on grass."""
    return read_description("small.toml", {"line": "A small scene.", "things": things, **more})


def eye_level(**more: Any) -> View:
    """A camera 2 m up at the origin looking level to the north, 100 px a unit of slope."""
    start: dict[str, Any] = {
        "at_m": (0.0, 0.0, 2.0),
        "height_m": 2.0,
        "heading_deg": 0.0,
        "pitch_deg": 0.0,
        "focal_mm": 36.0,
        "width_px": 100,
    }
    return View(**{**start, **more})
