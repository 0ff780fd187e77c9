"""Demo scenes: listed, shown, and prepared for a lens setting like a photo."""

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Any, cast

import numpy as np
from numpy.typing import NDArray

from render.errors import InputError, SettingError
from render.files.memory import check_memory
from render.files.shipped import read_scene_table, shipped_names
from render.load.compiled import say_compiling
from render.load.lens import limits_of, suggestion_inside
from render.load.named import focus_unseen, named_things, names_in_file, refuse_unknown
from render.load.plan import NO_FOCUS, Plan, plan
from render.load.prepared import Notes, Prepared
from render.load.progress import Progress
from render.load.vantages import above_ground_m
from render.optics.blur import BlurField, blur_field
from render.optics.camera import Camera, Sensor
from render.optics.lens import FocusSpot, LensSetting
from render.optics.plane import focus_lens
from render.optics.solving.limits import LensLimits
from render.shot.bare import bare_words
from render.shot.belonging import refuse_strange
from render.shot.declaring import PictureSpot
from render.shot.shot import LensKeys, Shot
from render.shot.things import ThingName
from render.trace.aim import ThingsSeen, in_camera, margin_for, spot_at, spot_on, thing_spot
from render.trace.build import Built
from render.trace.builds import built_scene, described
from render.trace.exact import trace_exact
from render.trace.quarters import PARTED_UP_TO_PX
from render.trace.trace import OneLens, View, trace_built, view_of
from render.typed import parse_direction
from render.words import focal_words, length_words, pitch_words, spell_f_number, tilt_words
from render.world.description import Description
from render.world.night import light_words
from render.world.placing import PLACING
from render.world.things import load_kinds
from render.world.things.kind import KINDS

__all__ = [
    "USUAL_WIDTH_PX",
    "SceneLine",
    "describe_scene",
    "list_scenes",
    "load_scene",
    "one_lens",
    "prepare_scene",
    "scene_of",
    "stance_of",
    "stands_words",
    "trace_through_lens",
    "words",
]

#: Of a scene's picture where nobody says, px.
USUAL_WIDTH_PX = 1280
#: Memory of tracing and rendering per pixel, margin included; more where quarters are kept.
_BYTES_PER_PIXEL, _BYTES_OF_QUARTERS = 230, 400


@dataclass(frozen=True, slots=True)
class SceneLine:
    """A scene's name and what it shows."""

    name: str
    line: str


def list_scenes() -> tuple[SceneLine, ...]:
    """Every shipped scene with its line."""
    return tuple(
        SceneLine(name, str(read_scene_table(name)[1].get("line", ""))) for name in shipped_names()
    )


def load_scene(source: str) -> Description:
    """The description of a shipped scene, or of a scene file (.toml)."""
    return described(*read_scene_table(source))


def scene_of(shot: Shot) -> Description:
    """The scene that a shot names, from a map file as its vantage asks."""
    if shot.on_map:
        from render.load.maps.mapscene import map_description

        return map_description(shot)
    return load_scene(str(shot.scene))


def prepare_scene(
    shot: Shot,
    progress: Progress,
    *,
    samples: int = 16,
    behind: bool = True,
    held: bool = False,
    built: Built | None = None,
    description: Description | None = None,
) -> Prepared:
    """Trace the scene that a shot names as its planned lens needs it.

    What the shot leaves open follows the scene file: vantage, lens, tilt, what is sharp.

    Parameters
    ----------
    samples : int
        Samples a pixel where surfaces meet.
    behind : bool
        Also trace what lies behind depth edges.
    held : bool
        Trace only what this very setting can show: behind edges where it looks, finely where it
        is sharp. No other setting may then be rendered from it.
    built : Built or None
        The scene, if it was built already at the shot's time.
    description : Description or None
        What its file says, if that was read already.

    Raises
    ------
    InputError, SettingError
        If the scene cannot be read, or the camera cannot stand there.
    """
    refuse_strange(shot)
    say_compiling(progress, "trace")
    progress(f"building {shot.scene}", 0.02)
    description = description or scene_of(shot)
    if (names := names_in_file(description)) is not None:
        refuse_unknown(shot, names)
    stage = _staged(shot, description, built)
    view, planned = stage.view, stage.planned
    only = one_lens(planned.setting, view.camera()) if behind and held else None
    _check_memory(view, fine=only is not None)
    progress("tracing the scene", 0.08)
    scene = trace_built(
        description,
        stage.built,
        view,
        samples=samples,
        behind_px=view.margin_px if behind else 0,
        only=only,
    )
    things = ThingsSeen(stage.built, view)
    scene = planned.laid_over(scene)
    named, unseen = named_things(stage.shot, scene, things)
    return Prepared(
        shot=stage.shot,
        scene=scene,
        setting=planned.setting,
        sensor=planned.sensor,
        file=None,
        depth_how=f"known exactly, also {'behind edges and ' if behind else ''}outside the frame",
        limits=planned.limits,
        named=named,
        things=things,
        assumed=Notes(
            place=(
                *bare_words(shot),
                *_stands(stage.shot, description, view, stage.built),
                *light_words(description.light, description.things),
            ),
            left_open=stage.left_open,
            unfocused=stage.unfocused,
            lens=(
                *planned.notes,
                *focus_unseen(shot.lens.focus, scene, planned.setting),
                *unseen,
            ),
        ),
        credit=description.credit,
        description=description,
        view=view,
        built=stage.built,
        map_record=_map_record(stage.shot),
    )


