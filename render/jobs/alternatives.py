"""The other settings on a board: read, or thought of, and planned on the same picture."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from render.errors import SettingError
from render.load.case import case_of
from render.load.named import focus_found
from render.load.plan import planned_on
from render.load.prepared import Prepared
from render.optics.camera import Sensor
from render.optics.lens import Focus, FocusDistance, FocusExtension, FocusSpot, LensSetting
from render.optics.plane import focus_lens
from render.optics.solving.solve import best_plane
from render.optics.solving.targets import Freedom, Target
from render.plan.tolerance import focus_anew
from render.scene.field import frame_field
from render.scene.resize import resized
from render.scene.scene import Scene
from render.sheets.client_words import alternative_words
from render.sheets.drawing.lettering import checked_text
from render.shot.axes import parse_axis
from render.shot.shot import Shot, merged, shot_keys
from render.tell.setting_values import focus_words
from render.tell.summary import lens_words
from render.words import length_words, marked_f_number, spell_direction, spell_f_number

__all__ = ["Alternative", "alternatives_of", "planned_words", "read_alternative", "usual_others"]

#: A look whether anything blurs, and the share of the picture that must not.
_LOOKED_AT_PX, _NEARLY_ALL = 320, 0.98
#: So many alternatives where nobody asks for others.
_USUAL = 2
_SAME_MM = 0.05  # sensors as alike are one


@dataclass(frozen=True, slots=True, eq=False)
class Alternative:
    """Another setting on the same picture.

    Attributes
    ----------
    caption : str
        What it is to a client: "Calmer: more of the place is sharp".
    words : str
        Its lens in one phrase, with what else tells it from the main setting.
    scene : Scene
        With its own frame.
    setting : LensSetting
    refocused : bool
        Whether `words` say where it is focused, which is elsewhere.
    """

    caption: str
    words: str
    scene: Scene
    setting: LensSetting
    refocused: bool


def read_alternative(text: str) -> tuple[str | None, dict[str, str]]:
    """Read "Calmer: f=5.6; tilt=up 4" into a caption, or None, and values by name."""
    caption, colon, rest = text.partition(":")
    if not colon or "=" in caption:
        caption, rest = "", text
    given = {}
    for part in rest.split(";"):
        axis = parse_axis(part)
        given[axis.name] = part.partition("=")[2].strip()
        if shot_keys()[axis.name].table not in ("lens", "camera"):
            raise SettingError(f'alternative "{text}": only lens and sensor may differ on a board')
    return (checked_text(caption, "the caption") if caption.strip() else None), given


def alternatives_of(
    base: Prepared,
    others: Sequence[tuple[str | None, dict[str, str]]],
    pinned: Sequence[Shot] = (),
) -> tuple[list[Alternative], list[str]]:
    """Return every alternative, and what is to be said.

    Parameters
    ----------
    pinned : sequence of Shot
        Alternatives too: their lens and sensor, at the place of `base`.
    """
    usual = not (others or pinned)
    wanted = [
        (caption, merged(base.shot, dict(given), "--alternative {name}"))
        for caption, given in others or ([] if pinned else usual_others(base))
    ]
    wanted += [(None, _held_there(base.shot, other)) for other in pinned]
    seen = [(base.setting, base.scene.window)]
    phrases = {planned_words(base.setting, focus=True)}
    found: list[Alternative] = []
    told: list[str] = []
    for caption, shot in wanted:
        told += [shot.ring] if shot.ring else []
        if base.things is not None:
            shot = focus_found(shot, base.scene, base.things)
        scene, planned = planned_on(shot, base.scene)
        setting = planned.setting
        if (setting, scene.window) in seen or (usual and _all_sharp(base, scene, setting)):
            told += [] if usual else ["of alternatives that are the same picture one is shown"]
            continue
        if usual and len(seen) > _USUAL:
            break
        seen.append((setting, scene.window))
        refocused = not usual and shot.lens.focus != base.shot.lens.focus
        lens = planned_words(setting, focus=refocused)
        if lens in phrases and (spot := dict(shot.written).get("focus")):
            lens = f"{lens} ({str(spot).replace(',', ', ')})"
        phrases.add(lens)
        words = ", ".join([lens, *_format_words(base.sensor, planned.sensor)])
        shown = [other.setting for other in found]
        caption = caption or alternative_words(base.setting, setting, shown)
        found.append(Alternative(caption, words, scene, setting, refocused))
    return found, list(dict.fromkeys(told))


def planned_words(setting: LensSetting, *, focus: bool) -> str:
    """A lens setting in one phrase; with its focus where that tells it from others."""
    if not focus:
        return lens_words(setting)
    match setting.focus:
        case FocusSpot(_, _, depth_m) | FocusDistance(depth_m):
            return f"{lens_words(setting)}, focus at {length_words(depth_m)}"
        case _:
            on_axis = float(focus_lens(setting).sharp_inverse_depth(np.zeros(2)))
            away_m = 1.0 / on_axis if on_axis > 0 else np.inf
            return f"{lens_words(setting)}, focus at {length_words(away_m)} on the axis"


def _held_there(shot: Shot, other: Shot) -> Shot:
    """Another shot's lens and sensor, at this shot's place."""
    keys = shot_keys()

    def turned(name: str) -> bool:
        return keys[name].table in ("lens", "camera") and not keys[name].many

    written = [(name, text) for name, text in shot.written if not turned(name)]
    theirs = {name: str(text) for name, text in other.written if turned(name)}
    lens = replace(other.lens, checks=shot.lens.checks)
    written += list(theirs.items())
    return replace(shot, lens=lens, camera=other.camera, written=tuple(written), ring="")


def _format_words(sensor: Sensor, other: Sensor) -> list[str]:
    """What of an alternative's sensor or film is another, "24 x 24 mm", or is held otherwise."""
    sides, others = (sorted((s.width_mm, s.height_mm), reverse=True) for s in (sensor, other))
    words = []
    if max(abs(a - b) for a, b in zip(sides, others, strict=True)) > _SAME_MM:
        words.append(f"{others[0]:g} x {others[1]:g} mm")
    upright = other.height_mm > other.width_mm
    if upright != (sensor.height_mm > sensor.width_mm) and others[0] != others[1]:
        words.append("upright" if upright else "lying")
    return words


