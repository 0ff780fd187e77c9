"""From a shot to what the engine and the judgement work on: scene, lens setting, planned camera."""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from render.errors import InputError, SettingError
from render.files.exif import taken_with
from render.files.picturefile import PictureFile
from render.files.pictures import read_picture
from render.files.shots import LensKeys, PictureSpot, Shot, TakenKeys, shot_keys
from render.jobs.progress import Progress
from render.jobs.sources import depth_of
from render.jobs.vantages import vantage_of
from render.optics.camera import Camera, Sensor
from render.optics.framing import planned_window, widest_focal_mm
from render.optics.lens import CatsEye, Focus, FocusSpot, Iris, LensSetting
from render.optics.plane import focus_lens
from render.scene.scene import Scene
from render.sheets.lettering import drawable_text
from render.words import spell_f_number

if TYPE_CHECKING:
    from render.scene.build import Built

__all__ = ["Prepared", "as_judged", "lay_out", "plan", "prepare", "prepare_file", "taken_camera"]

_USUAL_F_NUMBER = 2.8


@dataclass(frozen=True, slots=True, eq=False)
class Prepared:
    """One planned photograph, ready to be rendered or judged.

    Attributes
    ----------
    scene : Scene
        Picture, depth and camera, with the planned frame as its window.
    setting : LensSetting
    sensor : Sensor
        Of the planned camera.
    file : PictureFile or None
        The picture's file, whose profile and EXIF the result keeps; None for a demo scene.
    depth_how : str
        How the depth was made, in words.
    depth_unsure : float
        Typical uncertainty of the depth, one standard deviation, relative; 0 where it is exact.
    notes : tuple of str
        What was assumed, one sentence each.
    credit : str
        Whom the scene's data must be credited to; empty for photos and demo scenes.
    map_record : mapping
        How a map's buildings got their heights, for programs; empty without a map.
    built : Built or None
        The demo scene as rays walk through it, so that nobody builds it twice.
    """

    shot: Shot
    scene: Scene
    setting: LensSetting
    sensor: Sensor
    file: PictureFile | None
    depth_how: str
    notes: tuple[str, ...]
    depth_unsure: float = 0.0
    credit: str = ""
    map_record: Mapping[str, Any] = field(default_factory=dict)
    built: "Built | None" = None

    @property
    def credit_words(self) -> str:
        """The credit as sheets print it: "Map data: © ...", or nothing."""
        return f"Map data: {drawable_text(self.credit)}" if self.credit else ""


def prepare(shot: Shot, progress: Progress, *, for_render: bool = True) -> Prepared:
    """Load what a shot names and work out its planned frame and lens setting.

    Parameters
    ----------
    for_render : bool
        Trace a demo scene finely, with what lies behind edges. Numbers alone do without, in a
        fraction of the time.

    Raises
    ------
    InputError, SettingError
        If something cannot be read, is missing, or cannot be.
    """
    if not shot.on_map:
        _refuse_place(shot)
    if shot.scene:
        from render.jobs.scenes import prepare_scene  # compiled kernels: only when wanted

        if for_render:
            return prepare_scene(shot, progress)
        return prepare_scene(shot, progress, samples=1, behind=False)
    if not shot.picture:
        raise InputError("nothing to look at: name a picture")
    path = Path(shot.picture)
    progress(f"reading {path.name}", 0.0)
    return prepare_file(shot, read_picture(path), progress)


def as_judged(shot: Shot, rendered: Prepared, progress: Progress) -> Prepared:
    """What `judge` looks at for a shot, where `rendered` is what it is rendered from.

    A picture is the same for both; a demo scene may have been traced at another size, and the
    scale that is named must not depend on that.
    """
    return prepare(shot, progress, for_render=False) if shot.scene else rendered


def _refuse_place(shot: Shot) -> None:
    """Refuse words that only a map understands."""
    keys = shot_keys()
    given = [name for name, _ in shot.written if keys[name].table == "place"]
    if given:
        raise SettingError(
            f"--{given[0]} is for map files, and {shot.picture or shot.scene or 'nothing'} is "
            "none: leave it out"
        )


def prepare_file(shot: Shot, file: PictureFile, progress: Progress) -> Prepared:
    """Work out the planned frame and lens setting of a shot whose picture has been read.

    Errors as in `prepare`.
    """
    camera, how_taken = taken_camera(file, shot.taken)
    scene, depth_how, unsure, how_held = lay_out(shot, file, camera, progress)
    scene, setting, sensor, notes = plan(shot, scene)
    return Prepared(
        shot=shot,
        scene=scene,
        setting=setting,
        sensor=sensor,
        file=file,
        depth_how=depth_how,
        notes=(*file.remarks, how_taken, *how_held, *notes),
        depth_unsure=unsure,
    )


def lay_out(
    shot: Shot, file: PictureFile, camera: Camera, progress: Progress
) -> tuple[Scene, str, float, tuple[str, ...]]:
    """Give a picture its depth; no lens is planned yet.

    Parameters
    ----------
    file : PictureFile
        The picture, or a smaller one made of it.
    camera : Camera
        Of that size.

    Returns
    -------
    scene, depth_how, unsure, notes
        How the depth was made, its typical relative uncertainty (0 where nobody can tell), and
        what was assumed, in words.
    """
    vantage, how_held = vantage_of(shot.vantage, camera)
    progress("working out the depth", 0.1)
    depth = depth_of(shot, file, camera, vantage, progress)
    scene = Scene(file.light, depth.depth_m, camera, vantage=vantage)
    unsure = depth.typical_uncertainty
    unsure = unsure if np.isfinite(unsure) else 0.0
    return scene, f"{depth.how} ({depth.words()})", unsure, (*how_held, *depth.remarks)


