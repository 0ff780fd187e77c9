"""From a description and a view to a `Scene`: picture, depth, camera, margin, what lies behind."""

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from render.errors import SettingError
from render.filters import minimum_filter
from render.optics.camera import Camera, Sensor, Terrain, Vantage, Window
from render.scene.scene import Behind, Finer, Scene
from render.threads import each_share
from render.trace.build import Built, build
from render.trace.columns import (
    BRIGHT,
    DEPTH,
    DIRECT,
    LAMP_SAMPLES,
    LAMPLIGHT,
    LEAST,
    LENT,
    LENT_WITH_LAMPS,
    LUMINANCE,
    MIRRORED,
    MOST,
    SLOTS,
    SOFT,
    SOFT_NEARNESS,
    SOFT_RAYS,
    SOFT_SQUARES,
    SUMS,
    SUMS_WITH_LAMPS,
    SURFACE,
    TIMES,
    Eye,
)
from render.trace.kernels.laying import laid_together
from render.trace.kernels.pixels import glance_pass, pixel_pass, soft_pass
from render.trace.penumbra import NO_SUN, sun_seen
from render.trace.quarters import WHOLE, finer_of, quarters_of
from render.trace.rays import over_rows
from render.trace.sampling import (
    few,
    glanced_at,
    more,
    near_edges,
    set_side_by_side,
    soft_rays_by,
    thin_things,
)
from render.trace.smoothing import Smoother, lamp_levels
from render.trace.spread import pixel_offsets
from render.trace.vantage import refuse_bad_vantage
from render.world.description import Description
from render.world.ground import GroundBefore, ground_height, is_flat

__all__ = [
    *("OneLens", "View", "eye_numbers", "soft_rays", "trace_built", "trace_scene"),
    "view_of",
]

#: Least and most soft rays a pixel takes; it shares them up to 2^levels px away, more would leak.
_LEAST_SOFT, _MOST_SOFT, _LEAST_LEVELS, _LEVELS = 2, 4, 3, 5
#: As far as any light is shared at most, px.
_SHARED_PX = 2 << _LEVELS
#: How far soft light is shared, as shares of the harmonic mean distance to what sends it, where
#: all pixels have as many rays; and where one lens is known, and its sharp ones have more.
_REACH, _REACH_OF_ONE = 2.0, 1.0
#: How many are needed is told by a picture so wide, px.
_PILOT_PX = 80
#: Soft rays are chosen so that their noise, before it is shared, is this share of the light.
_SOFT_NOISE = 0.18


@dataclass(frozen=True, slots=True)
class OneLens:
    """What a single lens setting can show of a traced depth, (H, W) f32 to (H, W) bool each.

    Attributes
    ----------
    looks_behind : callable
        Pixels whose next surface it sees a part of.
    blur_px : callable
        Radius of blur, px, f32: how few samples will do.
    """

    looks_behind: Callable[[NDArray[np.float32]], NDArray[np.bool_]]
    blur_px: Callable[[NDArray[np.float32]], NDArray[np.float32]]


