"""How high buildings are: what their tags say, in their own units, and a guess where they don't.

Meaning of the tags: OpenStreetMap's "Simple 3D Buildings" (wiki; from memory): `height` is to the
highest point, roof included; `building:levels` leaves the storeys of the roof out; `min_height`
and `building:min_level` leave room below.
"""

import math
import re
from collections.abc import Mapping
from dataclasses import dataclass

__all__ = ["STOREY_M", "Standing", "parse_length_m", "parse_levels", "standing_of"]

#: From floor to floor: common practice, no source; the same storey as everywhere in the program.
STOREY_M = 3.0
_FOOT_M, _INCH_M = 0.3048, 0.0254
#: Nothing built is higher (the tallest tower stands at 828 m); what is more is a slip.
_HIGHEST_M = 900.0
_NUMBER = r"(\d+(?:[.,]\d+)?)"

#: Guessed heights by use, m, roof included: ours, common practice, no source.
_BY_USE = {
    **dict.fromkeys(("garage", "garages", "carport", "shed", "hut", "kiosk", "cabin"), 2.8),
    **dict.fromkeys(("greenhouse", "toilets", "service", "transformer_tower", "bunker"), 3.0),
    **dict.fromkeys(("house", "detached", "semidetached_house", "terrace", "bungalow"), 8.0),
    **dict.fromkeys(("farm", "farm_auxiliary", "barn", "stable", "cowshed"), 7.0),
    **dict.fromkeys(("industrial", "warehouse", "hangar", "retail", "supermarket"), 8.0),
    **dict.fromkeys(("apartments", "dormitory", "hotel", "office", "hospital", "public"), 13.0),
    **dict.fromkeys(("school", "university", "college", "kindergarten", "civic"), 10.0),
    **dict.fromkeys(("church", "cathedral", "mosque", "temple", "synagogue"), 15.0),
    **dict.fromkeys(("chapel", "shrine", "roof"), 6.0),
}
#: Otherwise by footprint: up to so many square metres, so high.
_BY_AREA = ((30.0, 2.8), (80.0, 5.0), (220.0, 8.0), (float("inf"), 10.0))

_PITCHED = {
    "gabled": "gabled",
    "half-hipped": "gabled",
    "gambrel": "gabled",
    "saltbox": "gabled",
    "round": "gabled",
    "hipped": "hipped",
    "mansard": "hipped",
    "pyramidal": "pyramidal",
    "cone": "pyramidal",
    "dome": "pyramidal",
    "onion": "pyramidal",
    "skillion": "skillion",
}
_HOUSES = {
    *("yes", "house", "detached", "semidetached_house", "terrace", "residential", "bungalow"),
    *("farm", "barn", "stable", "chapel", "church", "cabin", "farm_auxiliary", "apartments"),
}


@dataclass(frozen=True, slots=True)
class Standing:
    """How a building stands, metres above the ground it stands on.

    Attributes
    ----------
    low_m, eaves_m, top_m : float
        Underside, top of the walls, highest point of the roof.
    roof : str
        flat, gabled, hipped, pyramidal or skillion.
    how : str
        Where the height is from: given, storeys or guessed.
    roof_guessed : bool
        A pitched roof that no tag speaks of.
    refused : bool
        A tag gave a height that cannot be.
    """

    low_m: float
    eaves_m: float
    top_m: float
    roof: str
    how: str
    roof_guessed: bool = False
    refused: bool = False


def parse_length_m(text: str) -> float | None:
    """Read a length in metres, or None: 12, 12 m, 12,5m, 40 ft, 40', 12'6", 30 cm.

    >>> parse_length_m("12 m"), parse_length_m("30 cm")
    (12.0, 0.3)
    """
    plain = text.strip().lower()
    if match := re.fullmatch(rf"{_NUMBER}\s*(?:m|metres?|meters?)?", plain):
        return _value(match[1])
    if match := re.fullmatch(rf"{_NUMBER}\s*(?:'|ft|feet|foot)", plain):
        return _value(match[1]) * _FOOT_M
    if match := re.fullmatch(rf"{_NUMBER}\s*(?:'|ft)\s*{_NUMBER}\s*(?:\"|''|in)", plain):
        return _value(match[1]) * _FOOT_M + _value(match[2]) * _INCH_M
    if match := re.fullmatch(rf"{_NUMBER}\s*(cm|km)", plain):
        return _value(match[1]) * (0.01 if match[2] == "cm" else 1000.0)
    return None


