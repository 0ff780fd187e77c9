"""The sharp band: where blur stays under the circle of confusion.

The criterion is the planar one, ``(f/N) |d| <= c``: its limits are planes through the hinge line.
Asking the spot's longest diameter to stay under c instead shrinks the depth by one to three per
cent and bends the planes slightly.
"""

import math
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from render.errors import LensError, SettingError
from render.optics.blur import BlurField
from render.optics.camera import Camera, Vantage
from render.optics.plane import FocusedLens, SharpPlane, sharp_plane
from render.optics.terrain import ground_line, ground_shows, level_axes, over_ground_m

__all__ = [
    "GroundBand",
    "SharpRun",
    "Wedge",
    "ground_band",
    "level_ground_per_m",
    "plane_blur_gradient",
    "sharp_inverse_range",
    "sharp_runs",
    "wedge",
    "wedge_half_width_m",
]

#: Neighbouring pixels whose 1/z differ by more than this share belong to different things.
_EDGE_SHARE = 0.1


@dataclass(frozen=True, slots=True)
class Wedge:
    """The depth of field of a tilted lens: the planes that bound it and the sharp one between.

    All three contain the hinge line. `near` lies on the lens's side of `sharp`.
    """

    near: SharpPlane
    sharp: SharpPlane
    far: SharpPlane


def wedge(lens: FocusedLens, coc_mm: float) -> Wedge:
    """Planes of ``(f/N) d = +c, 0, -c``: sharp planes of ``v / (1 - cN/f)``, v, ``v / (1 + cN/f)``.

    Raises
    ------
    SettingError
        If the circle of confusion is not above 0, or as wide as the aperture.
    """
    share = _limit(lens, coc_mm)
    return Wedge(
        near=sharp_plane(replace(lens, extension_mm=lens.extension_mm / (1.0 - share))),
        sharp=sharp_plane(lens),
        far=sharp_plane(replace(lens, extension_mm=lens.extension_mm / (1.0 + share))),
    )


def wedge_half_width_m(lens: FocusedLens, coc_mm: float, depth_m: float) -> float:
    """Half the wedge's width at a depth, across the hinge and parallel to the sensor.

    ``J z / H'`` with ``H' = f v / (c N)``: at z = H' it is J to each side (H. M. Merklinger,
    View Camera, Sep/Oct 1996). ``inf`` without tilt.
    """
    sine = math.hypot(lens.axis[0], lens.axis[1])
    if sine == 0:
        return math.inf
    share = _limit(lens, coc_mm)
    return share * lens.focal_mm / (lens.extension_mm * sine) * depth_m


def sharp_inverse_range(lens: FocusedLens, slopes: ArrayLike, coc_mm: float) -> NDArray[np.float64]:
    """Inverse depths (1/m) between which rays are sharp, ``1/lambda ± c N / (f v)``.

    Parameters
    ----------
    slopes : array_like, shape (..., 2)

    Returns
    -------
    ndarray, shape (..., 2), float64
        Near limit first. A far limit of 0 or less is infinity; a near limit below 0 means that
        nothing on the ray is sharp.
    """
    middle = lens.sharp_inverse_depth(slopes)
    half = 1000.0 * _limit(lens, coc_mm) / lens.extension_mm
    return np.stack([middle + half, middle - half], axis=-1)


def plane_blur_gradient(lens: FocusedLens, plane_per_m: ArrayLike) -> tuple[float, float]:
    """Gradient of the signed defocus of a scene plane ``a.P = 1``, per mm of the picture.

    ``a_xy - n_xy / f``; the blur's diameter grows by f/N times its length. A plane at one depth,
    or at infinity, has ``|a_xy| = 0`` and blur that grows by ``sin(tilt) / N``.

    Parameters
    ----------
    plane_per_m : array_like, shape (3,)
    """
    a = np.asarray(plane_per_m, float) / 1000.0
    return (
        float(a[0] - lens.axis[0] / lens.focal_mm),
        float(a[1] - lens.axis[1] / lens.focal_mm),
    )


def level_ground_per_m(vantage: Vantage) -> NDArray[np.float64]:
    """Level ground as the plane ``a.P = 1``, P in metres: down, over the height of the lens.

    Down is ``(sin r cos p, cos r cos p, sin p)`` for pitch p (down) and roll r (clockwise).
    """
    return np.asarray(level_axes(vantage)[1] / vantage.height_m)