def plan(shot: Shot, scene: Scene) -> tuple[Scene, LensSetting, Sensor, tuple[str, ...]]:
    """Lay the planned frame over a scene and work out the lens setting.

    Returns
    -------
    scene, setting, sensor, notes
        The scene with its window set; what was assumed, in words.
    """
    camera, notes = scene.camera, []
    sensor = Sensor(*(shot.camera.sensor_mm or (36.0, 24.0)))
    if shot.camera.portrait or (shot.camera.portrait is None and _upright(camera)):
        sensor = sensor.portrait
    keys = shot.lens
    focal_mm = keys.focal_mm
    if focal_mm is None:
        focal_mm = float(np.ceil(10 * widest_focal_mm(camera, sensor)) / 10)
        notes.append(f"no lens was named: {focal_mm:g} mm, the widest that the picture can show")
    f_number = keys.f_number
    if f_number is None:
        f_number = _USUAL_F_NUMBER
        notes.append(f"no f-number was given: {spell_f_number(f_number)}")
    shift = {"rise_mm": keys.rise_mm or 0.0, "lateral_mm": keys.lateral_mm or 0.0}
    focus = keys.focus
    if focus is None:
        middle = planned_window(camera, sensor, focal_mm, **shift)
        x, y = middle.left + middle.width / 2, middle.top + middle.height / 2
        focus = PictureSpot(x, y, x_is_share=False, y_is_share=False)
        notes.append("no focus was given: the middle of the frame")
    setting = LensSetting(
        focal_mm=focal_mm,
        f_number=f_number,
        focus=_focus(focus, scene),
        tilt_deg=keys.tilt_deg or 0.0,
        swing_deg=keys.swing_deg or 0.0,
        iris=_iris(keys),
        cats_eye=_cats_eye(keys, sensor),
        **shift,
    )
    if isinstance(setting.focus, FocusSpot) and np.isinf(setting.focus.depth_m):
        notes.append("the focus spot shows the sky: focused at infinity there")
    extension_mm = focus_lens(setting).extension_mm
    window = planned_window(camera, sensor, focal_mm, extension_mm=extension_mm, **shift)
    if scene.window != window:  # making a scene checks all of its values once more
        scene = replace(scene, window=window)
    return scene, setting, sensor, tuple(notes)


def taken_camera(file: PictureFile, taken: TakenKeys) -> tuple[Camera, str]:
    """Return the camera that took a picture, and how it is known.

    Raises
    ------
    InputError
        If neither the options nor EXIF say enough.
    """
    height, width = file.light.shape[:2]
    if taken.field_deg is not None:
        focal_px = width / (2 * np.tan(np.radians(taken.field_deg / 2)))
        return Camera(
            width, height, float(focal_px)
        ), f"the picture sees {taken.field_deg:g}° across"
    if taken.focal_35mm is not None:
        focal_px = taken.focal_35mm * np.hypot(width, height) / Sensor().diagonal_mm
        how = f"the picture was taken with {taken.focal_35mm:g} mm (35 mm equivalent)"
        return Camera(width, height, float(focal_px)), how
    if taken.focal_mm is not None and taken.sensor_mm is not None:
        sensor = Sensor(*taken.sensor_mm)
        if height > width:
            sensor = sensor.portrait
        how = f"the picture was taken with {taken.focal_mm:g} mm on {sensor.width_mm:g} mm width"
        return Camera.from_lens(width, height, taken.focal_mm, sensor), how
    found = taken_with(file.kept.exif, width, height)
    of_sensor = Sensor(*taken.sensor_mm) if taken.sensor_mm else found.sensor
    focal_mm = taken.focal_mm or found.focal_mm
    if (taken.sensor_mm or taken.focal_mm) and of_sensor and focal_mm:
        given = "focal length" if taken.focal_mm else "sensor"
        how = (
            f"{focal_mm:g} mm on {of_sensor.width_mm:.3g} mm width ({given} given, rest from EXIF)"
        )
        return Camera.from_lens(width, height, focal_mm, of_sensor), how
    if found.focal_px is None:
        raise InputError(
            f"{file.path.name}: {found.how}: say what took the picture with --focal-35, with "
            "--focal and --sensor, or with --view"
        )
    return Camera(width, height, found.focal_px), found.how


def _focus(focus: object, scene: Scene) -> Focus:
    if not isinstance(focus, PictureSpot):
        return focus  # type: ignore[return-value]
    camera = scene.camera
    x, y = focus.at(camera.width_px, camera.height_px)
    if not (0 <= x <= camera.width_px and 0 <= y <= camera.height_px):
        raise SettingError(
            f"the focus spot {x:.0f}, {y:.0f} lies outside the picture of {camera.width_px} x "
            f"{camera.height_px} px: choose a spot inside"
        )
    column = min(int(x), camera.width_px - 1)
    row = min(int(y), camera.height_px - 1)
    slope_x, slope_y = camera.slopes(column + 0.5, row + 0.5)  # where that depth was taken
    return FocusSpot(float(slope_x), float(slope_y), float(scene.depth_m[row, column]))


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
