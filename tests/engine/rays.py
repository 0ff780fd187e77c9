"""A small scene of cards over a ground, and photographs of it traced ray by ray.

Independent of the engine: rays leave points of the iris for the conjugate of their pixel and
take the colour of the nearest surface.  Only the ideal lens' own law is shared
(1/lambda = n.D/f - 1/v), and the frame of `render.optics.camera`.
"""

import math
from dataclasses import dataclass

import numpy as np

from render.optics.camera import Camera, Window
from render.optics.lens import Iris, LensSetting
from render.optics.plane import FocusedLens, focus_lens
from render.scene.scene import Behind, Scene


@dataclass(frozen=True)
class Card:
    """A painted rectangle parallel to the sensor at z, in metres; an infinite one is a backdrop."""

    z: float
    left: float
    right: float
    top: float
    bottom: float
    seed: int


#: Posts, a rail and a sign before a wall and the ground; camera 1.5 m above it.
CARDS = (
    Card(3.0, -0.95, -0.87, -2.0, 1.5, 1),
    Card(3.2, 0.42, 0.47, -2.0, 1.5, 2),
    Card(5.0, -3.0, 3.0, 0.35, 0.42, 3),
    Card(7.0, 0.1, 1.1, -0.6, 0.4, 4),
    Card(24.0, -60.0, 60.0, -60.0, 60.0, 5),
)
_GROUND_Y = 1.5


def paint(seed: int, x: np.ndarray, y: np.ndarray, finest_m: float) -> np.ndarray:
    """Colour of a surface at (x, y) metres: waves of many lengths down to `finest_m`."""
    rng = np.random.default_rng(seed)
    base = rng.uniform(0.15, 0.6, 3)
    colour = np.broadcast_to(base, (*x.shape, 3)).copy()
    for _ in range(10):
        length = finest_m * 2.0 ** rng.uniform(0, 4)
        angle, phase = rng.uniform(0, 2 * math.pi, 2)
        wave = np.sin(
            2 * math.pi / length * (x * math.cos(angle) + y * math.sin(angle)) + phase
        ).astype(np.float32)
        colour += 0.06 * base * wave[..., None]
    return colour


def trace(
    start: np.ndarray, way: np.ndarray, fx_px: float, skip: np.ndarray | None = None
) -> tuple[np.ndarray, np.ndarray]:
    """Colour and z of what rays (..., 3) from `start` meet first (beyond z = `skip`)."""
    best = np.full(np.broadcast_shapes(start.shape, way.shape)[:-1], np.inf)
    colour = np.zeros((*best.shape, 3))
    for card in CARDS:
        s = (card.z - start[..., 2]) / way[..., 2]
        x, y = start[..., 0] + s * way[..., 0], start[..., 1] + s * way[..., 1]
        hit = (s > 0) & (card.z < best)
        hit &= (x > card.left) & (x < card.right) & (y > card.top) & (y < card.bottom)
        if skip is not None:
            hit &= card.z > skip * 1.001
        if hit.any():
            colour[hit] = paint(card.seed, x[hit], y[hit], 3 * card.z / fx_px)
            best[hit] = card.z
    s = (_GROUND_Y - start[..., 1]) / way[..., 1]
    z = start[..., 2] + s * way[..., 2]
    hit = (s > 0) & (z > 0) & (z < best)
    if skip is not None:
        hit &= z > skip * 1.001
    x = start[..., 0] + s * way[..., 0]
    colour[hit] = paint(9, x[hit], z[hit], 90 / fx_px)
    best[hit] = z[hit]
    return colour, best


