"""The planned frame and lens setting that a shot asks for."""

import math
from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from render.errors import SettingError
from render.load.lens import limits_of, through_its_lens
from render.load.named import not_in_a_picture, outside_the_frame, thing_found
from render.load.prepared import Prepared
from render.optics.camera import Camera, Sensor, Window
from render.optics.framing import planned_window, widest_focal_mm
from render.optics.lens import (
    CatsEye,
    Focus,
    FocusDistance,
    FocusExtension,
    FocusSpot,
    Iris,
    LensSetting,
)
from render.optics.plane import carried_extension_mm, focus_lens, lens_axis
from render.optics.solving.holding import hold, reach_words, ring_of
from render.optics.solving.limits import LensLimits, unusual_words
from render.scene.scene import Scene
from render.shot.declaring import PictureSpot
from render.shot.defaults import own_words
from render.shot.dialled import ExtensionOf
from render.shot.shot import RING, FocusWish, LensKeys, Shot
from render.shot.things import ThingName
from render.words import focal_words, length_words, spell_f_number

__all__ = ["NO_FOCUS", "USUAL_F_NUMBER", "DepthAt", "Plan", "focus_on", "plan", "planned_on"]

#: Depth (m) of the pixel in a row and a column.
DepthAt = Callable[[int, int], float]

USUAL_F_NUMBER = 2.8
#: Share by which focal lengths that are said alike may differ.
_SAME_LENS = 0.001
#: What a note of where it is focused without a wish begins with.
NO_FOCUS = "no focus was given"


@dataclass(frozen=True, slots=True)
class Plan:
    """The planned frame and lens setting over a camera's picture.

    Attributes
    ----------
    setting : LensSetting
    sensor : Sensor
        Of the planned camera, as it is held.
    notes : tuple of str
        What was assumed, one sentence each.
    limits : LensLimits or None
        Of the lens that the shot names.
    """

    setting: LensSetting
    sensor: Sensor
    notes: tuple[str, ...]
    limits: LensLimits | None = None

    def laid_over(self, scene: Scene) -> Scene:
        """The scene with the planned frame as its window, its own camera's margin heeded."""
        window = _frame(scene.camera, self.sensor, self.setting)
        if scene.window == window:  # making a scene checks all of its values once more
            return scene
        return replace(scene, window=window)


def plan(shot: Shot, camera: Camera, depth_at: DepthAt) -> Plan:
    """Work out the planned frame and lens setting of a shot.

    Parameters
    ----------
    camera : Camera
        That took the picture, or traces the scene.
    depth_at : callable of row, column
        Depth of a pixel, m; asked only where the focus is a spot.

    Raises
    ------
    SettingError
        If the setting cannot be, on the lens that is named or on any, or the focus spot lies
        outside the picture.
    """
    notes = own_words(shot.own) + ([shot.ring] if shot.ring else [])
    limits = limits_of(shot)
    if limits is not None and shot.lens.f_number is None:
        notes.append(f"no f-number was given: {spell_f_number(limits.widest_f_number)}, wide open")
    shot = through_its_lens(shot, limits)
    sensor = Sensor(*(shot.camera.sensor_mm or (36.0, 24.0)))
    if shot.camera.portrait or (shot.camera.portrait is None and _upright(camera)):
        sensor = sensor.portrait
    keys = shot.lens
    focal_mm = keys.focal_mm
    if focal_mm is None:
        focal_mm = _whole_focal_mm(camera, sensor)
        notes.append(
            f"no lens was named: {focal_words(focal_mm)}, the widest that the picture can show"
        )
    f_number = keys.f_number
    if f_number is None:
        f_number = USUAL_F_NUMBER
        notes.append(f"no f-number was given: {spell_f_number(f_number)}")
    shift = {"rise_mm": keys.rise_mm or 0.0, "lateral_mm": keys.lateral_mm or 0.0}
    setting = LensSetting(
        focal_mm=focal_mm,
        f_number=f_number,
        focus=FocusDistance(np.inf),
        tilt_deg=keys.tilt_deg or 0.0,
        swing_deg=keys.swing_deg or 0.0,
        iris=_iris(keys),
        cats_eye=_cats_eye(keys, sensor),
        **shift,
    )
    if limits is not None:
        hold(limits, setting)
    elif strange := unusual_words(f_number, setting.tilt_deg, setting.swing_deg):
        notes.append(strange)
    focus = keys.focus
    if focus is None:
        middle = planned_window(camera, sensor, focal_mm, **shift)
        x, y = middle.left + middle.width / 2, middle.top + middle.height / 2
        focus = PictureSpot(x, y, x_is_share=False, y_is_share=False)
        notes.append(f"{NO_FOCUS}: the middle of the frame")
    if isinstance(focus, ExtensionOf):
        focus, kept = _carried(focus, setting)
        notes += kept
    setting = replace(setting, focus=_focus(focus, camera, depth_at))
    if limits is not None and (missing := reach_words(limits, ring_of(limits, setting))):
        notes.append(missing)
    if isinstance(setting.focus, FocusSpot) and np.isinf(setting.focus.depth_m):
        notes.append("the focus spot shows the sky: focused at infinity there")
    frame = _frame(camera, sensor, setting)  # refused here, before anything is traced for it
    if isinstance(focus, PictureSpot) and not _holds(frame, camera, setting.focus):
        notes.append(
            outside_the_frame("the focus spot", frame, (camera.width_px, camera.height_px))
        )
    return Plan(setting, sensor, tuple(notes), limits)


