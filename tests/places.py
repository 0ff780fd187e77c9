"""Small places as pictures and scene files, quick to look at, to build and to trace."""

from pathlib import Path

import numpy as np
from PIL import Image

from render.shot.shot import Shot, merged

__all__ = ["bare_yard", "noise", "plain", "two_crates"]

_ON_THE_PLAIN = {
    "view": "44",
    "height": "11",
    "pitch": "down 19",
    "tilt": "up 8",
    "focus": "50%,58%",
}

_CRATES = """
line = "Two crates on grass."
[vantage]
stand_m = [0, -20]
height_m = 8
[setting]
tilt = "up 8"
focus_on = "near crate"
[[things]]
kind = "box"
name = "near crate"
size_m = [2, 2, 2]
[[things]]
kind = "box"
name = "far crate"
"""

_YARD = """
line = "A bare yard."

[vantage]
stand_m = [0, -20]
height_m = 12
look_at_m = [0, 0, 0]
focal_mm = 60

[setting]
f_number = 2.8
tilt = "up 6"

[ground]
material = "asphalt"
"""


def two_crates(folder: Path, *, far_m: tuple[float, float], tall_m: float = 2.0) -> Path:
    """A crate of 2 m, 20 m ahead, and one as wide at `far_m` from it, seen from 8 m up."""
    path = folder / "crates.toml"
    far = f"at_m = [{far_m[0]}, {far_m[1]}]\nsize_m = [2, 2, {tall_m}]\n"
    path.write_text(_CRATES + far, encoding="utf-8")
    return path


def bare_yard(folder: Path) -> Path:
    """Level asphalt from 12 m up."""
    path = folder / "yard.toml"
    path.write_text(_YARD, encoding="utf-8")
    return path


def plain(folder: Path, width_px: int = 300) -> Shot:
    """A picture of a plain seen from 11 m, 3:2, with the lens tilted up."""
    rng = np.random.default_rng(4)
    pixels = rng.integers(30, 220, (20, 30, 3), dtype=np.uint8)
    path = folder / "plain.png"
    size = (width_px, 2 * width_px // 3)
    Image.fromarray(pixels).resize(size, Image.Resampling.BICUBIC).save(path)
    return merged(Shot(picture=str(path)), _ON_THE_PLAIN, "{name}")


def noise(folder: Path) -> Shot:
    """A picture of noise in squares on level ground, the lens faintly tilted."""
    path = folder / "noise.png"
    coarse = np.random.default_rng(2).integers(40, 220, (60, 90, 3), dtype=np.uint8)
    Image.fromarray(coarse).resize((360, 240), Image.Resampling.NEAREST).save(path)
    given = {"view": "60", "height": "12", "pitch": "down 20"}
    given |= {"lens": "50", "f": "8", "tilt": "up 2"}
    return merged(Shot(picture=str(path)), given, "{name}")