@dataclass(frozen=True, slots=True)
class GroundBand:
    """The sharp band of the ground along one straight line of the picture.

    Attributes
    ----------
    far_px, sharp_px, near_px : tuple of 2 floats
        Picture positions (x, y) of the far edge, the sharpest line and the near edge; they may
        lie outside the picture. An edge beyond the horizon lies on the horizon; NaN where all
        of the ground is sharp and there is no such edge. Of ground that is not level, the band
        is what is seen of it: it may end at a skyline.
    far_m, sharp_m, near_m : float
        Their distances along the ground from the point below the lens; ``inf`` is the horizon.
        `sharp_m` is NaN where the sharpest line is not on the ground.
    hidden : bool
        Whether something stands before all of it that the frame would show.
    """

    far_px: tuple[float, float]
    sharp_px: tuple[float, float]
    near_px: tuple[float, float]
    far_m: float
    sharp_m: float
    near_m: float
    hidden: bool = False

    def behind_things(
        self,
        camera: Camera,
        vantage: Vantage,
        x_px: float,
        inverse_depth: NDArray[np.floating[Any]],
    ) -> "GroundBand":
        """The same, knowing what stands before it: it ends where what is seen ends, at a wall.

        Parameters
        ----------
        x_px : float
            The column it runs down.
        inverse_depth : ndarray, shape (n,)
            1/z (1/m) of what is seen down that column, from evenly spaced places of the frame.
        """
        rows = (np.arange(len(inverse_depth)) + 0.5) * camera.height_px / len(inverse_depth)
        half = 0.5 * camera.height_px / len(inverse_depth)
        inside = np.ones(len(rows), bool)
        for edge_px, way in ((self.far_px[1], 1.0), (self.near_px[1], -1.0)):
            if math.isfinite(edge_px):
                inside &= way * (rows - edge_px) >= -half
        slopes = camera.slopes(np.full(len(rows), x_px), rows)
        shows = ground_shows(vantage, slopes, inverse_depth)
        if not inside.any() or not shows[inside].any():
            return replace(self, hidden=bool(inside.any()))
        away = over_ground_m(vantage, slopes, inverse_depth)
        last = float(away[inside].max())
        # a thing within the band, beyond which the ground goes on, ends nothing
        if away[shows].max() >= self.far_m or not np.nan_to_num(self.near_m) < last < self.far_m:
            return self
        top = int(np.flatnonzero(inside)[0])
        if shows[top]:
            return self
        return replace(self, far_px=(x_px, float(rows[shows & inside][0])), far_m=last)

    def edges_in(self, height_px: int) -> tuple[float, float]:
        """`near_m` and `far_m`; NaN where that edge lies above or below the frame."""
        edges = ((self.near_px, self.near_m), (self.far_px, self.far_m))
        near, far = (m if 0 <= px[1] <= height_px else math.nan for px, m in edges)
        return near, far

    def sharpest_in(self, height_px: int) -> float:
        """`sharp_m`; NaN where that line lies above or below the frame."""
        return self.sharp_m if 0 <= self.sharp_px[1] <= height_px else math.nan

    def outside(self, height_px: int) -> str:
        """Where the whole band lies: "below" or "above" the frame; empty if any is in it."""
        if self.far_px[1] > height_px:
            return "below"
        return "above" if self.near_px[1] < 0 else ""


def ground_band(
    lens: FocusedLens,
    camera: Camera,
    vantage: Vantage,
    coc_mm: float,
    x_px: float,
    seen: NDArray[np.floating[Any]] | None = None,
) -> GroundBand | None:
    """Sharp band of the ground down the picture column at `x_px`; None if none of it is sharp.

    Blur of a plane is affine in the picture, so the edges are exact on level ground. Where
    terrain shows several sharp stretches, the one that fills most of the frame is meant.

    Parameters
    ----------
    seen : ndarray, shape (n,), or None
        1/z (1/m) of what is seen down that column, for what stands before the ground; as
        `GroundBand.behind_things` takes it.
    """
    if vantage.terrain is not None:
        band = _terrain_band(lens, camera, vantage, coc_mm, x_px)
    else:
        start = camera.slopes(x_px, camera.centre_y_px)
        band = _ground_band(lens, camera, vantage, coc_mm, start, np.array([0.0, 1.0]))
    if band is None or seen is None:
        return band
    return band.behind_things(camera, vantage, x_px, seen)


