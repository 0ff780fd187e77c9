"""One place under several settings: what a sheet varies, and each of its cells loaded."""

import math
from collections.abc import Collection, Iterator
from dataclasses import replace
from datetime import datetime
from typing import Any

import numpy as np

from render.errors import FrameError, InputError, LensError, SettingError
from render.load.depths.near import near_outside
from render.load.depths.surveyed import EYE_M, relief
from render.load.lens import limits_of
from render.load.named import focus_found, focus_unseen, named_things
from render.load.plan import USUAL_F_NUMBER, Plan, planned_on
from render.load.prepare import focus_words, prepare
from render.load.prepared import Prepared
from render.load.progress import Progress
from render.load.scenes import open_words
from render.load.taken import resting_on
from render.load.vantages import above_ground_m
from render.optics.exposure import WHOLE_STOPS
from render.optics.framing import widest_focal_mm
from render.optics.solving.limits import usual_limits
from render.optics.terrain import meets_ground, over_ground_m, rise_m
from render.scene.scene import Scene
from render.shot.axes import Axis, varied
from render.shot.shot import Shot, shot_keys
from render.shot.things import ThingName
from render.typed import parse_height_m
from render.words import spell_direction
from render.world.day import moments

__all__ = ["KINDS", "axes_of", "turned", "turns_only", "variants"]

#: The ready-made sheets and their titles.
KINDS = {
    "stops": "Stop sheet",
    "grid": "Setting grid",
    "focus": "Focus sheet",
    "lenses": "Lens sheet",
    "vantages": "Vantage strip",
    "day": "Day strip",
}
_LAST_STOP = 16.0
_ONE_STOP = 0.03  # marked f-numbers as near as that are one and the same
_GRID_STOPS = 4
_LENSES_MM = (17, 20, 24, 28, 35, 45, 50, 60, 70, 85, 90, 100, 120, 135, 150, 180)
#: A demo scene can be seen through any lens.
_SCENE_LENSES_MM = ("24", "35", "45", "60", "90", "135")
_STOREYS = ("1 storey", "2 storeys", "3 storeys", "4 storeys", "8 storeys", "16 storeys")
_WIDE_ENOUGH_M = 6.0  # a car and something beside it (ours)
_TRIED = 400  # places between the subject and where the scene has him
_LOOK_DEG = 20.0  # from here on people look down on models (`render.judge.weights`)
#: Where a focus sheet aims down the middle of the planned frame, beside what is named.
_FOCUS_ROWS, _AIMS = (0.40, 0.55, 0.70, 0.85), 4
_USUAL_TILT_DEG, _MOMENTS = 8.0, 6
_NEXT_STOP, _SAME_STOP = 1.1, 1.03  # less than a third of a stop (1.12) apart is one; marks round
#: What of the lens a scene suggests, by its option.
_SUGGESTED = {
    "lens": "focal_mm", "f": "f_number", "tilt": "tilt_deg", "swing": "swing_deg",
    "rise": "rise_mm", "shift": "lateral_mm",
}  # fmt: skip
#: What may be turned on a demo scene without tracing it anew.
_TURNED = {"f", "tilt", "swing", "focus", "blades", "blade-turn", "roundness", "cats-eye", "coc"}


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
            tilt = abs(shot.lens.tilt_deg or _most_tilt(shot))
            tilts = tuple(spell_direction("tilt", t) for t in (-tilt, -tilt / 2, 0, tilt / 2, tilt))
            return Axis("tilt", tilts), Axis("f", _stops_of_grid(shot))
        case "focus":
            return (Axis("focus", _aims(shot, scene)),)
        case "lenses":
            return (Axis("lens", _lenses(shot, scene)),)
        case "vantages":
            if not shot.scene and not _climbs(shot):
                raise InputError(
                    "a vantage strip needs a demo scene, or a --survey with --survey-from "
                    "'EAST,NORTH' and --survey-heading: a picture was taken from one place only"
                )
            if shot.on_map:
                from render.load.maps.mapscene import (
                    climbing_heights,
                )  # compiled kernels: only when wanted

                return (Axis("height", climbing_heights(shot, _STOREYS)),)
            return (Axis("height", _STOREYS, _held_on_subject(shot, scene)),)
        case "day":
            return (Axis("when", _hours(shot)),)
    raise SettingError(f'"{kind}" is no sheet: write one of {", ".join(KINDS)}')


