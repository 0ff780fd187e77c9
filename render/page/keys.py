"""What each value of a shot is called on the page, where it is set, and how it is written.

A value that is not named here is still offered, under its option's name: no hand is missing.
"""

import re
from dataclasses import asdict, dataclass, replace
from typing import Any

from render.shot.declaring import Key
from render.shot.shot import shot_keys
from render.units import in_feet

__all__ = ["HANDS", "Hand", "declared_keys", "in_page_words", "page_words"]


@dataclass(frozen=True, slots=True)
class Hand:
    """How a value is set on the page.

    Attributes
    ----------
    label : str
        What people read beside it.
    group : str
        Which part of the page it lies in; "ring", "drawn" and "list" have hands of their own.
    empty : str
        What holds where nothing is given.
    choices : tuple of (value, words)
        The first is taken where nothing is given.
    """

    label: str
    group: str
    empty: str = ""
    choices: tuple[tuple[str, str], ...] = ()


_FROM_FILE = "from the file"
_DEPTH_KINDS = (
    ("", "as the file says"),
    ("metres", "metres"),
    ("millimetres", "millimetres"),
    ("inverse", "1 / metres"),
    ("disparity", "disparity, pixels"),
    ("ray", "metres along the ray"),
    ("relative", "no unit, more is farther"),
    ("relative inverse", "no unit, more is nearer"),
)

HANDS: dict[str, Hand] = {
    "focus": Hand("Focus", "ring"),
    "tilt": Hand("Tilt", "ring"),
    "swing": Hand("Swing", "ring"),
    "f": Hand("f-number", "ring"),
    "lens": Hand("Focal length", "ring"),
    "lens-file": Hand("The lens", "ring"),
    "rise": Hand("Rise", "ring"),
    "shift": Hand("Shift sideways", "ring"),
    "height": Hand("Lens above ground", "ring"),
    "pitch": Hand("Camera looks", "ring"),
    "heading": Hand("Compass heading", "ring"),
    "distance": Hand("Away from the subject", "ring"),
    "horizon": Hand("Horizon, from the top", "stand", "from the pitch"),
    "roll": Hand("Leans clockwise, degrees", "stand", "0"),
    "guessed": Hand("Only guessed so far", "stand"),
    "ground-mark": Hand("Known distance on the ground", "drawn"),
    "upright": Hand("Upright of known height", "drawn"),
    "mark": Hand("Known distance", "drawn"),
    "thing": Hand("Standing thing", "drawn"),
    "wall-foot": Hand("Wall", "drawn"),
    "sky": Hand("The sky", "drawn"),
    "near": Hand("Near thing", "drawn"),
    "go-on": Hand("Pass over what cannot be placed", "ground"),
    "slope": Hand("Ground climbs ahead", "ground", "level"),
    "no-ground": Hand("Only between known distances", "ground"),
    "mend": Hand("Mend its edges by the picture", "ground"),
    "depth": Hand("Depth file", "file"),
    "depth-kind": Hand("Its numbers are", "file", choices=_DEPTH_KINDS),
    "depth-scale": Hand("Metres for each step", "file", "as the file says"),
    "baseline": Hand("Disparity: cameras apart", "file", "as the file says"),
    "disparity-offset": Hand("Disparity: add pixels", "file", "0"),
    "second-picture": Hand("Second picture", "second"),
    "step": Hand("Step to the side", "second", "such as 0.65 m"),
    "rectified": Hand("A calibrated pair", "second"),
    "network": Hand("Your own network (.onnx)", "network"),
    "survey": Hand("Survey", "survey"),
    "survey-from": Hand("You stand at east, north, up", "survey"),
    "survey-heading": Hand("Camera's heading there", "survey"),
    "survey-pair": Hand("Spots and their places", "survey"),
    "survey-unit": Hand("Metres for each unit", "survey", "1"),
    "focal-35": Hand("Focal length, 35 mm equivalent", "taken", _FROM_FILE),
    "focal": Hand("Focal length as engraved", "taken", _FROM_FILE),
    "sensor": Hand("Its sensor", "taken", _FROM_FILE),
    "view": Hand("Sees so many degrees across", "taken"),
    "lift-highlights": Hand("Brighten clipped lamps, stops", "taken", "0"),
    "time": Hand("Moment, seconds", "scene", "0"),
    "width": Hand("Width of saved pictures, px", "scene", "1280"),
    "at": Hand("You stand at", "map", "52.1, 8.5"),
    "look-at": Hand("Looking at", "map", "by the heading"),
    "reach": Hand("Things drawn out to", "map", "1500 m"),
    "as-mapped": Hand("Only what the map has", "map"),
    "when": Hand("Date and time", "map", "2026-06-21T18:30+02:00"),
    "terrain": Hand("Terrain", "map"),
    "terrain-system": Hand("Its coordinates", "map", _FROM_FILE),
    "credit": Hand("Credit the map to", "map", _FROM_FILE),
    "format": Hand("Sensor", "camera", "36x24"),
    "portrait": Hand("Camera held upright", "camera"),
    "blades": Hand("Blades of the iris", "camera", "a disc"),
    "blade-turn": Hand("Iris turned, degrees", "camera", "0"),
    "roundness": Hand("Blades rounded, 0 to 1", "camera", "0"),
    "cats-eye": Hand("Cat's-eyes", "camera", "none"),
    "coc": Hand("Passes for sharp", "camera", "diagonal/1500"),
    "check": Hand("Look at on site: name=spot", "camera"),
}

