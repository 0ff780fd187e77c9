"""The camera that took a picture, from options or EXIF."""

import math

import numpy as np

from render.errors import InputError
from render.files.formats.exif import taken_with
from render.files.formats.picturefile import PictureFile
from render.optics.camera import Camera, Sensor
from render.shot.shot import TakenKeys

__all__ = ["taken_camera"]


def taken_camera(file: PictureFile, taken: TakenKeys) -> tuple[Camera, str]:
    """Return the camera that took a picture, and how it is known.

    Raises
    ------
    InputError
        If neither the options nor EXIF say enough.
    """
    height, width = file.light.shape[:2]
    if file.focal_px is not None:
        seen = math.degrees(2 * math.atan(width / (2 * file.focal_px)))
        return Camera(width, height, file.focal_px), f"the view sees {seen:.0f}° across"
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
