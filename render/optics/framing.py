"""Which part of a picture the planned camera sees: two fields of view laid over each other."""

import math

from render.errors import FrameError
from render.optics.camera import Camera, Sensor, Window
from render.words import focal_words

__all__ = ["planned_window", "widest_focal_mm"]


def widest_focal_mm(camera: Camera, sensor: Sensor) -> float:
    """Shortest focal length whose unshifted frame on `sensor` lies inside the picture, mm."""
    half_x = min(camera.centre_x_px, camera.width_px - camera.centre_x_px)
    half_y = min(camera.centre_y_px, camera.height_px - camera.centre_y_px)
    if min(half_x, half_y) <= 0:
        raise FrameError("the picture does not hold its own optical axis: no frame fits in it")
    return camera.focal_px * max(sensor.width_mm / (2 * half_x), sensor.height_mm / (2 * half_y))


def planned_window(
    camera: Camera,
    sensor: Sensor,
    focal_mm: float,
    *,
    extension_mm: float | None = None,
    rise_mm: float = 0.0,
    lateral_mm: float = 0.0,
) -> Window:
    """Part of a picture that the planned lens sees, in whole pixels.

    The frame spans the slopes ``sensor / focal`` (focusing does not reframe it) and is moved by
    ``shift / extension``: up for rise > 0, right for lateral > 0.

    Parameters
    ----------
    camera : Camera
        Of the picture.
    extension_mm : float or None
        Lens to sensor; the focal length when not given.

    Raises
    ------
    FrameError
        If the lens sees more than the picture holds: how much is missing and what would fit.
    """
    extension = extension_mm or focal_mm
    half_x = camera.focal_px * sensor.width_mm / (2 * focal_mm)
    half_y = camera.focal_px * sensor.height_mm / (2 * focal_mm)
    middle_x = camera.centre_x_px + camera.focal_px * lateral_mm / extension
    middle_y = camera.centre_y_px - camera.focal_px * rise_mm / extension
    edges = {
        "left": -(middle_x - half_x),
        "right": middle_x + half_x - camera.width_px,
        "top": -(middle_y - half_y),
        "bottom": middle_y + half_y - camera.height_px,
    }
    missing = {side: over for side, over in edges.items() if over > 1.0}  # under a pixel: rounding
    if missing:
        halves = half_x, half_y
        room = _shift_that_fits(camera, missing, halves, extension)
        raise FrameError(_too_wide(camera, sensor, focal_mm, missing, halves, room))
    width = min(max(1, round(2 * half_x)), camera.width_px)
    height = min(max(1, round(2 * half_y)), camera.height_px)
    left = min(max(0, round(middle_x - width / 2)), camera.width_px - width)
    top = min(max(0, round(middle_y - height / 2)), camera.height_px - height)
    return Window(left, top, width, height)


def _too_wide(
    camera: Camera,
    sensor: Sensor,
    focal_mm: float,
    missing: dict[str, float],
    halves: tuple[float, float],
    room: str,
) -> str:
    half_x, half_y = halves
    size = {"left": 2 * half_x, "right": 2 * half_x, "top": 2 * half_y, "bottom": 2 * half_y}
    parts = ", ".join(
        f"{_share(min(100, 100 * over / size[side]))} {side}" for side, over in missing.items()
    )
    seen = math.degrees(2 * math.atan(camera.width_px / (2 * camera.focal_px)))
    wanted = math.degrees(2 * math.atan(sensor.width_mm / (2 * focal_mm)))
    try:
        widest = math.ceil(10 * widest_focal_mm(camera, sensor)) / 10  # never one that is too wide
        fits = f"the widest lens that fits without shift is {widest:.1f} mm"
    except FrameError as error:
        fits = str(error)
    return (
        f"the planned frame is not all in the picture ({focal_words(focal_mm)} sees "
        f"{wanted:.1f}° across, the picture holds {seen:.1f}°; missing of the "
        f"frame: {parts}): {fits}{room}; take a longer lens, less shift or a wider picture"
    )


def _shift_that_fits(
    camera: Camera, missing: dict[str, float], halves: tuple[float, float], extension_mm: float
) -> str:
    """How far this lens may be shifted the ways that it was; empty where it is too wide anyway."""
    half_x, half_y = halves
    most_px = {
        "top": ("rise", camera.centre_y_px - half_y),
        "bottom": ("fall", camera.height_px - camera.centre_y_px - half_y),
        "right": ("shift right", camera.width_px - camera.centre_x_px - half_x),
        "left": ("shift left", camera.centre_x_px - half_x),
    }
    fits = [most_px[side] for side in missing if most_px[side][1] > 0]
    if not fits or len(fits) < len(missing):
        return ""
    words = (
        f"{way} {math.floor(10 * most * extension_mm / camera.focal_px) / 10:g} mm"
        for way, most in fits
    )
    return f", this one holds at most {' and '.join(words)}"


def _share(percent: float) -> str:
    return f"{percent:.0f}%" if percent >= 1 else "under 1%"