def pinhole_scene(camera: Camera, *, window: Window | None = None, behind: bool = False) -> Scene:
    """What the pinhole sees: pixels averaged over 5 x 5 rays, depth at their centres."""
    picture = np.zeros((camera.height_px, camera.width_px, 3))
    origin = np.zeros(3)
    for a in range(5):
        for b in range(5):
            picture += trace(
                origin, _directions(camera, (a + 0.5) / 5, (b + 0.5) / 5), camera.focal_px
            )[0]
    _, depth_m = trace(origin, _directions(camera, 0.5, 0.5), camera.focal_px)
    second = None
    if behind:
        colour, z = trace(origin, _directions(camera, 0.5, 0.5), camera.focal_px, depth_m)
        z = np.where(np.isfinite(z), z, np.nan)
        second = Behind(colour.astype(np.float32), z.astype(np.float32))
    return Scene(
        (picture / 25).astype(np.float32), depth_m.astype(np.float32), camera, window, second
    )


def iris_points(iris: Iris, lens: FocusedLens, count: int) -> np.ndarray:
    """Points spread evenly over the iris, metres; corners count from the lens' right to down."""
    n = np.array(lens.axis)
    right = np.cross((0.0, 1.0, 0.0), n)
    right /= np.linalg.norm(right)
    down = np.cross(n, right)
    k = np.arange(3 * count)
    u = (0.5 + k * 0.7548776662466927) % 1 * 2 - 1  # R2 sequence: additive recurrence
    v = (0.5 + k * 0.5698402909980532) % 1 * 2 - 1
    inside = u * u + v * v <= 1
    if iris.blades:
        half = math.pi / iris.blades
        angle = (np.arctan2(v, u) - math.radians(iris.rotation_deg)) % (2 * half) - half
        inside &= np.hypot(u, v) * np.cos(angle) <= math.cos(half)
    u, v = u[inside][:count], v[inside][:count]
    return lens.aperture_radius_mm / 1000 * (u[:, None] * right + v[:, None] * down)


def traced_photograph(camera: Camera, setting: LensSetting, rays: int) -> np.ndarray:
    """The photograph that light makes: every pixel from `rays` points of the iris."""
    lens = focus_lens(setting)
    rng = np.random.default_rng(0)
    total = np.zeros((camera.height_px, camera.width_px, 3))
    passed = np.zeros((camera.height_px, camera.width_px, 1))
    points = iris_points(setting.iris, lens, rays)
    for point in points:
        way = _directions(camera, rng.uniform(), rng.uniform())
        sharp = lens.sharp_inverse_depth(way[..., :2])[..., None]
        # towards the conjugate D / sharp; away from it where that lies behind the lens
        way = way - point * sharp
        through = passes_rim(lens, point, way)[..., None]
        total += through * trace(point, way, camera.focal_px)[0]
        passed += through
    return total / passed


def passes_rim(lens: FocusedLens, start: np.ndarray, way: np.ndarray) -> np.ndarray:
    """Whether rays that leave the iris at `start` pass the rim before it."""
    if lens.rim is None:
        return np.ones(way.shape[:-1], bool)
    n, before = np.array(lens.axis), lens.rim.before_mm / 1000
    step = (before - start @ n) / (way @ n)
    off = start + step[..., None] * way - before * n
    return np.asarray(np.linalg.norm(off, axis=-1) <= lens.rim.radius_mm / 1000)


def psnr(light: np.ndarray, truth: np.ndarray) -> float:
    """PSNR in dB on sRGB-coded values (IEC 61966-2-1)."""
    return float(-10 * np.log10(np.mean((_coded(light) - _coded(truth)) ** 2)))


def _coded(light: np.ndarray) -> np.ndarray:
    x = np.clip(np.asarray(light, float), 0, 1)
    return np.where(x <= 0.0031308, 12.92 * x, 1.055 * np.maximum(x, 1e-9) ** (1 / 2.4) - 0.055)


def _directions(camera: Camera, right: float, down: float) -> np.ndarray:
    columns = np.arange(camera.width_px)[None, :] + right
    rows = np.arange(camera.height_px)[:, None] + down
    slopes = camera.slopes(columns, rows)
    return np.concatenate([slopes, np.ones((*slopes.shape[:2], 1))], axis=-1)
