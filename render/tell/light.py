"""The light of the day at a prepared shot's place, and whether the sun looks into its lens."""

import math

import numpy as np

from render.errors import InputError, SettingError
from render.files.formats.metadata.exif import exposed_with
from render.load.plan import NO_FOCUS
from render.load.prepared import Prepared
from render.load.shadows import shadow_on
from render.optics.lens import FocusSpot
from render.plan.exposure import Brightness, brightness_from_sky, brightness_from_weather
from render.plan.light import LightPlan, Shadow, in_view, plan_light
from render.trace.aim import surface_shown
from render.trace.trace import eye_numbers
from render.world.description import Description
from render.world.night import street_lux_at

__all__ = ["brightness_of", "light_known", "light_of", "street_lux", "subject_name", "sun_seen"]

Point = tuple[float, float, float]


def light_of(prepared: Prepared) -> LightPlan | None:
    """Plan the light where place and day are known.

    They are of a map, of a picture with --at and --when, and of a scene file that says its own.

    Raises
    ------
    SettingError
        If the date cannot be read, or the sun does not rise that day.
    """
    keys, view = prepared.shot.place, prepared.view
    when, at_deg, scene = keys.when, keys.at_deg, prepared.description
    own = when is None and scene is not None
    if own and scene is not None:
        when, at_deg = scene.light.when, scene.light.at_deg
    if when is None or at_deg is None:
        return None
    vantage = prepared.scene.vantage
    heading = view.heading_deg if view is not None else prepared.shot.demo.heading_deg
    pitch = view.pitch_deg if view is not None else vantage.pitch_deg if vantage else 0.0
    try:
        return plan_light(
            when,
            *at_deg,
            heading_deg=heading,
            pitch_deg=pitch,
            half_view_deg=_half_view(prepared),
            subject_shadow=_shadow(prepared, _subject(prepared), of=subject_name(prepared)),
            camera_shadow=_shadow(prepared, view.at_m if view is not None else None),
        )
    except InputError as error:
        if own:  # a polar night is a scene like others: it has no day to plan
            return None
        raise SettingError(f"--when: {error}") from None


def light_known(prepared: Prepared) -> str:
    """What a card is exposed by without being told the light; empty where nothing tells it."""
    if prepared.description is not None or prepared.file is None:
        return "as in the scene"
    if exposed_with(prepared.file.kept.exif) is not None:
        return "as in the picture"
    keys = prepared.shot.place
    return "of the sun at that hour" if keys.when is not None and keys.at_deg is not None else ""


def sun_seen(prepared: Prepared) -> bool:
    """Whether a scene's sun stands in or near the frame, with nothing before it."""
    view, scene = prepared.view, prepared.description
    if view is None or scene is None:
        return False
    sun = scene.light.sun_heading_deg, scene.light.sun_height_deg
    shows = in_view(*sun, view.heading_deg, view.pitch_deg, _half_view(prepared))
    return shows and prepared.built is not None and not shadow_on(prepared, view.at_m, *sun)


def _half_view(prepared: Prepared) -> tuple[float, float]:
    camera = prepared.scene.frame_camera
    corners = camera.slopes([0.0, camera.width_px], [0.0, camera.height_px])
    across, up = (float(np.abs(corners[:, axis]).max()) for axis in (0, 1))
    return math.degrees(math.atan(across)), math.degrees(math.atan(up))


def _subject(prepared: Prepared) -> Point | None:
    """Where what is sharp lies in the scene's own metres."""
    view, focus = prepared.view, prepared.setting.focus
    if view is None:
        return None
    if prepared.named:
        thing = prepared.named[0]
        spot = FocusSpot(thing.slope_x, thing.slope_y, thing.depth_m)
    elif isinstance(focus, FocusSpot) and math.isfinite(focus.depth_m):
        spot = focus
    else:
        return None
    if prepared.built is not None:
        spot = surface_shown(prepared.built, view, spot)
    axes = np.reshape(eye_numbers(view, view.camera())[3:12], (3, 3))
    x, y, z = np.array([spot.slope_x, spot.slope_y, 1.0]) * spot.depth_m @ axes + view.at_m
    return float(x), float(y), float(z)


def subject_name(prepared: Prepared) -> str | None:
    """What is sharp by its name, if it was asked for by one, or the scene suggests it by one."""
    if prepared.named:
        return prepared.named[0].name
    suggested = prepared.description.suggested.focus_on if prepared.description else ""
    if suggested and f"{NO_FOCUS}: the {suggested}, " in "\n".join(prepared.assumed.unfocused):
        return suggested
    focus = dict(prepared.shot.written).get("focus")  # a scene's is a ray by now
    return focus if isinstance(focus, str) and focus in (prepared.things or {}) else None


def _shadow(prepared: Prepared, point: Point | None, of: str | None = None) -> Shadow | None:
    if point is None or prepared.built is None:
        return None
    return lambda heading, height: shadow_on(prepared, point, heading, height, of=of)


def street_lux(scene: Description | None, sun_deg: float) -> float:
    """What a scene's street lamps give at a height of the sun, lux; 0 where none are lit."""
    return (street_lux_at(scene, sun_deg) or 0.0) if scene is not None else 0.0


def brightness_of(scene: Description, sun_deg: float) -> Brightness:
    """The light of a scene at a height of the sun: its sky and sun, windows or lamps."""
    by_lamps = scene.light.lamps and scene.light.street_lux is None
    if scene.ground is not None and not by_lamps and (scene.light.when or sun_deg <= 0):
        return brightness_from_sky(sun_deg, street_lux(scene, sun_deg))
    if sun_deg <= 0:
        return brightness_from_weather("lamplight")
    return brightness_from_weather("window light" if scene.ground is None else "sun")
