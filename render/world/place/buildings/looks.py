"""What buildings of a map are made of: walls with windows, roofs, and the palette of a place."""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from render.errors import InputError
from render.world.place.heights import Standing
from render.world.surfaces.material import Material
from render.world.surfaces.palette import PALETTE

__all__ = ["BAY_M", "Look", "look_of", "place_materials"]

#: Width of a window axis in the material's own measure, and width and height of a church's.
BAY_M = 2.4
_NAVE_M = (3.0, 6.5)

_WALLS = (
    *("#d9cbb0", "#cdb48c", "#c3b4a4", "#d6d1c5", "#a9694f", "#b9b5aa", "#d8c3a5", "#e0dacb"),
    *("#b08a63", "#9c5a43"),
)
_BLOCKS = ("#b7b4ab", "#a7a8a6", "#c4beb0", "#8f9294", "#b39e86", "#9d8577")
_TILES = ("#a1563a", "#8e4a34", "#7c4335", "#b06a45", "#5c6470", "#6d5a4e")
_STONES = ("#a59d8c", "#aca291", "#979083")
_DECKS = ("#6f6d69", "#8b8880", "#5f5e5c", "#9a958a")
_SHEDS = ("#9aa3a6", "#a8a396", "#7f8b8f", "#b3aca0")

_HALLS = {"industrial", "warehouse", "hangar", "barn", "farm_auxiliary", "cowshed", "stable"}
_BLIND = {"garage", "garages", "carport", "shed", "hut", "bunker", "roof", "service", "kiosk"}
_STONE = {"church", "cathedral", "chapel", "castle", "ruins", "monastery", "mosque", "temple"}
_LARGE = {"apartments", "office", "commercial", "hotel", "hospital", "public", "retail", "civic"}

_WHITEST = 0xE6
_STUFF = {"brick": "brick", "stone": "stone", "sandstone": "limestone", "limestone": "limestone"}
_NAMED = {
    "white": "#e6e3db",
    "black": "#3a3a3a",
    "grey": "#8f8f8f",
    "gray": "#8f8f8f",
    "red": "#a1453a",
    "brown": "#7a5a44",
    "yellow": "#d9be7a",
    "beige": "#d9cbb0",
    "orange": "#c4763f",
    "green": "#6f8a64",
    "blue": "#6a86a3",
    "pink": "#d8a8a0",
    "silver": "#a9adb0",
    "maroon": "#7a3a34",
    "tan": "#c8ab80",
    "lightgrey": "#bdbdbd",
}


#: Surfaces of the ground that only maps need.
_GROUND: dict[str, dict[str, Any]] = {
    "town ground": {
        "rule": "gravel",
        "colour": "#97917f",
        "second": "#7c8064",
        "size_m": [0.08, 0.08],
        "vary": 0.12,
        "mottle": 0.3,
        "mottle_m": 14.0,
    },
    "garden ground": {
        "rule": "grass",
        "colour": "#67793f",
        "second": "#938b64",
        "mottle": 0.22,
        "mottle_m": 7.0,
    },
    "yard ground": {
        "rule": "asphalt",
        "colour": "#8a8780",
        "second": "#77746d",
        "mottle": 0.12,
        "mottle_m": 9.0,
    },
    "crop": {
        "rule": "stripes",
        "colour": "#93914e",
        "second": "#8a8a4a",
        "size_m": [1.6, 1.6],
        "mottle": 0.2,
        "mottle_m": 40.0,
    },
    "scrub ground": {"rule": "grass", "colour": "#5d6f38", "second": "#7d7a48"},
    "wood ground": {"rule": "grass", "colour": "#4a5a2c", "second": "#5f5a38"},
    "rock ground": {"rule": "gravel", "colour": "#8f8a82", "second": "#6f6b66", "vary": 0.3},
    "pitch ground": {"rule": "grass", "colour": "#5a8a3e", "second": "#6b9648", "size_m": [6, 6]},
    "pool water": {"rule": "water", "colour": "#3f8f9f", "size_m": [0.6, 0.6], "relief": 0.06},
    "pavement slabs": {
        "rule": "paving",
        "colour": "#a9a498",
        "second": "#8b867b",
        "size_m": [0.5, 0.5],
        "vary": 0.08,
        "mottle": 0.1,
    },
    "track ground": {"rule": "gravel", "colour": "#a3977c", "second": "#84785e"},
    "path ground": {"rule": "gravel", "colour": "#b0a488", "second": "#948869"},
    "rail top": {"colour": "#7d7672", "gloss": 0.15, "rough": 0.4},
    "hedge ground": {"rule": "grass", "colour": "#3f6230", "second": "#638745"},
}


@dataclass(frozen=True, slots=True)
class Look:
    """What a building shows: names of materials.

    `wall` has windows (None for a blind building), `plain` is the same wall without; a window
    axis is `bay_m` wide and `storey_m` high.
    """

    wall: str | None
    plain: str
    roof: str
    chimney: bool = False
    bay_m: float = BAY_M
    storey_m: float = 3.0