def _whole_focal_mm(camera: Camera, sensor: Sensor) -> float:
    """The widest lens that a picture can show, on as few decimals as lose none of its pixels."""
    widest_mm = widest_focal_mm(camera, sensor)
    whole = planned_window(camera, sensor, widest_mm)
    for step in (10, 100, 1000, 10_000):
        focal_mm = math.ceil(step * widest_mm) / step
        if planned_window(camera, sensor, focal_mm) == whole:
            break
    return focal_mm


def planned_on(shot: Shot, scene: Scene) -> tuple[Scene, Plan]:
    """Plan a shot on a scene that is there: the scene with its planned frame, and the plan."""
    planned = plan(shot, scene.camera, lambda row, column: float(scene.depth_m[row, column]))
    return planned.laid_over(scene), planned


def focus_on(prepared: Prepared, wish: FocusWish) -> Focus:
    """What a focus is on what is prepared: a spot becomes a ray and its depth.

    Raises
    ------
    HingelineError
        If it lies outside the frame, or nothing there has that name.
    """
    shot, scene = prepared.shot, prepared.scene
    traced = shot.picture is None
    if traced and isinstance(wish, PictureSpot):  # its frame lies inside a margin
        x, y = wish.at(scene.frame.width, scene.frame.height)
        left, top = scene.frame.left, scene.frame.top
        wish = PictureSpot(x + left, y + top, x_is_share=False, y_is_share=False)
    keyed = replace(shot, lens=replace(shot.lens, focus=wish))
    if traced:
        keyed = thing_found(keyed, scene, prepared.things or {})
    return planned_on(keyed, scene)[1].setting.focus


def _frame(camera: Camera, sensor: Sensor, setting: LensSetting) -> Window:
    """The planned frame in a camera's picture; a SettingError where it is not all in it."""
    return planned_window(
        camera,
        sensor,
        setting.focal_mm,
        extension_mm=focus_lens(setting).extension_mm,
        rise_mm=setting.rise_mm,
        lateral_mm=setting.lateral_mm,
    )


def _holds(frame: Window, camera: Camera, focus: Focus) -> bool:
    """Whether the planned frame shows a focus spot."""
    if not isinstance(focus, FocusSpot):
        return True
    return camera.cropped(frame).shows(focus.slope_x, focus.slope_y)


def _carried(dialled: ExtensionOf, setting: LensSetting) -> tuple[FocusExtension, list[str]]:
    """The extension that focuses this lens where another was, and what to say of it."""
    axis = lens_axis(setting.tilt_deg, setting.swing_deg)
    lenses = dialled.focal_mm, setting.focal_mm
    try:
        focus = FocusExtension(carried_extension_mm(dialled.extension_mm, *lenses, axis))
    except SettingError as error:
        raise SettingError(f"{error}; give --focus to set it anew") from None
    if abs(lenses[1] / lenses[0] - 1) < _SAME_LENS:
        return focus, []
    inverse = float(focus_lens(replace(setting, focus=focus)).sharp_inverse_depth(np.zeros(2)))
    at = f"{length_words(1 / inverse)} on the camera's axis" if inverse > 1e-5 else "far away"
    moved = (
        f"{RING}set for a lens of {lenses[0]:.4g} mm, stays where it was, {at}, and is "
        f"{focus.extension_mm:.2f} mm from the lens centre for {lenses[1]:.4g} mm"
    )
    leans = setting.tilt_deg or setting.swing_deg
    return focus, [moved + ("; the plane through it leans otherwise" if leans else "")]


def _focus(focus: FocusWish | Focus, camera: Camera, depth_at: DepthAt) -> Focus:
    if isinstance(focus, ThingName):
        raise not_in_a_picture(focus, "--focus")
    if not isinstance(focus, PictureSpot):
        return focus
    x, y = focus.at(camera.width_px, camera.height_px)
    if not camera.holds(x, y):
        raise SettingError(
            f"the focus spot {x:.0f}, {y:.0f} lies outside the picture of {camera.width_px} x "
            f"{camera.height_px} px: choose a spot inside"
        )
    column = min(int(x), camera.width_px - 1)
    row = min(int(y), camera.height_px - 1)
    slope_x, slope_y = camera.slopes(column + 0.5, row + 0.5)  # where that depth was taken
    return FocusSpot(float(slope_x), float(slope_y), depth_at(row, column))


def _iris(keys: LensKeys) -> Iris:
    return Iris(
        blades=keys.blades or 0,
        rotation_deg=keys.blade_turn_deg or 0.0,
        roundness=keys.roundness or 0.0,
    )


def _cats_eye(keys: LensKeys, sensor: Sensor) -> CatsEye | None:
    if keys.cats_eye is None:
        return None
    light_left, widest = keys.cats_eye
    return CatsEye(light_left=light_left, corner_mm=sensor.diagonal_mm / 2, widest_f_number=widest)


def _upright(camera: Camera) -> bool:
    return camera.height_px > camera.width_px
