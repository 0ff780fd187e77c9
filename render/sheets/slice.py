"""A slice through scene and lens: what a side section or a plan view draws, as numbers.

A slice is the plane that holds the sensor's normal and either the picture's middle column
(side) or its middle row (plan). In it every plane of the optics is a line. Its own
coordinates, in metres: *out* away from the camera, *up* towards the sky (side) or to the
camera's left (plan); the lens centre is the origin. A side slice stands upright where the
camera's pitch is known.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from render.optics.band import ground_band
from render.optics.blur import blur_field
from render.optics.camera import Vantage, Window
from render.optics.lens import LensSetting
from render.optics.plane import FocusedLens, focus_lens
from render.optics.solving.targets import Target
from render.optics.terrain import level_axes, over_ground_m, rise_m
from render.scene.scene import Scene
from render.sheets.drawing.canvas import Point

__all__ = [
    "Frame",
    "Kind",
    "Line",
    "Run",
    "Slice",
    "clip_line",
    "clip_polygon",
    "slice_scene",
    "wedge_polygon",
]

Kind = Literal["side", "plan"]
Frame = tuple[float, float, float, float]  # left, bottom, right, top

#: Neighbouring samples whose 1/z differ by more than this share belong to different things.
_EDGE_SHARE = 0.12
_MOST_SAMPLES = 1500


@dataclass(frozen=True, slots=True)
class Line:
    """The line ``a . (out, up) = b``, lengths in metres."""

    a: tuple[float, float]
    b: float


@dataclass(frozen=True, slots=True, eq=False)
class Run:
    """An unbroken stretch of the scene's profile, all sharp or all not.

    Attributes
    ----------
    points : ndarray, shape (n, 2)
        (out, up), metres.
    sharp : bool
        Blur under the circle of confusion.
    """

    points: NDArray[np.float64]
    sharp: bool


@dataclass(frozen=True, slots=True, eq=False)
class Slice:
    """Everything that one drawing shows.

    Attributes
    ----------
    kind : {"side", "plan"}
    lens : FocusedLens
    across : float
        Component of the lens axis in the slice, across the sensor's normal (down or right).
    turn_deg : float
        How far the sensor's normal looks below the drawing's *out*.
    share : float
        Largest defocus that passes for sharp, c N / f.
    runs : tuple of Run
        Profile of the scene.
    view : tuple of 2 Point
        Directions of the frame's two limits.
    vantage : Vantage or None
        Where the camera stands, of a side slice.
    slope_x, slope_y : float
        The column that is cut, as x/z, or the row, as y/z.
    meets : tuple of floats
        How far out the sharp band of the ground begins and ends.
    """

    kind: Kind
    lens: FocusedLens
    across: float
    turn_deg: float
    share: float
    runs: tuple[Run, ...]
    view: tuple[Point, Point]
    vantage: Vantage | None
    slope_x: float = 0.0
    slope_y: float = 0.0
    meets: tuple[float, ...] = ()

    @property
    def along(self) -> float:
        """Component of the lens axis along the slice: beside the frame's middle it leans too."""
        x, y, z = self.lens.axis
        return float(z + (x * self.slope_x if self.kind == "side" else y * self.slope_y))

    @property
    def ground_m(self) -> float | None:
        """Height of the lens above the ground."""
        return self.vantage.height_m if self.vantage else None

    def ground_up(self, out: ArrayLike) -> NDArray[np.float64]:
        """Height of the bare ground in the drawing, where the vantage is known."""
        assert self.vantage is not None
        ahead = np.asarray(out, float)
        up = np.full_like(ahead, -self.vantage.height_m)
        pitch = math.radians(self.turn_deg)
        for _ in range(3):  # how far aside the column lies hangs a little on how deep the ground is
            aside = self.slope_x * (ahead * math.cos(pitch) - up * math.sin(pitch))
            up = rise_m(self.vantage, aside, ahead) - self.vantage.height_m
        return up

    def turned(self, across: ArrayLike, along: ArrayLike) -> NDArray[np.float64]:
        """Drawing coordinates (out, up) of lengths across (down, right) and along the normal."""
        turn = math.radians(self.turn_deg)
        y, z = np.asarray(across, float), np.asarray(along, float)
        return np.stack(
            [z * math.cos(turn) - y * math.sin(turn), -z * math.sin(turn) - y * math.cos(turn)],
            axis=-1,
        )

    def place_of(self, thing: Target) -> Point:
        """Where a thing is in the drawing."""
        across = (thing.slope_y if self.kind == "side" else thing.slope_x) * thing.depth_m
        out, up = self.turned(across, thing.depth_m)
        return float(out), float(up)

    def line(self, across: float, along: float, b: float) -> Line:
        """Return the line ``across * y + along * z = b`` of the slice in drawing coordinates."""
        turn = math.radians(self.turn_deg)
        out = along * math.cos(turn) - across * math.sin(turn)
        up = -along * math.sin(turn) - across * math.cos(turn)
        return Line((out, up), b)

    def sharp_line(self, defocus: float = 0.0) -> Line:
        """Where the signed defocus has one value: ``(v/f n - (1 - d) z) . P = v`` in metres.

        From ``d = 1 + v/z - (v/f) n.D`` times z; the plane of sharp focus is d = 0.
        """
        ratio = self.lens.extension_mm / self.lens.focal_mm
        return self.line(
            ratio * self.across,
            ratio * self.along - (1.0 - defocus),
            self.lens.extension_mm / 1000.0,
        )

    @property
    def hinge(self) -> Point | None:
        """Hinge line in the slice, None where the lens isn't turned in it."""
        if abs(self.across) < 1e-9:
            return None
        out, up = self.turned(self.lens.focal_mm / self.across / 1000.0, 0.0)
        return float(out), float(up)

    @property
    def scheimpflug(self) -> Point | None:
        """Where the planes of lens, sensor and sharp focus meet in the slice."""
        if abs(self.across) < 1e-9:
            return None
        v = self.lens.extension_mm / 1000.0
        out, up = self.turned(v * self.along / self.across, -v)
        return float(out), float(up)