def _ground_band(
    lens: FocusedLens,
    camera: Camera,
    vantage: Vantage,
    coc_mm: float,
    start: NDArray[np.float64],
    direction: NDArray[np.float64],
) -> GroundBand | None:
    ground = level_ground_per_m(vantage)
    if ground[:2] @ direction < 0:
        direction = -direction  # towards the near ground
    inverse, inverse_slope = float(ground[:2] @ start + ground[2]), float(ground[:2] @ direction)
    middle = lens.extension_mm * (inverse / 1000.0 - float(lens.sharp_inverse_depth(start)) / 1e3)
    gradient = np.array(plane_blur_gradient(lens, ground))
    slope = lens.extension_mm * float(gradient @ direction)
    share = _limit(lens, coc_mm)
    if inverse_slope <= 1e-15 and inverse <= 0:
        return None  # the line runs along the sky
    horizon = -inverse / inverse_slope if inverse_slope > 1e-15 else -math.inf
    if abs(slope) < 1e-15:
        if abs(middle) > share:
            return None
        edges, sharpest = (horizon, math.inf), math.nan
    else:
        low, high = sorted(((-share - middle) / slope, (share - middle) / slope))
        if high <= horizon:
            return None
        edges, sharpest = (max(low, horizon), high), -middle / slope

    def place(along: float) -> tuple[tuple[float, float], float]:
        if not math.isfinite(along):
            return (math.nan, math.nan), math.nan
        slopes = start + along * direction
        x, y = camera.positions(slopes)
        return (float(x), float(y)), _ground_distance_m(slopes, vantage)

    far, sharp, near = place(edges[0]), place(sharpest), place(edges[1])
    return GroundBand(far[0], sharp[0], near[0], far[1], sharp[1], near[1])


def _terrain_band(
    lens: FocusedLens, camera: Camera, vantage: Vantage, coc_mm: float, x_px: float
) -> GroundBand | None:
    line = ground_line(camera, vantage, x_px)
    away = line.inverse_depth - lens.sharp_inverse_depth(line.slopes)
    defocus = np.where(line.inverse_depth > 0, lens.extension_mm / 1000.0 * away, np.inf)
    numbers = np.arange(len(defocus)) + 0.5
    rows = camera.positions(line.slopes)[:, 1]
    runs = _sharp_between(defocus, line.inverse_depth, _limit(lens, coc_mm))
    if not runs:
        return None

    def height_in_frame(run: SharpRun) -> float:
        first, last = np.interp((run.first_px, run.last_px), numbers, rows)
        inside = np.clip([first, last], 0.0, camera.height_px)
        return float(inside[1] - inside[0] + 1e-6 * (last - first))

    def place(number: float) -> tuple[tuple[float, float], float]:
        return (x_px, float(np.interp(number, numbers, rows))), over(number)

    def over(number: float) -> float:
        inverse = np.where(np.isinf(line.over_m), 0.0, 1.0 / line.over_m)
        found = float(np.interp(number, numbers, inverse))
        return 1.0 / found if found > 0 else math.inf

    run = max(runs, key=height_in_frame)
    # an edge at a depth edge lies between two samples: it is of the ground on the run's side
    first, last = max(run.first_px, 0.5), min(run.last_px, numbers[-1])
    inside = np.flatnonzero((numbers >= first) & (numbers <= last))
    if len(inside):
        first = inside[0] + 0.5 if _breaks(line.inverse_depth, inside[0] - 1) else first
        last = inside[-1] + 0.5 if _breaks(line.inverse_depth, inside[-1]) else last
    far, near = place(first), place(last)
    if run.last_px >= len(defocus):
        near = (math.nan, math.nan), math.nan
    turns = inside[:-1][np.diff(np.sign(defocus[inside])) != 0]
    sharp = (math.nan, math.nan), math.nan
    if len(turns):
        one, other = defocus[turns[0]], defocus[turns[0] + 1]
        sharp = place(turns[0] + 0.5 + one / (one - other))
    return GroundBand(far[0], sharp[0], near[0], far[1], sharp[1], near[1])


def _breaks(inverse_depth: NDArray[np.float64], number: int) -> bool:
    """Whether a line of samples leaves one surface for another after this one."""
    if not 0 <= number < len(inverse_depth) - 1:
        return False
    pair = inverse_depth[number : number + 2]
    return bool(abs(pair[1] - pair[0]) > _EDGE_SHARE * pair.max())


def _ground_distance_m(slopes: NDArray[np.float64], vantage: Vantage) -> float:
    """Distance along the ground from the point below the lens; inf at the horizon, NaN above."""
    ray = np.array([slopes[0], slopes[1], 1.0])
    down = level_ground_per_m(vantage) * vantage.height_m
    falls = float(down @ ray)
    across = float(np.linalg.norm(ray - falls * down))
    if falls < -1e-12:
        return math.nan
    return vantage.height_m * across / falls if falls > 1e-12 else math.inf