@dataclass(frozen=True, slots=True, kw_only=True)
class View:
    """Where the camera stands and what it sees.

    Attributes
    ----------
    at_m : tuple of 3 floats
        The lens in the scene: x east, y north, z up.
    height_m : float
        Of the lens above the ground below it.
    heading_deg : float
        Compass heading: 0 north (+y), 90 east (+x).
    pitch_deg : float
        Positive looks down.
    focal_mm : float
    sensor : Sensor
    width_px : int
        Width of the planned frame.
    rise_mm, lateral_mm : float
        Shift of the sensor; moves the view up and right.
    margin_px : int
        Picture outside the frame, on every side.
    """

    at_m: tuple[float, float, float]
    height_m: float
    heading_deg: float
    pitch_deg: float
    focal_mm: float = 90.0
    sensor: Sensor = Sensor()
    width_px: int = 1280
    rise_mm: float = 0.0
    lateral_mm: float = 0.0
    margin_px: int = 0

    def __post_init__(self) -> None:
        if not (isinstance(self.width_px, int) and 8 <= self.width_px <= 20000):
            raise SettingError(f"a picture is 8 to 20000 px wide, not {self.width_px!r}")
        if not (math.isfinite(self.focal_mm) and self.focal_mm > 0):
            raise SettingError(f"focal_mm must be a number above 0, not {self.focal_mm!r}")
        if not abs(self.pitch_deg) < 90:
            raise SettingError(f"pitch must lie between -90 and 90, not {self.pitch_deg!r}")

    @property
    def height_px(self) -> int:
        """Height of the planned frame."""
        return round(self.width_px * self.sensor.height_mm / self.sensor.width_mm)

    @property
    def window(self) -> Window:
        """The planned frame inside the picture with its margin."""
        return Window(self.margin_px, self.margin_px, self.width_px, self.height_px)

    def camera(self) -> Camera:
        """Camera of the whole picture, margin included."""
        focal_px = self.focal_mm * self.width_px / self.sensor.width_mm
        mm = self.width_px / self.sensor.width_mm
        m = self.margin_px
        return Camera(
            self.width_px + 2 * m,
            self.height_px + 2 * m,
            focal_px,
            m + self.width_px / 2 - self.lateral_mm * mm,
            m + self.height_px / 2 + self.rise_mm * mm,
        )


def view_of(
    description: Description,
    *,
    height_m: float | None = None,
    storeys: float | None = None,
    pitch_deg: float | None = None,
    heading_deg: float | None = None,
    distance_m: float | None = None,
    focal_mm: float | None = None,
    sensor: Sensor | None = None,
    portrait: bool | None = None,
    width_px: int = 1280,
    rise_mm: float | None = None,
    lateral_mm: float = 0.0,
) -> View:
    """The scene's own vantage, with what is asked for changed.

    The camera keeps looking at the scene's subject unless pitch or heading say otherwise;
    `distance_m` (level distance to the subject) and `heading_deg` move it round the subject.
    A storey counts as 3 m (common practice) with the lens 1.6 m above its floor; storeys = 0 is
    the ground.

    Raises
    ------
    SettingError
        If a value is out of range, or both height and storeys are given.
    """
    words = description.vantage
    if height_m is not None and storeys is not None:
        raise SettingError("give either the height or the number of storeys, not both")
    target = np.array(words.look_at_m, float)
    x, y = words.stand_m
    away = math.hypot(target[0] - x, target[1] - y)
    heading = math.degrees(math.atan2(target[0] - x, target[1] - y)) % 360.0
    if heading_deg is not None or distance_m is not None:
        away = away if distance_m is None else distance_m
        if not (math.isfinite(away) and away >= 0):
            raise SettingError(f"the distance must be a number of metres from 0, not {away!r}")
        heading = heading if heading_deg is None else heading_deg % 360.0
        a = math.radians(heading)
        x, y = float(target[0] - away * math.sin(a)), float(target[1] - away * math.cos(a))
    height = words.height_m if height_m is None else height_m
    if storeys is not None:
        height = 3.0 * storeys + 1.6
    if not (math.isfinite(height) and height > 0):
        raise SettingError(f"the camera must stand above the ground, not at {height!r} m")
    floor = 0.0
    if description.ground is not None:
        floor = float(ground_height(description.ground, np.array(x), np.array(y)))
    if pitch_deg is None:
        fall = floor + height - target[2]
        pitch_deg = 0.0 if words.level else math.degrees(math.atan2(fall, max(away, 1e-6)))
    frame = sensor or Sensor(*words.sensor_mm)
    upright = words.portrait if portrait is None else portrait
    long, short = max(frame.width_mm, frame.height_mm), min(frame.width_mm, frame.height_mm)
    frame = Sensor(short, long) if upright else (frame if portrait is None else Sensor(long, short))
    return View(
        at_m=(x, y, floor + height),
        height_m=height,
        heading_deg=heading,
        pitch_deg=pitch_deg,
        focal_mm=words.focal_mm if focal_mm is None else focal_mm,
        sensor=frame,
        width_px=width_px,
        rise_mm=words.rise_mm if rise_mm is None else rise_mm,
        lateral_mm=lateral_mm,
    )


