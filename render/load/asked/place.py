"""Which lens and which place a question to `hingeline solve` is about."""

from dataclasses import dataclass, replace
from functools import partial
from typing import Any

from render.errors import InputError
from render.load.asked.site import Site
from render.load.lens import limits_of, said_of
from render.load.prepare import prepare
from render.load.prepared import Prepared
from render.load.progress import Progress
from render.load.vantages import above_ground_m
from render.optics.camera import Camera, Sensor, Vantage
from render.optics.solving.holding import hold, reach_words, ring_of
from render.optics.solving.limits import LensLimits, usual_limits
from render.shot.declaring import Words
from render.shot.defaults import own_words
from render.shot.shot import Shot, merged
from render.trace.aim import in_camera, thing_depths
from render.words import length_words, pitch_words, spell_f_number

__all__ = ["Place", "place_of", "site_in"]


@dataclass(frozen=True, slots=True, eq=False)
class Place:
    """The lens, and where wishes are looked up.

    Attributes
    ----------
    site : Site
    limits : LensLimits
    sensor : Sensor
    shot : Shot
        With the lens's focal length.
    notes, guesses : tuple of str
        What was assumed, and of that what was guessed of the picture, one sentence each.
    walls : tuple of str
        All foot lines of the shot, where some were added for what is asked.
    """

    site: Site
    limits: LensLimits
    sensor: Sensor
    shot: Shot
    notes: tuple[str, ...]
    guesses: tuple[str, ...] = ()
    walls: tuple[str, ...] = ()


def place_of(shot: Shot, progress: Progress) -> Place:
    """Read the lens, and the picture with its depth or else only the spot to stand on.

    Raises
    ------
    HingelineError
        If the lens or the picture cannot be read, there is no lens, or it cannot be set so.
    """
    limits = limits_of(shot)
    wanted = shot.lens.focal_mm
    if limits is not None:
        shot = merged(shot, {"lens": f"{limits.focal_mm:g}"}, "--{name}")
    if shot.picture or shot.scene:
        return _seen_place(shot, limits, progress)
    if limits is None:
        if wanted is None:
            raise InputError(
                'say which lens: its focal length with --lens, or --lens-file "long 90"'
            )
        limits, assumed = _assumed(wanted, shot.lens.f_number)
        place = _bare_place(shot, limits)
        return replace(place, notes=(assumed, *place.notes))
    hold(limits, said_of(shot.lens, limits))
    return _bare_place(shot, limits)


def _of_the_place(prepared: Prepared) -> list[str]:
    """What was assumed, but for the reach of a focus that nobody asked for."""
    if prepared.limits is None:
        return list(prepared.notes)
    reach = reach_words(prepared.limits, ring_of(prepared.limits, prepared.setting))
    return [note for note in prepared.notes if note != reach]


def _assumed(focal_mm: float, f_number: float | None) -> tuple[LensLimits, str]:
    limits = usual_limits(focal_mm, f_number)
    return limits, (
        f"no lens file was given: taken to tilt {limits.tilt_limit_deg:g}° any way and to have "
        f"{spell_f_number(limits.widest_f_number)} to {spell_f_number(limits.smallest_f_number)}"
    )


def _seen_place(shot: Shot, limits: LensLimits | None, progress: Progress) -> Place:
    """The picture's planned frame and its depth; nothing that is solved for is asked."""
    unsaid: dict[str, Words] = {
        name: text
        for name, text, value in (
            ("focus", "infinity", shot.lens.focus),
            ("tilt", "0", shot.lens.tilt_deg),
            ("swing", "0", shot.lens.swing_deg),
            ("f", f"{(limits or usual_limits(1.0)).widest_f_number:g}", shot.lens.f_number),
        )
        if value is None
    }
    prepared = prepare(merged(shot, unsaid, "--{name}"), progress, for_render=False)
    notes = [f"depth: {prepared.depth_how}", *_of_the_place(prepared)]
    if limits is None:
        limits, assumed = _assumed(prepared.setting.focal_mm, shot.lens.f_number)
        notes.insert(0, assumed)
    site = site_in(prepared)
    return Place(site, limits, prepared.sensor, shot, tuple(notes), tuple(prepared.guesses))


def site_in(prepared: Prepared) -> Site:
    """What wishes are looked up in, of a picture or scene that is loaded."""
    scene, frame = prepared.scene, prepared.scene.frame
    camera = scene.frame_camera
    site = Site(
        view=_view(camera),
        camera=camera,
        depth_m=scene.depth_m[frame.rows, frame.columns],
        left_px=frame.left,
        top_px=frame.top,
        whole_px=(scene.camera.width_px, scene.camera.height_px),
        vantage=scene.vantage,
        light=scene.picture[frame.rows, frame.columns],
        depth_unsure=prepared.depth_unsure,
    )
    if prepared.shot.scene:
        # its picture is the frame alone; the margin round it is nobody's to point at
        return replace(
            site,
            left_px=0,
            top_px=0,
            whole_px=(camera.width_px, camera.height_px),
            things=prepared.things or {},
            **_traced(prepared),
        )
    return site


def _traced(prepared: Prepared) -> dict[str, Any]:
    """How a site asks what a view of a scene shows, where there is one."""
    built, view = prepared.built, prepared.view
    if not (built and view):
        return {}
    return {
        "depths_of": partial(thing_depths, built, view),
        "middle_of": lambda name: in_camera(view, built.spots[name]),
    }


def _bare_place(shot: Shot, limits: LensLimits) -> Place:
    sensor = Sensor(*(shot.camera.sensor_mm or (36.0, 24.0)))
    if shot.camera.portrait:
        sensor = sensor.portrait
    keys, notes = shot.vantage, own_words(shot.own)
    vantage = None
    if keys.horizon is not None:
        raise InputError("--horizon needs a picture to find its row in: give --pitch instead")
    height_m = above_ground_m(keys)
    if height_m is not None:
        vantage = Vantage(height_m, keys.pitch_deg or 0.0, keys.roll_deg or 0.0)
        looks = "held level, as no pitch was given"
        if keys.pitch_deg is not None:
            looks = f"looking {pitch_words(keys.pitch_deg)}"
        notes.append(f"the camera stands {length_words(height_m)} above the ground, {looks}")
    x_mm, y_mm = shot.lens.lateral_mm or 0.0, -(shot.lens.rise_mm or 0.0)
    half_x, half_y = sensor.width_mm / 2, sensor.height_mm / 2
    edges = (x_mm - half_x, y_mm - half_y, x_mm + half_x, y_mm + half_y)
    left, top, right, bottom = (edge / limits.focal_mm for edge in edges)
    site = Site(view=(left, top, right, bottom), vantage=vantage)
    return Place(site, limits, sensor, shot, tuple(notes))


def _view(camera: Camera) -> tuple[float, float, float, float]:
    (left, top), (right, bottom) = camera.slopes([0.0, camera.width_px], [0.0, camera.height_px])
    return float(left), float(top), float(right), float(bottom)
