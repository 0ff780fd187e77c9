"""What a view of a scene can be focused on, and how much margin its blur needs."""

import math
from collections.abc import Iterator, Mapping
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from render.errors import SettingError
from render.optics.blur import blur_field
from render.optics.camera import Camera
from render.optics.lens import FocusSpot, LensSetting
from render.optics.plane import focus_lens
from render.optics.solving.targets import ELSEWHERE
from render.trace.build import Built
from render.trace.kernels.pixels import depth_pass
from render.trace.rays import first_hit, over_rows
from render.trace.trace import View, eye_numbers

__all__ = [
    "ThingsSeen",
    "glance",
    "in_camera",
    "margin_for",
    "spot_at",
    "spot_on",
    "surface_shown",
    "thing_depths",
    "thing_spot",
]

_DRAFT_PX, _GLANCE_PX = 200, 96
#: How far round a thing's middle it is looked for, in frame heights, and how finely.
_LOOK_ROUND, _RINGS, _RAYS = 0.12, 24, 24
#: A ray is followed through so many surfaces to find a thing that others stand before.
_SURFACES = 200
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
    return FocusSpot(slope_x, slope_y, _hit(built, view, slope_x, slope_y)[0])


def _hit(
    built: Built, view: View, slope_x: float, slope_y: float, near_m: float = 1e-3
) -> tuple[float, int, int]:
    """Depth, placement and triangle that a ray of the view meets first beyond a depth."""
    start, way = _ray(view, slope_x, slope_y)
    depth_m, placement, triangle = first_hit(built.world, start, way, near=near_m)
    return (depth_m if placement >= 0 else math.inf), placement, triangle


