"""What a comparing sheet varies: its axes, in the same words as the options of a shot."""

import difflib
import math
from collections.abc import Callable
from dataclasses import dataclass

from render.errors import InputError, SettingError
from render.optics.framing import widest_focal_mm
from render.optics.lens import FocusSpot, LensSetting
from render.scene.scene import Scene
from render.shot.shot import Shot, merged, shot_keys
from render.words import (
    lateral_words,
    metres,
    rise_words,
    spell_f_number,
    swing_words,
    tilt_words,
)

__all__ = ["KINDS", "Axis", "axes_of", "axis_words", "parse_axis", "varied"]

#: The ready-made sheets and their titles.
KINDS = {
    "stops": "Stop sheet",
    "grid": "Setting grid",
    "focus": "Focus sheet",
    "lenses": "Lens sheet",
    "vantages": "Vantage strip",
}
_WHOLE_STOPS = ("1", "1.4", "2", "2.8", "4", "5.6", "8", "11", "16")
_LENSES_MM = (17, 20, 24, 28, 35, 45, 50, 60, 70, 85, 90, 100, 120, 135, 150, 180)
#: A demo scene can be seen through any lens.
_SCENE_LENSES_MM = ("24", "35", "45", "60", "90", "135")
_STOREYS = ("1 storey", "2 storeys", "3 storeys", "4 storeys", "8 storeys", "16 storeys")
_FOCUS_ROWS = ("40%", "55%", "70%", "85%")
_USUAL_F_NUMBER = 2.8
#: What is usually varied, for those who ask for something else; any option of a shot may be.
_TURNED_ON_SITE = {
    "f": "f-number",
    "tilt": "lens up or down",
    "swing": "lens left or right",
    "focus": "what is sharp",
    "lens": "focal length, mm",
    "rise": "shift up or down, mm",
    "shift": "shift left or right, mm",
    "height": "of the camera above the ground",
    "pitch": "how far the camera looks down",
    "horizon": "its row in the picture",
    "blades": "of the iris",
    "sensor": "its size, mm",
}

_ALSO_CALLED = {"aperture": "f", "stop": "f", "f-number": "f", "focal": "lens"}


@dataclass(frozen=True, slots=True)
class Axis:
    """One setting that is varied: its name as an option (without dashes) and its values."""

    name: str
    values: tuple[str, ...]


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
    if name not in keys or keys[name].many:
        near = [_ALSO_CALLED[name]] if name in _ALSO_CALLED else []
        near = near or difflib.get_close_matches(name, _TURNED_ON_SITE, n=1, cutoff=0.6)
        raise SettingError(
            f'"{name}" is nothing that can be varied'
            + (f" (did you mean {near[0]}?)" if near else "")
            + ": write a setting and its values, such as f=2.8,4,5.6; settings are "
            + ", ".join(f"{known} ({words})" for known, words in _TURNED_ON_SITE.items())
        )
    if not equals:
        raise SettingError(
            f'"{text}" gives no values: write them after an equals sign, {name}='
            + {"f": "2.8,4,5.6", "tilt": "up 4,up 8"}.get(name, "...,...")
        )
    values = tuple(part.strip() for part in rest.split(";" if ";" in rest else ","))
    values = tuple(value for value in values if value)
    if not values:
        raise SettingError(f'"{text}" gives no values: write them after the sign, {name}=2.8,4')
    return Axis(name, values)


def axes_of(kind: str, shot: Shot, scene: Scene) -> tuple[Axis, ...]:
    """Return the usual axes of a ready-made sheet: one, or two for a grid (down, across).

    Parameters
    ----------
    kind : str
        One of `KINDS`.
    scene : Scene
        The picture with its depth; the lens sheet asks what fits in it.

    Raises
    ------
    SettingError, InputError
        If the kind is not known, or cannot be made of this shot.
    """
    match kind:
        case "stops":
            return (Axis("f", _stops(shot)),)
        case "grid":
            tilt = abs(shot.lens.tilt_deg or 8.0)
            tilts = tuple(_signed(t, "down", "up") for t in (-tilt, -tilt / 2, 0, tilt / 2, tilt))
            return Axis("tilt", tilts), Axis("f", _stops(shot)[:4])
        case "focus":
            return (Axis("focus", tuple(f"50%,{row}" for row in _FOCUS_ROWS)),)
        case "lenses":
            return (Axis("lens", _lenses(shot, scene)),)
        case "vantages":
            if not shot.scene and not _climbs(shot):
                raise InputError(
                    "a vantage strip needs a demo scene, or a --survey with --survey-from "
                    "'EAST,NORTH' and --survey-heading: a picture was taken from one place only"
                )
            if shot.on_map:
                from render.load.mapscene import climbing_heights

                return (Axis("height", climbing_heights(shot, _STOREYS)),)
            return (Axis("height", _STOREYS),)
    raise SettingError(f'"{kind}" is no sheet: write one of {", ".join(KINDS)}')


def _climbs(shot: Shot) -> bool:
    """Whether a survey shows the place from other heights too."""
    keys = shot.depth
    return bool(
        keys.survey and len(keys.survey_from or ()) == 2 and keys.survey_heading_deg is not None
    )


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
            ((*values, value), merged(made, {axis.name: value}, "axis {name}"))
            for values, made in found
            for value in axis.values
        ]
    return found


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
        "height": lambda: f"from {'the ' if value.startswith('roof') else ''}{value}",
    }
    return written[name]() if name in written else f"{name} {value}"


def _focus_words(value: str, setting: LensSetting) -> str:
    focus = setting.focus
    if isinstance(focus, FocusSpot):
        return f"focus at {metres(focus.depth_m)} ({value.replace(',', ', ')})"
    return f"focus {value}"


def _stops(shot: Shot) -> tuple[str, ...]:
    """Whole stops from the shot's own f-number, or f/2.8, to f/16."""
    start = shot.lens.f_number or _USUAL_F_NUMBER
    after = tuple(n for n in _WHOLE_STOPS if float(n) > 1.1 * start)
    return (f"{start:g}", *after)


def _lenses(shot: Shot, scene: Scene) -> tuple[str, ...]:

    if shot.scene:
        return _SCENE_LENSES_MM
    from render.load.plan import planned_on

    sensor = planned_on(shot, scene)[1].sensor
    widest = widest_focal_mm(scene.camera, sensor)
    fitting = [f for f in _LENSES_MM if f >= widest]
    if not fitting:
        raise SettingError(
            f"no usual lens is long enough for this picture (the widest is {widest:.0f} mm): "
            "give focal lengths with --across lens=200,300"
        )
    step = max(1, math.ceil(len(fitting) / 6))
    return tuple(f"{f}" for f in fitting[::step])


def _signed(value: float, positive: str, negative: str) -> str:
    return f"{positive if value > 0 else negative} {abs(value):g}" if value else "0"