def _held_on_subject(shot: Shot, scene: Scene) -> tuple[dict[str, str], ...]:
    """What a person does who climbs: keep the subject in the frame, and stand near if low.

    The subject is where the middle of the frame meets the ground. In a demo scene he stands where
    it lies 20 degrees below eye level, at most as far off as the scene has him and not so near
    that the frame is less than 6 m wide there; the camera is aimed at it. Over a survey he cannot
    move, so he pitches, unless he stands on the ground, where the middle of the frame is no
    subject. Nothing where the shot says its own distance or pitch, or where nobody
    knows.
    """
    vantage = scene.vantage
    said = {name for name, _ in shot.written} & {"distance", "pitch", "horizon"}
    if vantage is None or vantage.pitch_deg <= 0 or (shot.scene and said):
        return ()
    middle = np.zeros((1, 2))
    away_m = float(over_ground_m(vantage, middle, meets_ground(vantage, middle))[0])
    if not math.isfinite(away_m):
        return ()
    heights = [parse_height_m(storeys) for storeys in _STOREYS]
    subject_m = float(rise_m(vantage, 0.0, away_m))
    if shot.scene:
        camera = scene.frame_camera
        least_m = _WIDE_ENOUGH_M * camera.focal_px / camera.width_px
        nearest = np.geomspace(away_m, min(least_m, away_m), _TRIED)
        floor = rise_m(vantage, 0.0, away_m - nearest) - subject_m
        steep = [(height + floor) / nearest for height in heights]
        enough = [fall >= math.tan(math.radians(_LOOK_DEG)) for fall in steep]
        chosen = [
            nearest[np.argmax(far if far.any() else fall)]
            for far, fall in zip(enough, steep, strict=True)
        ]
        return tuple({"distance": f"{near:.3g}"} for near in chosen)
    if vantage.height_m < heights[0]:  # a person looks at the feet, not at a subject
        return ()
    roof_m = vantage.height_m - (above_ground_m(shot.vantage) or EYE_M)  # heights count from it
    down = [math.degrees(math.atan2(roof_m + h - subject_m, away_m)) for h in heights]
    return tuple({"pitch": f"{pitch:.2f}"} for pitch in down)


def _aims(shot: Shot, scene: Scene) -> tuple[str, ...]:
    """What a focus sheet is sharp on: the things named, then rows of the planned frame.

    As a focus is written: in shares of the whole picture, of a demo scene's frame.
    """
    named = [
        wish.where.name if isinstance(wish.where, ThingName) else wish.where.words
        for wish in shot.lens.checks
        if isinstance(wish.where, ThingName) or not wish.where.is_beside
    ]
    frame, camera = scene.frame, scene.camera
    if shot.scene:
        rows = [f"50%,{100 * row:.0f}%" for row in _FOCUS_ROWS]
    else:
        across = 100 * (frame.left + frame.width / 2) / camera.width_px
        rows = [
            f"{across:.3g}%,{100 * (frame.top + row * frame.height) / camera.height_px:.3g}%"
            for row in _FOCUS_ROWS
        ]
    return tuple(dict.fromkeys([*named, *rows[: max(1, _AIMS - len(named))]]))


def _climbs(shot: Shot) -> bool:
    """Whether a survey shows the place from other heights too."""
    keys = shot.depth
    return bool(
        keys.survey and len(keys.survey_from or ()) == 2 and keys.survey_heading_deg is not None
    )


def variants(
    shot: Shot,
    base: Prepared,
    axes: tuple[Axis, ...],
    progress: Progress,
    *,
    for_render: bool,
    numbers: Collection[int] | None = None,
) -> Iterator[tuple[tuple[str, ...], Prepared]]:
    """Yield each cell's values and what it is rendered from, or judged by.

    Where only the lens is turned, cells are planned on the scene that was loaded; a demo scene
    is traced again where its frame changes, a picture read again where its depth does.

    Parameters
    ----------
    numbers : collection of int or None
        Of the cells that are wanted, counted from 0 in reading order; all where None.
    """
    names = {axis.name for axis in axes}
    if turns_only(shot, names):
        for number, (values, other) in enumerate(varied(base.shot, axes)):
            if numbers is None or number in numbers:
                yield values, turned(base, other)
        return
    for number, (values, other) in enumerate(varied(shot, axes)):
        if numbers is not None and number not in numbers:
            continue
        prepared = prepare(other, progress, for_render=for_render, held=True, like=base)
        unseen = shot.depth.survey and names & {"height", "pitch", "horizon"}
        yield values, _as_relief(prepared) if unseen else prepared


def turns_only(shot: Shot, names: Collection[str]) -> bool:
    """Whether values of these names turn the lens alone, so that nothing is loaded again."""
    if shot.scene:
        return set(names) <= _TURNED
    return all(shot_keys()[name].table in ("lens", "camera") for name in names)