def _ray(
    view: View, slope_x: float, slope_y: float
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    eye = eye_numbers(view, view.camera())
    way = np.array(eye[3:6]) * slope_x + np.array(eye[6:9]) * slope_y + eye[9:12]
    return np.array(eye[:3]), way


def surface_shown(built: Built, view: View, spot: FocusSpot) -> FocusSpot:
    """The surface seen where a spot on a thing's middle lies; the spot where the thing is hidden.

    The middle of a house is indoors: light falls on what is seen of it.
    """
    shown = _along(built, view, spot.slope_x, spot.slope_y)
    return spot if _off(shown, spot) > ELSEWHERE else shown


def thing_spot(built: Built, view: View, name: str) -> FocusSpot:
    """The place on a named thing that the view shows: its first surface on the ray to its middle.

    Where another stands before it, or the middle of what bounds it is air (between an arm and a
    bench), the nearest place round it where the view shows the thing; where none is, its own
    surface behind what hides it, and at last the middle. A mark in a solid, as a map's, stands
    for the wall that the ray to it comes in by. Of a thing whose middle the frame cuts off, the
    nearest place that the frame shows of it.

    Raises
    ------
    SettingError
        If the middle lies behind the camera.
    """
    middle = spot_on(view, built.spots[name], name)
    own = _placements(built, name)
    if not own:
        return _mark_shown(built, view, middle)
    spot = _near_its_middle(built, view, name, middle, own)
    return spot if _in_frame(view, spot) else _inside_frame(built, view, name, spot) or spot


def _near_its_middle(
    built: Built, view: View, name: str, middle: FocusSpot, own: frozenset[int]
) -> FocusSpot:
    """The place on a thing that stands for its middle, be the frame as it may."""
    surface = _own_surface(built, view, middle, name, own)
    if surface is not None and not _along(built, view, *_slopes(middle)).depth_m < surface.depth_m:
        return surface
    for ring in _rings(view, middle):
        seen = [_hit(built, view, *slopes) for slopes in ring]
        found = [
            FocusSpot(*slopes, depth_m)
            for slopes, (depth_m, placement, triangle) in zip(ring, seen, strict=True)
            if placement in own and _named(built, placement, triangle) == name
        ]
        if found:
            return min(found, key=lambda spot: _off(spot, surface or middle))
    return surface or middle


def _in_frame(view: View, spot: FocusSpot) -> bool:
    return replace(view, margin_px=0).camera().shows(*_slopes(spot))


def _inside_frame(built: Built, view: View, name: str, spot: FocusSpot) -> FocusSpot | None:
    """The place nearest to a spot outside the frame at which the frame shows a thing; else None."""
    camera = replace(view, width_px=_GLANCE_PX, margin_px=0).camera()
    columns, rows = np.arange(camera.width_px), np.arange(camera.height_px)
    x, y = (side.ravel() + 0.5 for side in np.meshgrid(columns, rows))
    slopes = camera.slopes(x, y)
    depths = thing_depths(built, view, name, slopes)
    off = np.where(np.isfinite(depths), np.sum((slopes - _slopes(spot)) ** 2, axis=-1), math.inf)
    nearest = int(np.argmin(off))
    if math.isinf(off[nearest]):
        return None
    at = slopes[nearest]
    return FocusSpot(float(at[0]), float(at[1]), float(depths[nearest]))


def thing_depths(
    built: Built, view: View, name: str, slopes: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Depths (m) at which rays show a named thing before all else; ``inf`` where they do not.

    Parameters
    ----------
    slopes : ndarray, shape (N, 2)

    Returns
    -------
    ndarray, shape (N,)
    """
    depths = np.full(len(slopes), math.inf)
    own = _placements(built, name)
    eye = eye_numbers(view, view.camera())
    start, axes = np.array(eye[:3]), np.reshape(eye[3:12], (3, 3))
    for at, way in enumerate(np.column_stack([slopes, np.ones(len(slopes))]) @ axes if own else ()):
        depth_m, placement, triangle = first_hit(built.world, start, way, near=1e-3)
        if placement in own and _named(built, placement, triangle) == name:
            depths[at] = depth_m
    return depths


def _slopes(spot: FocusSpot) -> tuple[float, float]:
    return spot.slope_x, spot.slope_y


def _placements(built: Built, name: str) -> frozenset[int]:
    """Where shapes of a thing's first copy stand, whose middle has the thing's name."""
    rows = [(at, row.moves) for at, row in enumerate(built.placed) if name in row.names]
    still = [at for at, moves in rows if moves is None][:1]
    return frozenset([*still, *(at for at, moves in rows if moves and moves.copy == 0)])


def _named(built: Built, placement: int, triangle: int) -> str:
    return built.names[placement][int(built.surfaces.thing[triangle])]


def _own_surface(
    built: Built, view: View, middle: FocusSpot, name: str, own: frozenset[int]
) -> FocusSpot | None:
    """The first surface of a thing on the ray to its middle, be others before it."""
    near_m = 1e-3
    for _ in range(_SURFACES):
        depth_m, placement, triangle = _hit(built, view, *_slopes(middle), near_m)
        if placement < 0 or depth_m > (1 + ELSEWHERE) * middle.depth_m:
            break
        if placement in own and _named(built, placement, triangle) == name:
            return replace(middle, depth_m=depth_m)
        near_m = depth_m * (1 + 1e-6) + 1e-5
    return None


def _mark_shown(built: Built, view: View, mark: FocusSpot) -> FocusSpot:
    """Where a mark is seen: the wall before it, or the nearest place round it at its depth."""
    spot = _wall_before(built, view, mark)
    if not _off(_along(built, view, *_slopes(spot)), spot) > ELSEWHERE:
        return spot
    for ring in _rings(view, spot):
        best = min((_along(built, view, *at) for at in ring), key=lambda other: _off(other, spot))
        if _off(best, spot) < ELSEWHERE / 3:
            return best
    return spot


def _wall_before(built: Built, view: View, mark: FocusSpot) -> FocusSpot:
    """The wall by which the ray to a mark comes into the solid it lies in; else the mark."""
    _, way = _ray(view, *_slopes(mark))
    near_m, wall = 1e-3, mark
    for _ in range(_SURFACES):
        depth_m, placement, triangle = _hit(built, view, *_slopes(mark), near_m)
        if placement < 0 or depth_m >= mark.depth_m:
            return wall
        if built.solid[placement][int(built.surfaces.thing[triangle])]:
            edges = built.world.tri[triangle]
            turned = built.world.inverse[placement].reshape(3, 4)[:, :3]
            outward = np.cross(edges[3:6], edges[6:9]) @ turned
            wall = replace(mark, depth_m=depth_m) if outward @ way < 0 else mark
        near_m = depth_m * (1 + 1e-6) + 1e-5
    return mark


def _rings(view: View, spot: FocusSpot) -> Iterator[list[tuple[float, float]]]:
    """Slopes of rays round a spot, ring after ring."""
    camera = view.camera()
    x, y = (float(place) for place in camera.positions(_slopes(spot)))
    step = _LOOK_ROUND * view.height_px / _RINGS
    angles = [math.tau * k / _RAYS for k in range(_RAYS)]
    for ring in range(1, _RINGS + 1):
        places = [(x + ring * step * math.cos(a), y + ring * step * math.sin(a)) for a in angles]
        yield [(float(sx), float(sy)) for sx, sy in (camera.slopes(*at) for at in places)]


class ThingsSeen(Mapping[str, tuple[float, float, float]]):
    """Where a view shows each thing of a scene that has a name: (x, y, z) in its frame, metres.

    Looked for when asked for; what lies behind the camera is where its middle is.
    """

    def __init__(self, built: Built, view: View) -> None:
        self._built, self._view = built, view
        self._known: dict[str, tuple[float, float, float]] = {}

    def __getitem__(self, name: str) -> tuple[float, float, float]:
        if name not in self._known:
            x, y, z = map(float, in_camera(self._view, self._built.spots[name]))
            if z > 0:
                spot = thing_spot(self._built, self._view, name)
                z = spot.depth_m
                x, y = spot.slope_x * z, spot.slope_y * z
            self._known[name] = x, y, z
        return self._known[name]

    def __contains__(self, name: object) -> bool:
        return name in self._built.spots

    def __iter__(self) -> Iterator[str]:
        return iter(self._built.spots)

    def __len__(self) -> int:
        return len(self._built.spots)


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