def look_of(tags: Mapping[str, str], standing: Standing, area_m2: float, seed: int) -> Look:
    """Choose by the tags' own colours and material, else by use and seed."""
    use = tags.get("building", "yes")
    if use == "yes":
        use = tags.get("building:part", "yes")
    flat = standing.roof == "flat"
    roof, own = _painted(tags, "roof"), _painted(tags, "building")
    if roof:
        roof_name = f"{'deck' if flat else 'tiles'} {roof}"
    else:
        of = (_SHEDS if use in _HALLS else _DECKS) if flat else _TILES
        share = 0.55 if len(of) == len(_TILES) else 0.0
        number = seed // 7
        pick = of[0] if (number % 100) / 100 < share else of[number % len(of)]
        roof_name = f"{'deck' if flat else 'tiles'} {pick}"
    stuff = _STUFF.get(tags.get("building:material", ""), "")
    if use in _STONE and not own:
        nave = f"nave {_STONES[seed % len(_STONES)]}"
        return Look(nave, stuff or "stone", roof_name, bay_m=_NAVE_M[0], storey_m=_NAVE_M[1])
    if use in _HALLS:
        name = f"hall {own or _SHEDS[seed % len(_SHEDS)]}"
        return Look(None, name, roof_name)
    large = use in _LARGE or (area_m2 > 350 and standing.eaves_m > 8)
    colours = _BLOCKS if large else _WALLS
    colour = own or ("#9c5a43" if stuff == "brick" else colours[seed % len(colours)])
    blind = use in _BLIND or area_m2 < 16 or standing.eaves_m - standing.low_m < 2.2
    chimney = not flat and not large and use not in _BLIND
    rule = "block" if large else "front"
    return Look(None if blind else f"{rule} {colour}", f"plain {colour}", roof_name, chimney)


def place_materials(names: set[str]) -> dict[str, Material]:
    """The palette of all scenes, and the materials of these names."""
    made = {name: Material.of(dict(words)) for name, words in PALETTE.items()}
    return made | {name: Material.of(_words(name)) for name in sorted(names - made.keys())}


def _words(name: str) -> dict[str, Any]:
    """A material by its name: what it is, and its colour."""
    if name in _GROUND:
        return dict(_GROUND[name])
    what, _, colour = name.rpartition(" ")
    if what == "front":
        frame = "#e6e1d6" if int(colour[1:3], 16) < 0xC0 else "#f2efe8"
        return {"rule": "windows", "colour": colour, "third": frame, "size_m": [BAY_M, 3.0]}
    if what == "nave":
        return {
            "rule": "windows",
            "colour": colour,
            "third": _darker(colour),
            "second": "#20262b",
            "size_m": list(_NAVE_M),
            "mottle": 0.2,
            "mottle_m": 1.2,
        }
    if what == "block":
        return {
            "rule": "windows",
            "colour": colour,
            "third": "#6d6f70",
            "second": "#2e3a44",
            "size_m": [BAY_M, 3.0],
            "gloss": 0.12,
        }
    if what == "hall":
        return {"rule": "corrugated", "colour": colour, "vary": 0.05, "size_m": [0.35, 0.35]}
    if what == "tiles":
        return {"rule": "tiles", "colour": colour, "second": _darker(colour)}
    if what == "deck":
        return {"colour": colour, "mottle": 0.22, "mottle_m": 3.0}
    if what == "plain":
        return {"rule": "plaster", "colour": colour, "second": _darker(colour), "vary": 0.4}
    return {"colour": colour, "mottle": 0.15, "mottle_m": 4.0}


def _painted(tags: Mapping[str, str], part: str) -> str:
    """The colour that a map gives a part of a building, in either spelling of its key."""
    return _colour(tags.get(f"{part}:colour", tags.get(f"{part}:color", "")))


def _colour(text: str) -> str:
    """A colour tag as "#rrggbb"; empty if it is none that is known.

    No paint is whiter than `_WHITEST`: a map's "#ffffff" means white, not all the sun's light.
    """
    plain = text.strip().lower()
    if re.fullmatch(r"#[0-9a-f]{3}", plain):
        plain = "#" + "".join(2 * c for c in plain[1:])
    try:
        found = _NAMED.get(plain) or Material(colour=plain).colour if plain else ""
    except InputError:
        return ""
    parts = (min(int(found[i : i + 2], 16), _WHITEST) for i in (1, 3, 5)) if found else ()
    return "#" + "".join(f"{part:02x}" for part in parts) if found else ""


def _darker(colour: str) -> str:
    return "#" + "".join(f"{int(int(colour[i : i + 2], 16) * 0.76):02x}" for i in (1, 3, 5))