def turned(base: Prepared, shot: Shot) -> Prepared:
    """The same place as a shot with another lens or camera setting takes it.

    Raises
    ------
    SettingError
        If the setting cannot be, or its frame is not all in the picture.
    """
    with resting_on(base.guesses):
        scene, planned = _planned(base, shot)
    named, unseen = named_things(shot, scene, base.things)
    refocused = shot.lens.focus != base.shot.lens.focus
    return replace(
        base,
        shot=shot,
        scene=scene,
        setting=planned.setting,
        sensor=planned.sensor,
        limits=planned.limits,
        named=named,
        assumed=replace(
            base.assumed,
            left_open=_left_open(base, shot),
            unfocused=() if refocused else base.assumed.unfocused,
            lens=(
                *planned.notes,
                *(focus_words(planned.setting, base.unsaid) if shot.picture else ()),
                *near_outside(shot.depth, scene, base.near),
                *focus_unseen(shot.lens.focus, scene, planned.setting),
                *unseen,
            ),
        ),
    )


def _left_open(base: Prepared, shot: Shot) -> tuple[str, ...]:
    """What of the lens is still given by nobody, where the shot gives more than the base does."""
    written = {name for name, _ in shot.written}
    if not base.assumed.left_open or written <= {name for name, _ in base.shot.written}:
        return base.assumed.left_open
    given: dict[str, Any] = {key: None for name, key in _SUGGESTED.items() if name not in written}
    return tuple(open_words(replace(shot, lens=replace(shot.lens, **given)), shot.lens))


def _planned(base: Prepared, shot: Shot) -> tuple[Scene, Plan]:
    if base.things is not None:
        shot = focus_found(shot, base.scene, base.things)
    return planned_on(shot, base.scene)


def _as_relief(prepared: Prepared) -> Prepared:
    """A survey seen from where no picture was taken: its shape alone."""
    scene = prepared.scene
    seen = replace(scene, picture=relief(scene.depth_m, scene.camera))
    note = "no picture was taken from these places: the survey's shape is shown, lit evenly"
    return replace(prepared, scene=seen, file=None, assumed=prepared.assumed.led_by([note]))


def _hours(shot: Shot) -> tuple[str, ...]:
    """Six moments of the light day at a map's place, the shot's own in place of the nearest."""
    keys = shot.place
    if not shot.on_map or keys.at_deg is None or keys.when is None:
        raise InputError(
            "a day strip needs a map file with --at, and the day with --when "
            "'2026-06-21T12:00+02:00': only a map knows where the shadows fall"
        )
    try:
        found = moments(keys.when, *keys.at_deg, _MOMENTS)
    except InputError as error:
        raise SettingError(f"--when: {error}") from None
    own = datetime.fromisoformat(keys.when)
    nearest = min(range(len(found)), key=lambda k: abs(found[k] - own))
    hours = [own if k == nearest else moment for k, moment in enumerate(found)]
    return tuple(moment.isoformat(timespec="minutes") for moment in hours)


def _most_tilt(shot: Shot) -> float:
    limits = limits_of(shot)
    return _USUAL_TILT_DEG if limits is None else min(_USUAL_TILT_DEG, limits.tilt_limit_deg)


def _stops(shot: Shot) -> tuple[str, ...]:
    """Whole stops from the lens's widest to f/16 or its last, and the shot's own among them.

    So two sheets of one lens hold the same stops, whatever the shot is planned at. Where things
    must be sharp they go on to the lens's last, which those may need.
    """
    limits, own = limits_of(shot), shot.lens.f_number
    widest = limits.widest_f_number if limits else min(USUAL_F_NUMBER, own or USUAL_F_NUMBER)
    last = (limits or usual_limits(1.0)).smallest_f_number
    if not shot.lens.checks:
        last = min(last, _LAST_STOP)
    stops = [widest, *(n for n in WHOLE_STOPS if _NEXT_STOP * widest < n <= _SAME_STOP * last)]
    if own is not None:
        stops = sorted({own, *(n for n in stops if abs(math.log(n / own)) > _ONE_STOP)})
    return tuple(f"{n:g}" for n in stops)


def _stops_of_grid(shot: Shot) -> tuple[str, ...]:
    """Four stops from wide open, or those up to the shot's own."""
    stops, own = _stops(shot), shot.lens.f_number
    at = stops.index(f"{own:g}") if own is not None else 0
    first = max(0, at + 1 - _GRID_STOPS)
    return stops[first : first + _GRID_STOPS]


def _lenses(shot: Shot, scene: Scene) -> tuple[str, ...]:
    if shot.lens.lens_file:
        raise LensError("a lens sheet compares focal lengths: leave --lens-file out")
    if shot.scene:
        return _SCENE_LENSES_MM
    sensor = planned_on(shot, scene)[1].sensor
    widest = widest_focal_mm(scene.camera, sensor)
    fitting = [f for f in _LENSES_MM if f >= widest]
    if not fitting:
        raise FrameError(
            f"no usual lens is long enough for this picture (the widest is {widest:.0f} mm): "
            "give focal lengths with --across lens=200,300"
        )
    step = max(1, math.ceil(len(fitting) / 6))
    return tuple(f"{f}" for f in fitting[::step])