def parse_levels(text: str) -> float | None:
    """Read a number of storeys: "3", "2.5", or the most of a list "3;5"; None if it is none."""
    found = [re.fullmatch(_NUMBER, part.strip()) for part in text.split(";")]
    return max((_value(m[1]) for m in found if m), default=None)


def standing_of(
    tags: Mapping[str, str], area_m2: float, half_width_m: float, filled: float
) -> Standing:
    """Work out how a building, or a part of one, stands.

    The height is `height`, else storeys of 3 m and the roof on top, else a guess by use, else by
    footprint.  A roof without a word is a gable on small, nearly rectangular houses, else flat; a
    shape that is not drawn (`_PITCHED` lists what is) is flat.

    Parameters
    ----------
    tags : mapping
    area_m2 : float
        Of the outline.
    half_width_m : float
        Half the shorter side of the rectangle round it.
    filled : float
        Share of that rectangle which it fills.
    """
    use = tags.get("building") or tags.get("building:part") or "yes"
    if use == "yes":
        use = tags.get("building:part", "yes")
    low, refused = _low(tags)
    total, bad = _length(tags, "height", "building:height", "est_height")
    levels = parse_levels(tags.get("building:levels", tags.get("levels", "")))
    if levels is not None and not 0 <= levels <= 200:
        levels, bad = None, True
    how = "given" if total is not None else "storeys" if levels is not None else "guessed"
    shape = _PITCHED.get(tags.get("roof:shape", ""), "flat")
    storeys_m = STOREY_M * max(levels, 0.5) if levels is not None else 0.0
    body = total if total is not None else storeys_m if levels is not None else _guess(use, area_m2)
    guessed = False
    if "roof:shape" not in tags and use in _HOUSES and body - low <= 12.5 and low == 0:
        guessed = 25 <= area_m2 <= (450 if use in ("church", "chapel", "barn") else 240)
        guessed = guessed and filled > 0.72 and half_width_m <= 9
        shape = "gabled" if guessed else shape
    rise = _rise(tags, shape, half_width_m)
    if how == "storeys":
        top = body + rise
    else:
        top = body
        rise = min(rise, 0.85 * (top - low) if "roof:height" in tags else 0.45 * (top - low))
    if use == "roof" and low == 0:
        low = max(top - rise - 0.4, 0.6 * top)
    low = min(low, top - 0.2)
    eaves = min(max(top - rise, low + 0.05), top)
    return Standing(low, eaves, top, shape, how, guessed, refused or bad)


def _value(text: str) -> float:
    return float(text.replace(",", "."))


def _length(tags: Mapping[str, str], *names: str) -> tuple[float | None, bool]:
    """A length that a tag gives, and whether one had to be refused."""
    refused = False
    for name in names:
        if name in tags:
            value = parse_length_m(tags[name])
            if value is not None and 0.3 <= value <= _HIGHEST_M:
                return value, refused
            refused = True
    return None, refused


def _low(tags: Mapping[str, str]) -> tuple[float, bool]:
    if "min_height" in tags or "building:min_height" in tags:
        found = parse_length_m(tags.get("min_height", tags.get("building:min_height", "")))
        if found is not None and 0 <= found <= _HIGHEST_M:
            return found, False
        return 0.0, True
    level = parse_levels(tags.get("building:min_level", ""))
    return STOREY_M * level if level is not None and level <= 200 else 0.0, False


def _rise(tags: Mapping[str, str], shape: str, half_width_m: float) -> float:
    """Height of the roof itself: its tag, its storeys, its angle, else 35 degrees."""
    if shape == "flat":
        return 0.0
    given, _ = _length(tags, "roof:height")
    if given is not None:
        return given
    levels = parse_levels(tags.get("roof:levels", ""))
    if levels:
        return STOREY_M * min(levels, 10.0)
    slope = {"skillion": 0.18, "pyramidal": 0.75}.get(shape, 0.70)
    angle = parse_levels(tags.get("roof:angle", ""))
    if angle is not None and 1 <= angle <= 80:
        slope = math.tan(math.radians(angle))
    span = 2 * half_width_m if shape == "skillion" else half_width_m
    return min(slope * span, 7.0)


def _guess(use: str, area_m2: float) -> float:
    if use in _BY_USE:
        return _BY_USE[use]
    return next(height for most, height in _BY_AREA if area_m2 <= most)