@dataclass(frozen=True, slots=True, eq=False)
class _Stage:
    """A scene built for a shot, and the view to trace of it.

    Attributes
    ----------
    shot : Shot
        With what the scene suggests in the places of what it leaves open.
    left_open, unfocused : tuple of str
        As of `render.load.prepared.Notes`.
    """

    shot: Shot
    built: Built
    view: View
    planned: Plan
    left_open: tuple[str, ...]
    unfocused: tuple[str, ...]


def _staged(shot: Shot, description: Description, built: Built | None) -> _Stage:
    """Build the scene, fill what the shot leaves open, and plan its frame; errors as above."""
    keys = _suggested(description, shot.lens, limits_of(shot))
    left_open = tuple(open_words(shot, keys))
    view = _view(description, shot, keys)
    built = built or built_scene(description, shot.demo.time_s or 0.0)
    refuse_unknown(shot, built.spots)
    focus, how_sharp = _focus(shot, description, built, view)
    shot = replace(
        shot,
        lens=replace(keys, focus=focus),
        camera=replace(
            shot.camera,
            sensor_mm=(view.sensor.width_mm, view.sensor.height_mm),
            portrait=view.sensor.height_mm > view.sensor.width_mm,
        ),
    )
    planned = plan(shot, replace(view, margin_px=view.width_px // 4).camera(), _no_depth)
    view = _refocused(view, planned.setting)
    view = replace(view, margin_px=margin_for(built, view, planned.setting))
    return _Stage(shot, built, view, planned, left_open, tuple(how_sharp))


def _check_memory(view: View, *, fine: bool) -> None:
    """Refuse a picture that memory cannot hold; parted into quarters, where it is fine enough."""
    width, height = view.width_px + 2 * view.margin_px, view.height_px + 2 * view.margin_px
    parted = fine and width * height <= PARTED_UP_TO_PX
    check_memory(
        f"a picture of {view.width_px} x {view.height_px} px with its margin",
        width * height * (_BYTES_PER_PIXEL + (_BYTES_OF_QUARTERS if parted else 0)),
        "make it smaller with --width",
    )


def one_lens(setting: LensSetting, camera: Camera) -> OneLens:
    """What this setting shows of a traced depth."""
    from render.engine.holes import looks_behind  # compiled kernels: only when wanted

    def field(depth_m: NDArray[np.float32]) -> BlurField:
        return blur_field(focus_lens(setting), camera, depth_m)

    return OneLens(
        lambda depth_m: looks_behind(field(depth_m)),
        lambda depth_m: np.abs(field(depth_m).radius_px()),
    )


def _stands(shot: Shot, description: Description, view: View, built: Built) -> list[str]:
    looks = f"looking {pitch_words(view.pitch_deg)}, heading {view.heading_deg:.0f}°"
    if shot.on_map:
        from render.load.maps.mapscene import stands_words
        from render.load.maps.ownroof import own_roof_words

        where, *more = stands_words(shot, view.height_m)
        return [f"{where}, {looks}", *own_roof_words(shot, built, view), *more]
    return [
        f"the camera stands {length_words(view.height_m)} above the ground of the scene "
        f'"{description.name}", {looks}'
    ]


def stands_words(prepared: Prepared) -> tuple[str, ...]:
    """Where a prepared scene's camera stands, how it looks, and through which lens."""
    built, view = _walked(prepared)
    stands = _stands(prepared.shot, cast("Description", prepared.description), view, built)
    return (*stands, f"framed by a {focal_words(prepared.setting.focal_mm)} lens")


def _map_record(shot: Shot) -> dict[str, Any]:
    if not shot.on_map:
        return {}
    from render.load.maps.mapscene import map_record

    return map_record(shot)


def trace_through_lens(prepared: Prepared, samples: int) -> NDArray[np.float32]:
    """Trace a prepared scene through the tilted lens itself, `samples` rays a pixel."""
    built, view = _walked(prepared)
    return trace_exact(built, replace(view, margin_px=0), prepared.setting, samples=samples)


def stance_of(prepared: Prepared) -> tuple[float, float]:
    """Compass heading (degrees) of a scene's camera, and its level distance (m) to the subject."""
    _, view = _walked(prepared)
    subject = cast("Description", prepared.description).vantage.look_at_m
    away = math.hypot(subject[0] - view.at_m[0], subject[1] - view.at_m[1])
    return view.heading_deg, away


def _walked(prepared: Prepared) -> tuple[Built, View]:
    assert prepared.built is not None, "a photo was taken for a scene"
    assert prepared.view is not None, "a photo was taken for a scene"
    return prepared.built, prepared.view


def describe_scene(source: str) -> tuple[str, ...]:
    """What a scene shows, where its camera stands, what is suggested and what can be named."""
    d = load_scene(source)
    built = built_scene(d)
    v, s = d.vantage, d.suggested
    named = ", ".join(sorted(built.spots)) or "none"
    return (
        f"{d.name}: {d.line}",
        f"Vantage: {length_words(v.height_m)} above the ground, {focal_words(v.focal_mm)}",
        f"Suggested: f/{s.f_number:g}, tilt {s.tilt}, swing {s.swing}, sharp on "
        f"{s.focus_on or 'the middle of the frame'}",
        f"Things with names, to focus on: {named}",
        f"{len(built.world.tri)} triangles in {len(built.names)} shapes placed",
    )


def words(kind: str | None) -> tuple[str, ...]:
    """The words of a scene file: all kinds of things, or every key of one."""
    load_kinds()
    if kind is None:
        every = [f"{name}: {KINDS[name].line}" for name in sorted(KINDS)]
        return (*every, "Every thing also knows:", *(f"  {k}: {v}" for k, v in PLACING.items()))
    if kind not in KINDS:
        raise InputError(f'"{kind}" is not a kind of thing; kinds: {", ".join(sorted(KINDS))}')
    found = KINDS[kind]
    keys = [
        f"  {key}: {word.line}; {word.allowed} ({_shown(word.start)} if left out)"
        for key, word in found.words.items()
    ]
    stuff = [
        f'  {slot}: material or "#rrggbb" ({start} if left out)'
        for slot, start in found.stuff.items()
    ]
    return (f"{kind}: {found.line}", *keys, *stuff)


def _shown(value: Any) -> str:
    return str(list(value)) if isinstance(value, tuple) else str(value)


def _suggested(description: Description, keys: LensKeys, limits: LensLimits | None) -> LensKeys:
    """Fill what the shot leaves open with the scene's own suggestion."""
    s = description.suggested
    starts: dict[str, Callable[[], float]] = {
        "focal_mm": lambda: limits.focal_mm if limits else description.vantage.focal_mm,
        "f_number": lambda: s.f_number,
        "tilt_deg": lambda: parse_direction("tilt", s.tilt),
        "swing_deg": lambda: parse_direction("swing", s.swing),
        "rise_mm": lambda: parse_direction("rise", s.rise) or description.vantage.rise_mm,
        "lateral_mm": lambda: parse_direction("lateral", s.lateral),
    }
    try:
        filled = {name: start() for name, start in starts.items() if getattr(keys, name) is None}
    except SettingError as error:
        raise InputError(f"{description.name}, [setting]: {error}") from None
    filled_keys = replace(keys, **filled)  # type: ignore[arg-type]
    if limits is not None:
        filled_keys = suggestion_inside(filled_keys, keys, limits)
    return filled_keys


def open_words(shot: Shot, used: LensKeys) -> list[str]:
    """What of the lens nobody gave.

    Parameters
    ----------
    used : LensKeys
        With what the scene suggests in the places of what the shot leaves open.
    """
    if shot.on_map:
        return _map_lens_words(shot.lens, used)
    given = shot.lens
    names = {"focal_mm": "lens", "f_number": "f-number", "tilt_deg": "tilt", "swing_deg": "swing"}
    names |= {"rise_mm": "rise", "lateral_mm": "lateral"}
    if given.lens_file is not None:
        del names["focal_mm"]
    moved = {
        "f-number" if name == "f" else name for key in shot.key_frames for name, _ in key.given
    }
    missed = [
        word
        for name, word in names.items()
        if getattr(given, name) is None and getattr(used, name) and word not in moved
    ]  # 0 needs no word
    return [f"not given, as the scene suggests: {', '.join(missed)}"] if missed else []


def _map_lens_words(given: LensKeys, used: LensKeys) -> list[str]:
    """What of the lens nobody gave; a map suggests nothing."""
    named = given.focal_mm is not None or given.lens_file is not None
    left = None if named else used.focal_mm
    words = [] if left is None else [f"no lens was named: {focal_words(left)}"]
    if given.f_number is None and used.f_number is not None:
        words.append(f"no f-number was given: {spell_f_number(used.f_number)}")
    if given.tilt_deg is None and used.tilt_deg:
        words.append(f"no tilt was given: {tilt_words(used.tilt_deg)}")
    return words


def _view(description: Description, shot: Shot, keys: LensKeys) -> View:
    placed = shot.on_map  # its description stands and looks as the shot says
    return view_of(
        description,
        height_m=None if placed else above_ground_m(shot.vantage),
        pitch_deg=shot.vantage.pitch_deg,
        heading_deg=None if placed else shot.demo.heading_deg,
        distance_m=shot.demo.distance_m,
        focal_mm=keys.focal_mm,
        sensor=Sensor(*shot.camera.sensor_mm) if shot.camera.sensor_mm else None,
        portrait=shot.camera.portrait,
        width_px=shot.demo.width_px or USUAL_WIDTH_PX,
        rise_mm=keys.rise_mm,
        lateral_mm=keys.lateral_mm or 0.0,
    )


def _focus(shot: Shot, description: Description, built: Built, view: View) -> tuple[Any, list[str]]:
    """What is sharp, as a ray and a depth."""
    wish = shot.lens.focus
    if isinstance(wish, PictureSpot):
        x = wish.x * view.width_px if wish.x_is_share else wish.x
        y = wish.y * view.height_px if wish.y_is_share else wish.y
        if not (0 <= x <= view.width_px and 0 <= y <= view.height_px):
            raise SettingError(
                f"the focus spot {x:.0f}, {y:.0f} lies outside the picture of {view.width_px} x "
                f"{view.height_px} px: choose a spot inside"
            )
        return spot_at(built, view, x, y), []
    if isinstance(wish, ThingName):
        return thing_spot(built, view, wish.name), []
    if wish is not None:
        return wish, []
    s = description.suggested
    if s.focus_at_m:
        return spot_on(view, s.focus_at_m, "focus_at_m"), []  # type: ignore[arg-type]
    if s.focus_on:
        if s.focus_on not in built.spots:
            raise InputError(
                f'{description.name}, [setting] focus_on = "{s.focus_on}": name one of '
                f"{', '.join(sorted(built.spots))}"
            )
        ahead = in_camera(view, built.spots[s.focus_on])[2] > 0
        if ahead:
            spot = thing_spot(built, view, s.focus_on)
            if _in_frame(view, spot):
                return spot, [
                    f"{NO_FOCUS}: the {s.focus_on}, {length_words(spot.depth_m)} along the axis"
                ]
        middle = spot_at(built, view, view.width_px / 2, view.height_px / 2)
        return middle, [
            f"{NO_FOCUS}, and the {s.focus_on} is not in the frame: the middle of the frame"
        ]
    if shot.on_map:
        from render.load.maps.ownroof import focus_beyond

        spot, note = focus_beyond(shot, built, view)
        return spot, [note]
    spot = spot_at(built, view, view.width_px / 2, view.height_px / 2)
    return spot, [f"{NO_FOCUS}: the middle of the frame"]


def _in_frame(view: View, spot: FocusSpot) -> bool:
    return view.camera().cropped(view.window).shows(spot.slope_x, spot.slope_y)


def _no_depth(row: int, column: int) -> float:
    """A scene's focus is a ray with its depth, or a distance, before it is planned."""
    raise AssertionError(f"the depth of row {row}, column {column} was asked for before tracing")


def _refocused(view: View, setting: LensSetting) -> View:
    """The view with its shift as this extension shows it: ``shift / extension``, not / focal."""
    share = setting.focal_mm / focus_lens(setting).extension_mm
    return replace(view, rise_mm=view.rise_mm * share, lateral_mm=view.lateral_mm * share)