def usual_others(base: Prepared) -> list[tuple[str | None, dict[str, str]]]:
    """Two stops down, the lens straight, a quarter of its lean: the first two that show more.

    Half the lean is no other picture than two stops down: over level ground blur goes as the sine
    of the lean over the f-number. An extension belongs to its lean: another lean is focused anew on
    what the shot is sharp on, as whoever stands there would; on several things as well as it can
    be, as `hingeline solve` says it of the straight lens.
    """
    setting, limits = base.setting, base.limits
    calm, strong = (marked_f_number(times * setting.f_number) for times in (2.0, 0.5))
    if limits is not None:
        calm, strong = min(calm, limits.smallest_f_number), max(strong, limits.widest_f_number)

    def leaning(share: float) -> dict[str, str]:
        tilt, swing = share * setting.tilt_deg, share * setting.swing_deg
        given = {"tilt": spell_direction("tilt", tilt), "swing": spell_direction("swing", swing)}
        if isinstance(setting.focus, FocusExtension):
            leant = replace(setting, tilt_deg=tilt, swing_deg=swing)
            anew = _between(leant, base.named) or focus_anew(case_of(base), setting, base.named)
            leant = replace(leant, focus=anew)
            given["focus"] = focus_words(leant, base)
        return given

    return [
        (None, {"f": spell_f_number(calm)}),
        (None, leaning(0.0)),
        (None, leaning(0.25)),
        (None, {"f": spell_f_number(strong)}),
    ]


def _between(setting: LensSetting, named: Sequence[Target]) -> Focus | None:
    """The best focus on several things for a lean; None for one, or where there is none."""
    held = Freedom(tilt=False, swing=False, tilt_deg=setting.tilt_deg, swing_deg=setting.swing_deg)
    try:
        best = best_plane(named, setting.focal_mm, held) if len(named) > 1 else None
    except SettingError:
        return None
    return FocusExtension(best.extension_mm) if best else None


def _all_sharp(base: Prepared, scene: Scene, setting: LensSetting) -> bool:
    """Whether a setting blurs nothing: that is the place as it is, which stands there already."""
    small = resized(scene, _LOOKED_AT_PX)
    field = frame_field(small, setting)
    blur_mm = 2.0 * focus_lens(setting).aperture_radius_mm * np.abs(field.defocus)
    return bool(np.quantile(blur_mm, _NEARLY_ALL) <= base.coc_mm)