#: Options of commands that are no values of a shot, as the page calls them.
_OTHERS = {
    "at": "You stand at",
    "weather": "the light on the day",
    "iso": "ISO",
    "tilt-limit": "the lens's tilt",
    "exact": "every ray traced",
    "from": "“Begin in it at”",
    "to": "“End in it at”",
    "steady": "“Steady a hand-held clip”",
    "movers": "“Depth for what moves”",
    "key": "“Moments, with | between”",
    "reveal": "“Tilt in over”",
    "clip": "“Length”",
}
#: Of lengths, for whoever is told them in feet.
_EMPTY_IN_FEET = {"step": "such as 2 ft", "reach": "4900 ft"}
#: How it would be written on a command line.
_WRITTEN_SO = re.compile(r', as in --[a-z-]+ "[^"]*" \([^)]*\)')


def declared_keys() -> list[dict[str, Any]]:
    """Every value of a shot as the page's strips show it, in the order people meet them."""
    return [_declared(key) for key in shot_keys().values()]


def _declared(key: Key) -> dict[str, Any]:
    hand = HANDS.get(key.name) or Hand(key.name.replace("-", " ").capitalize(), "more")
    kind = "text"
    if hand.choices:
        kind = "choice"
    elif key.names_file is not None:
        kind = "file"
    elif key.is_flag:
        kind = "flag"
    elif key.many:
        kind = "many"
    if in_feet():
        hand = replace(hand, empty=_EMPTY_IN_FEET.get(key.name, hand.empty))
    return {**asdict(hand), "name": key.name, "table": key.table, "kind": kind, "help": key.help}


def in_page_words(said: Any) -> Any:
    """The same answer with every sentence in it in the page's own words."""
    if isinstance(said, str):
        return page_words(said) if "--" in said else said
    if isinstance(said, dict):
        return {name: in_page_words(value) for name, value in said.items()}
    if isinstance(said, list | tuple):
        return [in_page_words(value) for value in said]
    return said


def page_words(sentence: str) -> str:
    """A sentence of the program without the names of options: the page's own words for them."""

    def called(match: re.Match[str]) -> str:
        name = match[1]
        if name in HANDS:
            return f"“{HANDS[name].label}”"
        return _OTHERS.get(name, name.replace("-", " "))

    return re.sub(r"--([a-z][a-z0-9-]*)", called, _WRITTEN_SO.sub("", sentence))
