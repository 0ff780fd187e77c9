"""Settings that are varied on a sheet, in the same words as the options of a shot."""

import difflib
import re
from dataclasses import dataclass

from render.errors import SettingError
from render.shot.shot import Shot, merged, shot_keys

__all__ = ["ALSO_CALLED", "Axis", "parse_axis", "varied"]

#: What is usually varied, for those who ask for something else; any option of a shot may be.
_TURNED_ON_SITE = {
    "f": "f-number",
    "tilt": "up or down",
    "swing": "left or right",
    "focus": "what is sharp",
    "lens": "focal length",
    "rise": "up or down",
    "shift": "left or right",
    "height": "of the camera",
    "pitch": "down or up",
    "horizon": "its row",
    "blades": "of the iris",
    "format": "the sensor",
}

#: A comma as in a decimal number; in a place its first part carries a per cent sign.
_TIGHT = re.compile(r"\d,\d")
#: Letters of what was typed that are said again.
_QUOTED = 30
#: What others call an option.
ALSO_CALLED = {
    **dict.fromkeys(("aperture", "stop", "f-number", "fnumber", "f-stop"), "f"),
    **dict.fromkeys(("focal", "focal-length", "focal-mm"), "lens"),
    "sensor": "format",
}
#: What took a picture is a fact: to vary it would compare guesses, not settings.
_FACTS = {"focal", "sensor", "focal-35", "view", "guessed"}


@dataclass(frozen=True, slots=True)
class Axis:
    """One setting that is varied: its name as an option (without dashes) and its values.

    Attributes
    ----------
    also : tuple of dict
        What else changes with each value, by name; empty where nothing does.
    """

    name: str
    values: tuple[str, ...]
    also: tuple[dict[str, str], ...] = ()

    def given(self, place: int) -> dict[str, str]:
        """What the value at a place gives a shot."""
        return {self.name: self.values[place], **(self.also[place] if self.also else {})}


def parse_axis(text: str) -> Axis:
    """Read "f=2.8,4,5.6" or "focus=50%,40%; 50%,60%".

    Raises
    ------
    SettingError
        If the name is not an option of a shot, or no value is given.
    """
    name, equals, rest = text.partition("=")
    name = name.strip().removeprefix("--")
    keys = shot_keys()
    if name not in keys or keys[name].many or name in _FACTS:
        near = [ALSO_CALLED[name]] if name in ALSO_CALLED else []
        near = near or difflib.get_close_matches(name, _TURNED_ON_SITE, n=1, cutoff=0.6)
        raise SettingError(
            f'"{name[:_QUOTED]}" is nothing that can be varied'
            + (f" (did you mean {near[0]}?)" if near else "")
            + ": write a setting and its values, such as f=2.8,4,5.6; settings are "
            + ", ".join(f"{known} ({words})" for known, words in _TURNED_ON_SITE.items())
        )
    if not equals:
        raise SettingError(
            f'"{text}" gives no values: write them after an equals sign, {name}='
            + {"f": "2.8,4,5.6", "tilt": "up 4,up 8"}.get(name, "...,...")
        )
    if _TIGHT.search(rest) and ", " in rest and not {";", "."} & set(rest):
        raise SettingError(
            f'"{text[:_QUOTED]}": commas part the values, so write decimals with a point, '
            f"{name}=2.8, 4, or part the values with semicolons, {name}=2,8; 4"
        )
    values = tuple(part.strip() for part in rest.split(";" if ";" in rest else ","))
    values = tuple(value for value in values if value)
    if not values:
        raise SettingError(f'"{text}" gives no values: write them after the sign, {name}=2.8,4')
    return Axis(name, values)


def varied(shot: Shot, axes: tuple[Axis, ...]) -> list[tuple[tuple[str, ...], Shot]]:
    """Return every combination of the axes' values with the shot that has them, last axis fastest.

    Raises
    ------
    SettingError
        If a value cannot be read, naming its axis.
    """
    found: list[tuple[tuple[str, ...], Shot]] = [((), shot)]
    for axis in axes:
        found = [
            ((*values, value), merged(made, dict(axis.given(place)), "axis {name}"))
            for values, made in found
            for place, value in enumerate(axis.values)
        ]
    return found
