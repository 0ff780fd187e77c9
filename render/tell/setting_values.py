"""A lens setting as the words of a shot, for the page to apply and people to type."""

import math

from render.errors import HingelineError
from render.judge.advising.advice import Advice
from render.load.plan import planned_on
from render.load.prepared import Prepared
from render.optics.camera import Vantage
from render.optics.lens import FocusDistance, FocusExtension, FocusSpot, LensSetting
from render.optics.plane import focus_lens
from render.shot.declaring import Words
from render.shot.dialled import extension_words
from render.shot.shot import Shot, merged
from render.tell.preview_record import counted_in, spot_words
from render.words import shell_word, spell_direction, spell_f_number

__all__ = [
    "advised_values",
    "focus_words",
    "in_full",
    "option_words",
    "options_line",
    "setting_values",
]

#: A spot stands for a focus if the depth there is the wanted one, within this share.
_SAME_DEPTH = 0.005


def setting_values(wanted: LensSetting, prepared: Prepared) -> dict[str, str | None]:
    """Values of a shot that turn the setting of `prepared` into `wanted`; None takes one away."""
    now = prepared.setting
    values: dict[str, str | None] = {}
    if wanted.tilt_deg != now.tilt_deg:
        values["tilt"] = spell_direction("tilt", wanted.tilt_deg)
    if wanted.swing_deg != now.swing_deg:
        values["swing"] = spell_direction("swing", wanted.swing_deg)
    if wanted.rise_mm != now.rise_mm:
        values["rise"] = spell_direction("rise", wanted.rise_mm)
    if wanted.lateral_mm != now.lateral_mm:
        values["shift"] = spell_direction("lateral", wanted.lateral_mm)
    if wanted.f_number != now.f_number:
        values["f"] = spell_f_number(wanted.f_number).removeprefix("f/")
    if wanted.focal_mm != now.focal_mm:
        values["lens"] = f"{wanted.focal_mm:.4g}"
    # an extension belongs to its turn: turned without it, a shot is focused anew
    turned = isinstance(wanted.focus, FocusExtension) and bool({"tilt", "swing"} & set(values))
    if wanted.focus != now.focus or turned:
        values["focus"] = focus_words(wanted, prepared)
    return values


def in_full(shot: Shot, prepared: Prepared) -> Shot:
    """The shot with the lens, stop, turns and focus written into it that nobody gave.

    What a scene or the picture suggests is part of what was made of it, and stands in the file to
    be changed; what moves between key frames stands there.

    Parameters
    ----------
    prepared : Prepared
        The shot as it was loaded.
    """
    setting = prepared.setting
    used: dict[str, Words] = {"f": spell_f_number(setting.f_number).removeprefix("f/")}
    if shot.lens.lens_file is None:
        used = {"lens": f"{setting.focal_mm:.6g}", **used}
    turns = (
        ("tilt", "tilt", setting.tilt_deg),
        ("swing", "swing", setting.swing_deg),
        ("rise", "rise", setting.rise_mm),
        ("shift", "lateral", setting.lateral_mm),
    )
    used |= {name: spell_direction(kind, value) for name, kind, value in turns if value}
    used["focus"] = _suggested_name(prepared) or focus_words(setting, prepared)
    said = {name for name, _ in shot.written}
    said |= {name for key in shot.key_frames for name, _ in key.given}
    left_open = {name: words for name, words in used.items() if name not in said}
    return merged(shot, left_open, "{name}")


def _suggested_name(prepared: Prepared) -> str:
    """What a scene suggests to focus on, if that is what is focused on."""
    focus, things = prepared.setting.focus, prepared.things or {}
    name = prepared.description.suggested.focus_on if prepared.description else ""
    if not (name and name in things and isinstance(focus, FocusSpot)):
        return ""
    x, y, z = things[name]
    aside = math.dist((x / z, y / z), (focus.slope_x, focus.slope_y))
    return name if math.isclose(z, focus.depth_m) and aside < 1e-6 else ""


def focus_words(wanted: LensSetting, prepared: Prepared) -> str:
    """The focus of a setting as a shot says it: a spot where the picture has that depth there."""
    match wanted.focus:
        case FocusSpot(slope_x, slope_y, depth_m):
            camera, counted = prepared.scene.camera, counted_in(prepared)
            x, y = (float(place) for place in camera.positions((slope_x, slope_y)))
            if 0 <= x - counted.left < counted.width and 0 <= y - counted.top < counted.height:
                there = float(prepared.scene.depth_m[int(y), int(x)])
                if there == depth_m or abs(there / depth_m - 1) < _SAME_DEPTH:
                    return spot_words(prepared, x, y)
        case FocusDistance(depth_m):
            return "infinity" if math.isinf(depth_m) else f"{depth_m:.6g} m"
        case FocusExtension(extension_mm):
            return extension_words(extension_mm, wanted.focal_mm)
    return extension_words(focus_lens(wanted).extension_mm, wanted.focal_mm)


def advised_values(advice: Advice, prepared: Prepared) -> dict[str, str | None]:
    """Values of a shot that follow a line of advice; empty where none can.

    A scene's camera is put elsewhere by them; a photo keeps its height and pitch.
    """
    values = setting_values(advice.setting, prepared) if advice.setting else {}
    if advice.vantage is None:
        return values if _can_be(values, prepared) else {}
    if not prepared.shot.scene:
        return {}
    return {**_vantage_values(advice.vantage, prepared.scene.vantage), **values}


def _vantage_values(wanted: Vantage, now: Vantage | None) -> dict[str, str | None]:
    """Values that put a scene's camera there; one that is lifted would else look where it did."""
    values: dict[str, str | None] = {}
    lifted = now is None or wanted.height_m != now.height_m
    if lifted:
        values["height"] = f"{wanted.height_m:.4g} m"
    if lifted or now is None or wanted.pitch_deg != now.pitch_deg:
        values["pitch"] = spell_direction("tilt", round(wanted.pitch_deg, 1))
    return values


def _can_be(values: dict[str, str | None], prepared: Prepared) -> bool:
    """Whether the planned frame is still all in the picture; a scene is traced as wide as need be.

    Where it is not, the line was judged on a part of the frame and cannot be applied as it stands.
    """
    if prepared.shot.scene:
        return True
    given: dict[str, Words] = {name: text for name, text in values.items() if text is not None}
    try:
        planned_on(merged(prepared.shot, given, "{name}"), prepared.scene)
    except HingelineError:
        return False
    return True


def options_line(
    values: dict[str, str | None], prepared: Prepared, lead: str = "As options"
) -> str:
    """As `option_words`, led in, and with what a spot is a share of where that is not the frame.

    Empty where there is nothing to type.
    """
    if not values:
        return ""
    frame, counted = prepared.scene.frame, counted_in(prepared)
    part = (frame.width, frame.height) != (counted.width, counted.height)
    spot = part and "%" in (values.get("focus") or "")
    of = " (--focus in shares of the whole picture)" if spot else ""
    return f"{lead}{of}: {option_words(values)}"


def option_words(values: dict[str, str | None]) -> str:
    """The same as options to type, --tilt "up 8" --f 4; 0 takes a turn or a shift away."""
    return " ".join(
        f"--{name} {shell_word(text if text is not None else '0')}" for name, text in values.items()
    )