def trace_scene(
    description: Description,
    view: View,
    *,
    time_s: float = 0.0,
    samples: int = 16,
    behind_px: int = 0,
) -> Scene:
    """See a described scene through a pinhole at `view`.

    Parameters
    ----------
    samples : int
        Samples a pixel where surfaces meet; one amid an even surface takes one, most a quarter or
        half, and an edge that tears its samples far apart twice as many.
    behind_px : int
        Trace the surface behind depth edges this far inward from them; 0 leaves it out.

    Returns
    -------
    Scene
        Depth is z at pixel centres; the same input gives the same bytes on any number of threads.

    Raises
    ------
    SettingError
        If the camera would stand inside something solid or below the ground.
    """
    built = build(description, time_s)
    return trace_built(description, built, view, samples=samples, behind_px=behind_px)


def trace_built(
    description: Description,
    built: Built,
    view: View,
    *,
    samples: int = 16,
    behind_px: int = 0,
    only: OneLens | None = None,
    soft: int | None = None,
) -> Scene:
    """Like `trace_scene` for a scene that is built already.

    `only` leaves out what one lens cannot show, and parts what it nearly does (`Scene.finer`); it
    goes before `behind_px`.
    `soft` is what `soft_rays` found for another moment of the same scene: frames of a film take
    one and the same, so that noise stays where it is.
    """
    refuse_bad_vantage(description, built, view.at_m, view.height_m)
    camera = view.camera()
    eye = eye_numbers(view, camera)
    shape = (camera.height_px, camera.width_px)
    rays = _soft_rays(built, eye, shape) if soft is None else soft
    picture, depth, finer = _picture(built, eye, camera, samples, rays, only)
    behind = None
    if only is not None or behind_px > 0:
        todo = only.looks_behind(depth) if only is not None else near_edges(depth, behind_px)
        behind = _behind(built, eye, depth, todo, rays)
    vantage = Vantage(view.height_m, view.pitch_deg, terrain=_terrain(description, view))
    window = view.window if view.margin_px else None
    return Scene(picture, depth, camera, window, behind, vantage, finer)


def _terrain(description: Description, view: View) -> Terrain | None:
    ground = description.ground
    if ground is None or is_flat(ground):
        return None
    return GroundBefore(ground, view.at_m[0], view.at_m[1], view.heading_deg)


def eye_numbers(view: View, camera: Camera) -> Eye:
    """Place and axes of the camera as the compiled loops read them."""
    a, p = math.radians(view.heading_deg), math.radians(view.pitch_deg)
    right = [math.cos(a), -math.sin(a), 0.0]
    ahead = [math.sin(a) * math.cos(p), math.cos(a) * math.cos(p), -math.sin(p)]
    down = [-math.sin(a) * math.sin(p), -math.cos(a) * math.sin(p), -math.cos(p)]
    lens = [camera.focal_px, camera.centre_x_px, camera.centre_y_px, 1 / camera.focal_px]
    return Eye(*map(float, [*view.at_m, *right, *down, *ahead, *lens]))


def soft_rays(built: Built, view: View) -> int:
    """Rays that each pixel sends after soft light from that view."""
    camera = view.camera()
    return _soft_rays(built, eye_numbers(view, camera), (camera.height_px, camera.width_px))