def slice_scene(
    scene: Scene,
    setting: LensSetting,
    coc_mm: float,
    kind: Kind,
    through: Target | None = None,
) -> Slice:
    """Cut a scene and a focused lens along a column or a row of the frame.

    Parameters
    ----------
    scene : Scene
    setting : LensSetting
    coc_mm : float
        Circle of confusion, mm.
    kind : {"side", "plan"}
    through : Target or None
        The thing whose column or row is cut; the frame's middle where None.

    Raises
    ------
    SettingError
        If the setting cannot be focused.
    """
    lens = focus_lens(setting)
    frame = scene.frame
    column, row = frame.width // 2, frame.height // 2
    if through is not None:
        x, y = scene.frame_camera.positions((through.slope_x, through.slope_y))
        column = min(max(int(x), 0), frame.width - 1)
        row = min(max(int(y), 0), frame.height - 1)
    window = (
        Window(frame.left + column, frame.top, 1, frame.height)
        if kind == "side"
        else Window(frame.left, frame.top + row, frame.width, 1)
    )
    camera, depth = scene.camera.cropped(window), scene.depth_m[window.rows, window.columns]
    field = blur_field(lens, camera, depth)
    columns, rows = camera.grid()
    slopes = rows if kind == "side" else columns
    vantage = scene.vantage if kind == "side" else None
    share = coc_mm / (2.0 * lens.aperture_radius_mm)
    empty = Slice(
        kind=kind,
        lens=lens,
        across=lens.axis[1] if kind == "side" else lens.axis[0],
        turn_deg=vantage.pitch_deg if vantage else 0.0,
        share=share,
        runs=(),
        view=((0.0, 0.0), (0.0, 0.0)),
        vantage=vantage,
        slope_x=float(columns[0]) if kind == "side" else 0.0,
        slope_y=float(rows[0]) if kind == "plan" else 0.0,
    )
    pick = slice(None, None, max(1, depth.size // _MOST_SAMPLES))
    sharp = np.abs(field.defocus.ravel()[pick]) <= share
    ends = empty.turned(slopes[[0, -1]], 1.0).tolist()
    return replace(
        empty,
        runs=_runs(empty, slopes[pick], depth.ravel()[pick], sharp),
        meets=_band_ends(lens, scene, vantage, coc_mm, column),
        view=((ends[0][0], ends[0][1]), (ends[1][0], ends[1][1])),
    )


def _band_ends(
    lens: FocusedLens, scene: Scene, vantage: Vantage | None, coc_mm: float, column: int
) -> tuple[float, ...]:
    """How far ahead the sharp band of the ground begins and ends, or sight does."""
    camera, frame, x_px = scene.frame_camera, scene.frame, column + 0.5
    if vantage is None:
        return ()
    seen = 1.0 / scene.depth_m[frame.rows, frame.left + column].astype(float)
    band = ground_band(lens, camera, vantage, coc_mm, x_px, seen)
    if band is None:
        return ()
    ahead = level_axes(vantage)[2]
    ends = []
    for place, over in ((band.near_px, band.near_m), (band.far_px, band.far_m)):
        if math.isfinite(over):
            slopes = camera.slopes(*place)
            share = float(ahead @ (*slopes, 1.0) / over_ground_m(vantage, slopes, 1.0))
            ends.append(over * share)
    return tuple(ends)


def clip_line(line: Line, frame: Frame) -> tuple[Point, Point] | None:
    """Return the part of a line inside an upright frame, or None."""
    (a, b), c = line.a, line.b
    if math.hypot(a, b) < 1e-12:
        return None
    left, bottom, right, top = frame
    found: list[Point] = []
    for x in (left, right):
        if abs(b) > 1e-12 and bottom - 1e-9 <= (c - a * x) / b <= top + 1e-9:
            found.append((x, (c - a * x) / b))
    for y in (bottom, top):
        if abs(a) > 1e-12 and left - 1e-9 <= (c - b * y) / a <= right + 1e-9:
            found.append(((c - b * y) / a, y))
    if len(found) < 2:
        return None
    first = min(found)
    last = max(found, key=lambda p: math.dist(p, first))
    return (first, last) if math.dist(first, last) > 1e-12 else None


def clip_polygon(points: Sequence[Point], line: Line) -> list[Point]:
    """Keep the part of a polygon where ``a . p <= b`` (Sutherland and Hodgman 1974)."""
    kept: list[Point] = []
    for here, after in zip(points, [*points[1:], *points[:1]], strict=True):
        d0 = line.a[0] * here[0] + line.a[1] * here[1] - line.b
        d1 = line.a[0] * after[0] + line.a[1] * after[1] - line.b
        if d0 <= 0:
            kept.append(here)
        if (d0 < 0) != (d1 < 0) and d0 != d1:
            part = d0 / (d0 - d1)
            kept.append(
                (here[0] + part * (after[0] - here[0]), here[1] + part * (after[1] - here[1]))
            )
    return kept


def wedge_polygon(cut: Slice, frame: Frame) -> list[Point]:
    """Return the part of a frame, in front of the lens, where blur is under the circle."""
    left, bottom, right, top = frame
    polygon: list[Point] = [(left, bottom), (right, bottom), (right, top), (left, top)]
    front = cut.line(0.0, -1.0, 0.0)
    # z d <= z share and z d >= -z share, with z d = z + v - (v/f) n.P
    near, far = cut.sharp_line(cut.share), cut.sharp_line(-cut.share)
    polygon = clip_polygon(polygon, front)
    polygon = clip_polygon(polygon, Line((-near.a[0], -near.a[1]), -near.b)) if polygon else []
    return clip_polygon(polygon, far) if polygon else []


def _runs(
    cut: Slice, slopes: NDArray[np.float64], depth: NDArray[np.float32], sharp: NDArray[np.bool_]
) -> tuple[Run, ...]:
    """Split the profile at depth edges and where sharpness changes; the sky is left out."""
    inverse = 1.0 / depth.astype(float)
    with np.errstate(invalid="ignore"):
        points = cut.turned(slopes * depth, depth)
    jump = np.abs(np.diff(inverse)) > _EDGE_SHARE * np.maximum(inverse[1:], inverse[:-1])
    runs = []
    start = 0
    for i in range(1, len(depth) + 1):
        broken = i == len(depth) or jump[i - 1] or inverse[i] == 0 or inverse[i - 1] == 0
        if broken or sharp[i] != sharp[i - 1]:
            stop = i if broken else i + 1  # a change of sharpness shares its point
            if stop - start >= 2 and inverse[start] > 0:
                runs.append(Run(points[start:stop], bool(sharp[start])))
            start = i
    return tuple(runs)
