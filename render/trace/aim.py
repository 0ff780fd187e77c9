"""What a view of a scene can be focused on, and how much margin its blur needs."""

import math
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from render.errors import SettingError
from render.optics.blur import blur_field
from render.optics.camera import Camera
from render.optics.lens import FocusSpot, LensSetting
from render.optics.plane import focus_lens
from render.trace.build import Built
from render.trace.kernels.pixels import depth_pass
from render.trace.rays import first_hit, over_rows
from render.trace.trace import View, eye_numbers

__all__ = ["glance", "in_camera", "margin_for", "spot_at", "spot_on", "spot_shown", "surface_shown"]

_DRAFT_PX, _GLANCE_PX = 200, 96
#: A ray that hits something this much nearer or farther than a thing passes it by.
_PASSES = 0.15
#: How far round a thing's middle it is looked for, in frame heights, and how finely.
_LOOK_ROUND, _RINGS, _RAYS = 0.12, 24, 24
#: No more margin than this share of the frame's width: blur wider than that is seldom asked for.
_MOST = 0.4


def in_camera(view: View, point_m: tuple[float, float, float]) -> NDArray[np.float64]:
    """A point of the scene in the camera frame (x right, y down, z forward), metres."""
    eye = eye_numbers(view, view.camera())
    return np.asarray(np.reshape(eye[3:12], (3, 3)) @ (np.array(point_m) - eye[:3]))


def spot_on(view: View, point_m: tuple[float, float, float], name: str) -> FocusSpot:
    """The focus spot on a point of the scene.

    Raises
    ------
    SettingError
        If the point lies behind the camera.
    """
    x, y, z = in_camera(view, point_m)
    if not z > 0:
        raise SettingError(f'"{name}" lies behind the camera: turn round or step back')
    return FocusSpot(float(x / z), float(y / z), float(z))


def spot_at(built: Built, view: View, x_px: float, y_px: float) -> FocusSpot:
    """The focus spot on what a place of the planned frame shows (pixels from its left and top)."""
    camera = view.camera()
    sx, sy = (float(s) for s in camera.slopes(x_px + view.margin_px, y_px + view.margin_px))
    return _along(built, view, sx, sy)


def _along(built: Built, view: View, slope_x: float, slope_y: float) -> FocusSpot:
    """What is hit first along a ray of the view."""
    eye = eye_numbers(view, view.camera())
    d = np.array(eye[3:6]) * slope_x + np.array(eye[6:9]) * slope_y + eye[9:12]
    distance, placement, _triangle = first_hit(built.world, np.array(eye[:3]), d, near=1e-3)
    return FocusSpot(slope_x, slope_y, distance if placement >= 0 else math.inf)


def surface_shown(built: Built, view: View, spot: FocusSpot) -> FocusSpot:
    """The surface seen where a spot on a thing's middle lies; the spot where the thing is hidden.

    The middle of a house is indoors: light falls on what is seen of it.
    """
    shown = _along(built, view, spot.slope_x, spot.slope_y)
    return spot if _off(shown, spot) > _PASSES else shown


def spot_shown(built: Built, view: View, spot: FocusSpot) -> FocusSpot:
    """Move a spot on a thing's middle to the nearest place where the view shows the thing.

    The middle of what bounds a thing may be air (between an arm and a bench) or hidden. Where
    nothing at its distance shows nearby, the spot stays.
    """
    camera = view.camera()
    x, y = (
        float(place) - view.margin_px for place in camera.positions((spot.slope_x, spot.slope_y))
    )
    if not _off(spot_at(built, view, x, y), spot) > _PASSES:
        return spot
    step = _LOOK_ROUND * (camera.height_px - 2 * view.margin_px) / _RINGS
    for ring in range(1, _RINGS + 1):
        around = (math.tau * k / _RAYS for k in range(_RAYS))
        found = [
            spot_at(built, view, x + ring * step * math.cos(a), y + ring * step * math.sin(a))
            for a in around
        ]
        best = min(found, key=lambda other: _off(other, spot))
        if _off(best, spot) < _PASSES / 3:
            return best
    return spot


def _off(shown: FocusSpot, wanted: FocusSpot) -> float:
    """How far apart two spots lie in depth, relative."""
    return abs(shown.depth_m / wanted.depth_m - 1.0)


def margin_for(built: Built, view: View, setting: LensSetting) -> int:
    """Margin (px) as wide as the largest blur that reaches into the frame needs.

    Worked out on a small picture with a generous margin, from depth alone.
    """
    scale = min(1.0, _DRAFT_PX / view.width_px)
    small = replace(view, width_px=max(8, round(view.width_px * scale)), margin_px=0)
    edge = math.ceil(_MOST * small.width_px)
    small = replace(small, margin_px=edge)
    camera, depth = small.camera(), _depth(built, small)
    radius = np.abs(blur_field(focus_lens(setting), camera, depth).radius_px())
    reach = float(np.max(np.where(_outside(camera, edge) < 1.1 * radius, radius, 0.0)))
    return min(math.ceil(1.1 * reach / scale) + 4, math.ceil(_MOST * view.width_px))


def glance(built: Built, view: View) -> tuple[Camera, NDArray[np.float32]]:
    """The planned frame seen small, in depth alone."""
    small = replace(view, width_px=_GLANCE_PX, margin_px=0)
    return small.camera(), _depth(built, small)


def _depth(built: Built, view: View) -> NDArray[np.float32]:
    """Depth alone, margin included."""
    camera = view.camera()
    depth = np.empty((camera.height_px, camera.width_px), np.float32)
    tables = (built.world, built.surfaces, built.light)
    over_rows(depth_pass, *tables, depth.shape[0], eye_numbers(view, camera), depth)
    return depth


def _outside(camera: Camera, edge: int) -> NDArray[np.float64]:
    """How far each pixel lies outside the frame, px; 0 inside."""
    x, y = np.arange(camera.width_px), np.arange(camera.height_px)
    dx = np.maximum(np.maximum(edge - x, x - (camera.width_px - 1 - edge)), 0)
    dy = np.maximum(np.maximum(edge - y, y - (camera.height_px - 1 - edge)), 0)
    return np.maximum(dx[None, :], dy[:, None])
