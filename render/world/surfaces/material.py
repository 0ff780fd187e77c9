"""Materials: what a surface is made of, said in a few words, and the row the tracer reads."""

import functools
import math
from dataclasses import dataclass, fields

import numpy as np
from numpy.typing import NDArray

from render.errors import InputError
from render.scene.colour import srgb_to_linear
from render.words import choices
from render.world.surfaces.rules import COLUMNS, RULES

__all__ = ["Colour", "Material", "linear_rgb", "material_row"]

Colour = tuple[float, float, float]

#: What each rule starts from: size (m), vary, relief, gloss, joint or lit share.
_STARTS: dict[str, dict[str, object]] = {
    "brick": {"size_m": (0.225, 0.075), "vary": 0.22, "second": "#b9b0a2"},
    "paving": {"size_m": (0.6, 0.4), "vary": 0.10, "joint_m": 0.012, "bond": 0.5},
    "tiles": {"size_m": (0.24, 0.32), "vary": 0.16, "relief": 0.35},
    "planks": {"size_m": (2.4, 0.14), "vary": 0.16, "joint_m": 0.008},
    "stripes": {"size_m": (0.5, 0.5)},
    "checks": {"size_m": (0.5, 0.5)},
    "grass": {"size_m": (0.0, 0.0), "vary": 0.12},
    "foliage": {"vary": 0.6, "through": 0.35, "two_sided": True},
    "water": {"size_m": (2.2, 2.2), "relief": 0.12},
    "windows": {"size_m": (2.4, 3.0), "gloss": 0.10, "second": "#28323a", "third": "#d8d4c8"},
    "corrugated": {"size_m": (0.25, 0.25), "relief": 0.45, "vary": 0.25, "third": "#6f675b"},
    "asphalt": {"size_m": (0.0, 0.0)},
    "plaster": {"vary": 0.5},
    "gravel": {"size_m": (0.05, 0.05), "vary": 0.25},
    "trodden": {"size_m": (0.03, 0.03), "vary": 0.12, "relief": 0.2},
    "mire": {"size_m": (0.04, 0.04), "vary": 0.2, "relief": 0.3, "third": "#b9a36a"},
    "marking": {"vary": 0.22},
    "painted": {"vary": 0.2},
    "sea": {"size_m": (2.2, 24.0), "relief": 0.12, "second": "#cdb58a", "third": "#4a5a34"},
    "tidal": {"size_m": (0.9, 0.45), "vary": 0.18, "bond": 0.5, "third": "#3b4a22"},
    "groomed": {"size_m": (4.6, 0.24), "vary": 0.04, "relief": 0.2},
    "coachwork": {"vary": 0.3},
    "weathered": {"size_m": (1.0, 0.4), "vary": 0.35, "relief": 0.1, "third": "#5f564b"},
    "strands": {"size_m": (0.0012, 0.0012), "relief": 0.4},
    "cloth": {"size_m": (0.004, 0.004), "vary": 0.3, "relief": 0.3},
    "skin": {"vary": 0.25},
    "knit": {"size_m": (0.0055, 0.0042), "vary": 0.2, "relief": 0.5},
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Material:
    """A surface made by rule.

    Attributes
    ----------
    rule : str
        One of `RULES`.
    colour, second, third : str
        sRGB as "#rrggbb": units and joints, light and dark, wall, pane and frame.
    size_m : tuple of 2 floats
        Length and height of one brick, slab, tile, board, wave, window axis or stripe; of asphalt
        the number of lanes and their width, 0 where nobody drives.
    vary : float
        How much units differ from each other, 0 to 1.
    relief : float
        Slope of joints and ribs, 0 to 1; of water the root mean square slope of its waves.
    gloss : float
        Share of light mirrored when looked at squarely; 0 matt, 0.04 glass or lacquer, 0.6 metal.
    rough : float
        Spread of the mirrored light, 0 mirror to 1.
    glow : str
        Colour of the light it gives off; `glow_level` how much (1 = sunlit white).
    through : float
        Share of light that passes, as through leaves, 0 to 1.
    mottle, mottle_m : float
        Cloudy unevenness of the whole surface (0 to 1) and its size.
    joint_m, bond : float
        Width of joints and shift of every second row (0 to 0.5), for paving.
    lit : float
        Share of windows that are lit, 0 to 1.
    seed : int
        Another seed, another piece of the same stuff.
    two_sided : bool
        A leaf or a flag, seen from both sides.
    """

    rule: str = "plain"
    colour: str = "#b0aca4"
    second: str = ""
    third: str = ""
    size_m: tuple[float, float] = (0.5, 0.5)
    vary: float = 0.15
    relief: float = 0.0
    gloss: float = 0.0
    rough: float = 0.15
    glow: str = "#ffd9a0"
    glow_level: float = 0.0
    through: float = 0.0
    mottle: float = 0.0
    mottle_m: float = 1.5
    joint_m: float = 0.012
    bond: float = 0.5
    lit: float = 0.0
    seed: int = 1
    two_sided: bool = False

    def __post_init__(self) -> None:
        if self.rule not in RULES:
            raise InputError(f'rule = "{self.rule}": choose one of {", ".join(RULES)}')
        for name in ("colour", "second", "third", "glow"):
            if getattr(self, name) or name == "colour":
                linear_rgb(getattr(self, name), name)
        for name, high in _RANGES.items():
            if not 0 <= getattr(self, name) <= high:
                raise InputError(f"{name} = {getattr(self, name)!r}: a number from 0 to {high:g}")
        if not (len(self.size_m) == 2 and all(0 <= s < math.inf for s in self.size_m)):
            raise InputError(f"size_m = {self.size_m!r}: two lengths in metres, such as [0.6, 0.4]")

    @classmethod
    def of(cls, values: dict[str, object]) -> "Material":
        """A material from the keys of a scene file; what is left out follows the rule."""
        allowed = [f.name for f in fields(cls)]
        wrong = [key for key in values if key not in allowed]
        if wrong:
            raise InputError(
                f'"{wrong[0]}" is not a key of a material: {choices(allowed, wrong[0])}'
            )
        start = _STARTS.get(str(values.get("rule", "plain")), {})
        merged = {**start, **values}
        if isinstance(merged.get("size_m"), list):
            merged["size_m"] = tuple(merged["size_m"])  # type: ignore[arg-type]
        try:
            return cls(**merged)  # type: ignore[arg-type]
        except TypeError as error:
            raise InputError(f"a value has the wrong kind ({error})") from None


_RANGES = {
    **dict.fromkeys(("vary", "relief", "gloss", "rough", "through", "mottle", "lit"), 1.0),
    "bond": 0.5,
    "joint_m": 1.0,
    "glow_level": 1000.0,
    "mottle_m": 1000.0,
}


def linear_rgb(text: str, key: str = "colour") -> Colour:
    """Linear light of an sRGB colour "#rrggbb" (IEC 61966-2-1)."""
    code = text.removeprefix("#") if isinstance(text, str) else ""
    if len(code) != 6 or not all(c in "0123456789abcdefABCDEF" for c in code):
        raise InputError(f'{key} = {text!r}: write a colour as "#rrggbb", such as "#b5654a"')
    return _linear(code)


@functools.cache
def _linear(code: str) -> Colour:
    """Of "rrggbb": a scene names its colours many times over."""
    r, g, b = srgb_to_linear([int(code[i : i + 2], 16) / 255 for i in (0, 2, 4)])
    return float(r), float(g), float(b)


def material_row(m: Material) -> NDArray[np.float64]:
    """The material as the numbers that `rules.evaluate` reads, shape (30,), float64."""
    row = np.zeros(len(COLUMNS))
    colour = linear_rgb(m.colour)
    second = linear_rgb(m.second) if m.second else tuple(0.72 * c for c in colour)
    third = linear_rgb(m.third) if m.third else second
    row[0] = RULES.index(m.rule)
    row[1:4], row[4:7], row[7:10], row[10:12] = colour, second, third, m.size_m
    row[12], row[13] = m.gloss, m.rough
    row[14:17] = np.array(linear_rgb(m.glow)) * m.glow_level
    row[17:23] = m.through, m.mottle, max(m.mottle_m, 1e-3), m.seed, m.vary, m.relief
    mixed = (
        0.5
        if m.rule
        in ("stripes", "checks", "grass", "foliage", "gravel", "trodden", "groomed", "mire")
        else 0.15
    )
    row[23:26] = np.array(colour) * (1 - mixed) + np.array(second) * mixed
    row[26:30] = m.lit, float(m.two_sided), m.joint_m, m.bond
    return row