def _picture(
    built: Built,
    eye: Eye,
    camera: Camera,
    samples: int,
    rays: int,
    only: OneLens | None,
) -> tuple[NDArray[np.float32], NDArray[np.float32], Finer | None]:
    shape = (camera.height_px, camera.width_px)
    sums, surface = _sums(built, shape), np.zeros((*shape, SURFACE), np.float32)
    key, bright = np.zeros(shape, np.int64), np.zeros((*shape, BRIGHT), np.float32)
    each = LENT_WITH_LAMPS if built.light.lamps else LENT
    # many samples have many rays of their own, which tell it without a neighbour's bias
    lent = np.zeros((*shape, SLOTS * each), np.float32) if samples <= 16 else _nothing()
    first = max(min(4, samples), samples // 4)
    finest = samples if samples == first else 2 * samples
    scene = (built.world, built.surfaces, built.light, shape[0], eye, pixel_offsets(finest))
    count, quarters = np.zeros(shape, np.float32), WHOLE

    def take(begin: int, end: int, where: NDArray[np.bool_]) -> None:
        made = (where, sums, surface, normal, key, bright, lent, *quarters)
        over_rows(pixel_pass, *scene, begin, end, first, soft_rays, False, *made)
        count[where] = end

    every, blur_px = np.ones(shape, np.bool_), np.zeros(shape, np.float32)
    soft_rays = np.zeros(shape, np.uint8)
    normal = np.zeros((*shape, 4), np.float32)
    take(0, 1, every)
    if only is not None:
        # a blurred pixel may hold a part of the sharp edge beside it
        blur_px = minimum_filter(only.blur_px(surface[..., DEPTH]), 3)
    rays_by = soft_rays_by(blur_px, rays, key, normal[..., 3] > 0, only is not None)
    over_rows(soft_pass, *scene[:3], shape[0], eye, rays_by, surface, normal, sums)
    if only is not None:
        quarters = quarters_of(blur_px, sums)
    set_side_by_side(sums, bright)
    if first > 1:
        take(1, first, few(key, bright, blur_px, samples))
    if samples > first:
        before = bright[..., MOST] - bright[..., LEAST]
        glanced = glanced_at(bright, blur_px, samples)
        over_rows(glance_pass, *scene, samples, count, glanced, surface, key, bright)
        thin = thin_things(before, bright, samples)
        take(1, first, thin & (count < first))
        for begin, end, where in more(key, bright, blur_px, first, samples, thin):
            take(begin, end, where)
    reach = _REACH if only is None else _REACH_OF_ONE
    sun = NO_SUN if samples > 16 else sun_seen(built, sums, surface, blur_px, eye)
    picture, soft = _laid(built, sums, lent, count, surface, eye, sun, shape[1], reach)
    depth = np.ascontiguousarray(surface[..., DEPTH])
    return picture, depth, finer_of(picture, depth, soft, sun, quarters)


def _nothing() -> NDArray[np.float32]:
    """What is borrowed, or set side by side, where only one surface is asked for."""
    return np.zeros((0, 0, 0), np.float32)


def _sums(built: Built, shape: tuple[int, int]) -> NDArray[np.float32]:
    return np.zeros((*shape, SUMS_WITH_LAMPS if built.light.lamps else SUMS), np.float32)


def _soft_rays(built: Built, eye: Eye, shape: tuple[int, int]) -> int:
    """Soft rays a pixel needs, from a small picture.

    A room lit by its windows needs more of them than a square under the sky.
    """
    scale = min(max(shape) / _PILOT_PX, 16.0)
    small = (math.ceil(shape[0] / scale), math.ceil(shape[1] / scale))
    far = eye._replace(
        focal=eye.focal / scale,
        centre_x=eye.centre_x / scale,
        centre_y=eye.centre_y / scale,
        slope=eye.slope * scale,
    )
    sums, surface = _sums(built, small), np.zeros((*small, SURFACE), np.float32)
    bright = np.zeros((*small, BRIGHT), np.float32)
    made = (sums, surface, _nothing(), np.zeros(small, np.int64), bright, _nothing(), *WHOLE)
    scene = (built.world, built.surfaces, built.light, small[0], far, pixel_offsets(1))
    every, eight = np.ones(small, np.bool_), np.full(small, 8, np.uint8)
    over_rows(pixel_pass, *scene, 0, 1, 1, eight, False, every, *made)
    lit = sums[sums[..., SOFT_RAYS] > 0].astype(float)
    if not len(lit):
        return 0
    direct, times, soft = (lit[:, at : at + 3] for at in (DIRECT, TIMES, SOFT))
    mean = soft @ LUMINANCE / 8
    noise = np.sqrt(np.maximum(lit[:, SOFT_SQUARES] / 8 - mean**2, 0)) * times.mean(axis=1)
    light = (direct + times * soft / 8).mean(axis=1)
    seen = float(np.mean(noise / np.maximum(light, 1e-3)))
    return min(max(round((seen / _SOFT_NOISE) ** 2), _LEAST_SOFT), _MOST_SOFT)


def _laid(
    built: Built,
    sums: NDArray[np.float32],
    lent: NDArray[np.float32],
    count: NDArray[np.float32],
    surface: NDArray[np.float32],
    eye: Eye,
    sun: NDArray[np.float32],
    width_px: int,
    reach: float = _REACH,
) -> tuple[NDArray[np.float32], NDArray[np.float32]]:
    """The picture, with soft, mirrored and lamps' light shared or lent; and all soft light.

    It may be a part of one that is width_px wide.
    """
    levels = max(_LEAST_LEVELS, min(_LEVELS, round(math.log2(eye.focal / 150))))
    rays, near = sums[..., SOFT_RAYS], sums[..., SOFT_NEARNESS]
    own = sums[..., SOFT : SOFT + 5]
    smoother = Smoother(surface, eye)
    soft = smoother.shared(own, rays, levels, nearness=near, reach=reach)
    lamps = _nothing()
    if built.light.lamps:
        own, shown = sums[..., LAMPLIGHT : LAMPLIGHT + 5], sums[..., LAMP_SAMPLES]
        lamps = smoother.shared(own, shown, lamp_levels(width_px), sharp=True)
    mirrored = smoother.shared(sums[..., MIRRORED : MIRRORED + 5], count, min(2, levels))
    picture = np.empty((*count.shape, 3), np.float32)
    made = (sums, lent, count, soft, lamps, mirrored, sun, picture)
    each_share(len(count), lambda a, b: laid_together(*made, a, b))
    return picture, soft + lamps if len(lamps) else soft


def _behind(
    built: Built,
    eye: Eye,
    depth: NDArray[np.float32],
    todo: NDArray[np.bool_],
    rays: int,
) -> Behind:
    """The next surface behind the first, where it is to do."""
    whole, whole_depth = np.zeros((*depth.shape, 3), np.float32), np.full_like(depth, np.nan)
    if not todo.any():
        return Behind(whole, whole_depth)
    rows, columns = (_span(np.count_nonzero(todo, axis=axis)) for axis in (1, 0))
    eye = eye._replace(centre_x=eye.centre_x - columns.start, centre_y=eye.centre_y - rows.start)
    todo, depth = np.ascontiguousarray(todo[rows, columns]), depth[rows, columns]
    shape = depth.shape
    sums, surface = _sums(built, shape), np.zeros((*shape, SURFACE), np.float32)
    surface[..., DEPTH] = np.nan
    count, none = 4, _nothing()
    scene = (built.world, built.surfaces, built.light, shape[0], eye, pixel_offsets(count))
    made = (todo, sums, surface, none, np.zeros((0, 0), np.int64), none, none, *WHOLE)
    soft_rays = np.full(shape, rays, np.uint8)
    over_rows(pixel_pass, *scene, 0, count, count, soft_rays, True, *made)
    taken = np.full(shape, np.float32(count))
    made_of = (sums, none, taken, surface, eye, NO_SUN)
    whole[rows, columns], _ = _laid(built, *made_of, whole.shape[1])
    # rounding may put it a hair before the first
    np.maximum(surface[..., DEPTH], depth, out=whole_depth[rows, columns])
    return Behind(whole, whole_depth)


def _span(counts: NDArray[np.intp]) -> slice:
    """From before the first that is not 0 to after the last, as far as light is shared."""
    numbers = np.flatnonzero(counts)
    return slice(max(int(numbers[0]) - _SHARED_PX, 0), int(numbers[-1]) + 1 + _SHARED_PX)
