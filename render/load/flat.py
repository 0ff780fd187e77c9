"""The picture that a shot is planned on: as it was read, or cut flat out of a panorama."""

import math
from dataclasses import replace
from pathlib import Path

from render.errors import InputError, SettingError
from render.files.formats.metadata.panoramas import panorama_of, without_panorama
from render.files.formats.picturefile import PictureFile
from render.files.pictures import read_picture
from render.load.footage import first_still, is_footage, open_footage, whole_framed
from render.optics.camera import Camera, Sensor
from render.scene.panorama import Panorama, flat_picture, holds_view
from render.shot.belonging import refuse_unheeded
from render.shot.shot import Shot
from render.words import pitch_words

__all__ = ["as_taken", "opened_picture"]

#: What is cut out where no lens is planned: a usual wide view, 3:2.
_USUAL_VIEW_DEG, _USUAL_SHAPE = 75.0, 1.5
_NARROWEST_DEG = 5  # of a panorama that ends near: less is no view
_WIDEST_DEG = 120.0
_SPARE = 1.02  # round the planned frame


def opened_picture(shot: Shot) -> tuple[Shot, PictureFile]:
    """Read the picture of a shot: of a panorama the planned view, of a clip the first frame.

    Returns
    -------
    shot, file
        The shot with the level pitch that a panorama's view has where none was given.

    Raises
    ------
    InputError, SettingError
        If it cannot be read, or the planned view is not all in the panorama.
    """
    name = str(shot.picture)
    if not is_footage(name):
        whole = read_picture(Path(name))
        shot, file = as_taken(shot, whole)
        if file is whole:
            refuse_unheeded(shot)
        return shot, file
    footage = open_footage(name, None)
    try:
        return whole_framed(shot, footage)[0], first_still(footage)
    finally:
        footage.close()


def as_taken(shot: Shot, file: PictureFile) -> tuple[Shot, PictureFile]:
    """The same for a picture that was read."""
    try:
        panorama = panorama_of(file.kept.xmp, file.width_px, file.height_px)
    except InputError as error:
        raise InputError(f"{file.path.name}: {error}") from None
    if panorama is None:
        return shot, file
    held = shot.vantage
    if held.horizon is not None or held.roll_deg:
        raise SettingError(
            f"{file.path.name} is a panorama, whose horizon is known: give the view's --pitch "
            "in place of --horizon or --roll"
        )
    pitch = held.pitch_deg or 0.0
    turned = _turned_deg(shot.demo.heading_deg, panorama)
    size_px = file.width_px, file.height_px
    camera = _view(shot, panorama, size_px, turned, pitch)
    light = flat_picture(file.light, panorama, camera, turned_deg=turned, pitch_deg=pitch)
    seen = math.degrees(2 * math.atan(camera.width_px / (2 * camera.focal_px)))
    remark = (
        f"cut out of a panorama: {seen:.0f}° across, looking {pitch_words(pitch)}, "
        f"{_where(turned, panorama)}; places count in this view"
    )
    kept = replace(file.kept, xmp=without_panorama(file.kept.xmp))
    flat = replace(
        file,
        light=light,
        kept=kept,
        converted=True,
        focal_px=camera.focal_px,
        remarks=(*file.remarks, remark),
    )
    if not (held.ground_marks or held.uprights):
        shot = replace(shot, vantage=replace(held, pitch_deg=pitch))
    return shot, flat


def _turned_deg(heading_deg: float | None, panorama: Panorama) -> float:
    """How far right of the panorama's middle a heading lies, from -180 to 180 degrees."""
    if heading_deg is None:
        return 0.0
    return (heading_deg - (panorama.heading_deg or 0.0) + 180.0) % 360.0 - 180.0


def _where(turned_deg: float, panorama: Panorama) -> str:
    if panorama.heading_deg is not None:
        return f"heading {(panorama.heading_deg + turned_deg) % 360:.0f}°"
    if not turned_deg:
        return "at its middle"
    side = "right" if turned_deg > 0 else "left"
    return f"{abs(turned_deg):g}° {side} of its middle"


def _view(
    shot: Shot, panorama: Panorama, size_px: tuple[int, int], turned_deg: float, pitch_deg: float
) -> Camera:
    """The camera of the view: as wide as is said, else usual or as wide as the panorama holds."""
    camera = _camera(shot, panorama, _USUAL_VIEW_DEG)
    if shot.taken.field_deg is not None:
        return camera
    for view_deg in range(int(_USUAL_VIEW_DEG), _NARROWEST_DEG, -1):
        camera = _camera(shot, panorama, view_deg)
        if holds_view(panorama, size_px, camera, turned_deg=turned_deg, pitch_deg=pitch_deg):
            break
    return camera


def _camera(shot: Shot, panorama: Panorama, usual_deg: float) -> Camera:
    """The camera of the view: as wide as is said, else usual, else as the planned lens needs.

    A lens that fits in the usual view does not change it, so that places in it stay.
    """
    lens, focal_mm = shot.lens, shot.lens.focal_mm
    sensor = Sensor(*(shot.camera.sensor_mm or (36.0, 24.0)))
    if shot.camera.portrait:
        sensor = sensor.portrait
    if shot.taken.field_deg is not None:
        across = math.tan(math.radians(shot.taken.field_deg / 2))
        along = across * sensor.height_mm / sensor.width_mm
    else:
        across = math.tan(math.radians(usual_deg / 2))
        along = across / _USUAL_SHAPE
        if focal_mm is not None:
            beside = sensor.width_mm / 2 + abs(lens.lateral_mm or 0.0)
            above = sensor.height_mm / 2 + abs(lens.rise_mm or 0.0)
            across = max(across, _SPARE * beside / focal_mm)
            along = max(along, _SPARE * above / focal_mm)
        if not shot.camera.portrait:  # an upright view would ask for an upright camera
            across = max(across, along)
    seen = math.degrees(2 * math.atan(across))
    if seen > _WIDEST_DEG:
        raise SettingError(
            f"a flat view {seen:.0f}° across is wider than the {_WIDEST_DEG:.0f}° that are cut out "
            "of a panorama: take a longer lens, less shift or a smaller --view"
        )
    focal_px = panorama.px_per_rad
    width, height = (max(2, math.ceil(2 * slope * focal_px)) for slope in (across, along))
    return Camera(width, height, focal_px)