@dataclass(frozen=True, slots=True)
class SharpRun:
    """Pixels of one column or row of a picture that are sharp without a break.

    Attributes
    ----------
    first_px, last_px : float
        Picture positions of its ends: top and bottom of a column's, left and right of a row's.
    first_m, last_m : float
        Depths there; ``inf`` is the sky.
    nearest_m, farthest_m : float
        Of all that lies between, its ends included: what stands in the band is nearer than they.
    """

    first_px: float
    last_px: float
    first_m: float
    last_m: float
    nearest_m: float
    farthest_m: float


def sharp_runs(
    field: BlurField, line: int, coc_mm: float, *, across: bool = False
) -> tuple[SharpRun, ...]:
    """Sharp stretches of a picture column from top to bottom, by the depth of its pixels.

    Ends between two pixels of one surface are interpolated; at a depth edge they lie on the
    pixel's border. A band too narrow to hold a pixel's centre is still found on a surface.

    Parameters
    ----------
    line : int
        The column's number, or the row's.
    across : bool
        Of a row instead, from left to right.

    Raises
    ------
    SettingError
        If the picture has no such line.
    """
    camera = field.camera
    size, kind = (camera.height_px, "row") if across else (camera.width_px, "column")
    if not 0 <= line < size:
        raise SettingError(f"{kind} {line} lies outside the picture of {size} {kind}s")
    place = (line, slice(None)) if across else (slice(None), line)
    share = _limit(field.lens, coc_mm)
    runs = _sharp_between(field.defocus[place], field.inverse_depth[place], share)
    return tuple(runs)


def _sharp_between(
    defocus: NDArray[np.floating[Any]], inverse_depth: NDArray[np.floating[Any]], share: float
) -> list[SharpRun]:
    """Sharp stretches of a line of pixels."""
    d, inverse = defocus.astype(float), inverse_depth.astype(float)
    runs = []
    start = (0.0, inverse[0]) if abs(d[0]) <= share else None
    for pixel in range(len(d) - 1):
        pair = inverse[pixel : pixel + 2]
        joined = abs(pair[1] - pair[0]) <= _EDGE_SHARE * pair.max()
        for part in _crossings(d[pixel], d[pixel + 1], share, joined):
            mixed = pair[0] + part * (pair[1] - pair[0])
            place = (pixel + 0.5 + part, mixed if joined else pair[1 if start is None else 0])
            if start is None:
                start = place
            else:
                runs.append(_run(start, place, inverse))
                start = None
    if start is not None:
        runs.append(_run(start, (float(len(d)), inverse[-1]), inverse))
    return runs


def _crossings(first: float, second: float, share: float, joined: bool) -> tuple[float, ...]:
    """Where |d| passes `share` between two pixels, as parts of the way."""
    sharp = abs(first) <= share, abs(second) <= share
    if sharp[0] != sharp[1]:
        outside = second if sharp[0] else first
        limit = math.copysign(share, outside)
        return ((limit - first) / (second - first) if joined else 0.5,)
    if sharp[0] or not joined or first * second > 0:
        return ()
    enter = math.copysign(share, first)
    return (enter - first) / (second - first), (-enter - first) / (second - first)


def _run(
    start: tuple[float, float], end: tuple[float, float], inverse: NDArray[np.float64]
) -> SharpRun:
    """From where to where, and inverse depths there, on a line of pixels with inverse depths."""
    first, last = math.ceil(start[0] - 0.5), math.floor(end[0] - 0.5)
    between = [start[1], end[1], *inverse[first : last + 1]]
    depths_m = [
        1.0 / float(i) if i > 0 else math.inf for i in (*between[:2], max(between), min(between))
    ]
    return SharpRun(float(start[0]), float(end[0]), *depths_m)


def _limit(lens: FocusedLens, coc_mm: float) -> float:
    """Return the largest |d| that still passes for sharp, ``c N / f``."""
    if not coc_mm > 0:
        raise LensError(f"the circle of confusion must be above 0, not {coc_mm:g} mm")
    opening_mm = 2.0 * lens.aperture_radius_mm
    share = coc_mm / opening_mm
    if share >= 1:
        raise LensError(
            f"the opening at f/{lens.focal_mm / opening_mm:.4g}, {opening_mm:.3g} mm, is no wider "
            f"than the blur that passes for sharp ({coc_mm:.3g} mm): choose a wider stop than "
            f"f/{lens.focal_mm / coc_mm:.3g}, or a smaller circle of confusion"
        )
    return share
