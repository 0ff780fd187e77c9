"""Spread every pixel over its blur figure, in bins from near to far, and lay the bins together."""

import math
import threading
from concurrent.futures import ThreadPoolExecutor

import numpy as np
from numpy.typing import NDArray

from render.engine.holes import Parts
from render.engine.iris import outline, outline_moment, rimmed_outline
from render.engine.kernels.cells import gather_blocks
from render.engine.kernels.rim import what_passes
from render.engine.kernels.tables import (
    BINS,
    BLOCK,
    EYE,
    LAMPS,
    PASSING,
    Bins,
    Blocks,
    Buffers,
    Figure,
    Optic,
    Pixels,
)
from render.engine.kernels.tiles import render_tile
from render.engine.quality import Quality
from render.optics.blur import BlurField, spots
from render.optics.camera import Window
from render.optics.lens import Iris
from render.scene.scene import Scene
from render.threads import shares, thread_count

__all__ = ["bin_cells", "half_disc", "lay_layers", "optic_numbers"]

#: Output pixels are made in squares of this many.
_TILE_PX = 256


def optic_numbers(field: BlurField) -> Optic:
    """Everything the loops need to know of lens and camera."""
    lens, camera = field.lens, field.camera
    nx, ny, nz = lens.axis
    sine = math.hypot(nx, ny)
    hx, hy = (nx / sine, ny / sine) if sine > 0 else (0.0, 1.0)
    before_mm, rim_mm = (lens.rim.before_mm, lens.rim.radius_mm) if lens.rim else (0.0, 0.0)
    per_px = -lens.extension_mm / lens.focal_mm / camera.focal_px
    radius_mm = lens.aperture_radius_mm
    numbers = {
        "right": nx * per_px,
        "down": ny * per_px,
        "per_iz": lens.extension_mm / 1000.0,
        "radius": radius_mm * field.px_per_mm,
        "centre_x": camera.centre_x_px,
        "centre_y": camera.centre_y_px,
        "slope": 1.0 / camera.focal_px,
        "tilt_x": hx,
        "tilt_y": hy,
        "axis_z": nz,
        "sine": sine,
        "keystone": radius_mm * sine / lens.extension_mm,
        "rim_before": before_mm / radius_mm,
        "rim_radius": rim_mm / radius_mm,
        "rim_near": before_mm / lens.extension_mm,
        "longer": lens.extension_mm / lens.focal_mm,
    }
    return Optic(**{name: np.float32(number) for name, number in numbers.items()})


def bin_cells(quality: Quality) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Cell sizes (as powers of 2) in which each bin is gathered first, and then spread."""
    octave = np.zeros(BINS, np.int64)
    size = np.abs(np.arange(64) - 32)
    octave[:64] = np.where(size > 3, (size - 1) // 2, 0)  # class 4 is 2 to 4 px
    octave[64:LAMPS] = np.abs(np.arange(32) - 16)
    octave[LAMPS:] = octave[:64]
    gathered, spread = (
        np.clip(octave + 1 - round(math.log2(border)), 0, 5)
        for border in (quality.gather_px, quality.spread_px)
    )
    return gathered, spread


def lay_layers(
    scene: Scene, field: BlurField, parts: Parts, iris: Iris, quality: Quality
) -> NDArray[np.float32]:
    """Light of the scene's frame, shape (h, w, 3)."""
    frame, optic = scene.frame, optic_numbers(field)
    stretch, reach = _reach(field, frame)
    pixels = Pixels(scene.picture, field.defocus, field.inverse_depth, parts.index, parts.record)
    bins = Bins(*bin_cells(quality))
    blocks = _blocks(frame, reach)
    runs = shares(len(blocks.small), 8 * thread_count())
    seen = np.zeros((len(runs), BINS), np.uint8)
    corners = outline(iris, field.lens)
    whole, moment = rimmed_outline(iris, field.lens), np.float32(outline_moment(corners))
    eyes, area = _eyes(field, optic, whole)
    figure = Figure(corners, whole, moment, half_disc(), np.float32(stretch), area, eyes)
    light = np.empty((frame.height, frame.width, 3), np.float32)

    def gather(run: int) -> NDArray[np.float32]:
        gathered: NDArray[np.float32] = gather_blocks(
            pixels, optic, bins, blocks, *runs[run], seen[run]
        )
        return gathered

    with ThreadPoolExecutor(thread_count()) as pool:
        fragments = np.concatenate(list(pool.map(gather, range(len(runs)))))
        np.cumsum(blocks.starts, out=blocks.starts)
        bases, size = _buffers(seen.max(axis=0), bins.levels)
        small_reach = math.ceil(quality.gather_px * stretch + 3)
        own = threading.local()
        tiles = math.ceil(frame.width / _TILE_PX) * math.ceil(frame.height / _TILE_PX)

        def make(tile: int) -> None:
            if not hasattr(own, "buffers"):
                slab = np.zeros(size, np.float32)  # every tile leaves it empty
                cut = np.empty((whole.shape[0] + 128, 2), np.float32)
                own.buffers = Buffers(slab, bases, cut, np.empty((_TILE_PX + 3, 3), np.float32))
            render_tile(
                *(pixels, optic, bins, figure, blocks, fragments, small_reach),
                *(frame.top, frame.left, _TILE_PX, tile, own.buffers, light),
            )

        list(pool.map(make, range(tiles)))
    return light


def _eyes(
    field: BlurField, optic: Optic, whole: NDArray[np.float32]
) -> tuple[NDArray[np.float32], np.float32]:
    """What a rim leaves open to places of the sensor, empty without one, and the iris' area."""
    if not len(whole):
        return np.zeros((0, 0, EYE), np.float32), np.float32(1.0)
    x, y = whole.astype(float).T
    area = np.float32((x * np.roll(y, -1) - y * np.roll(x, -1)).sum() / 2)
    height, width = field.defocus.shape
    eyes = np.empty((height // PASSING + 2, width // PASSING + 2, EYE), np.float32)
    what_passes(optic, whole, area, np.empty((len(whole) + 128, 2), np.float32), eyes)
    return (eyes if np.any(eyes[..., 0] != 1) else eyes[:0]), area


def _blocks(frame: Window, reach: float) -> Blocks:
    """The blocks whose light may reach the frame; nothing is gathered yet."""
    grow = BLOCK * math.ceil(min(reach, 2.0 * max(frame.width, frame.height)) / BLOCK)
    across = math.ceil((frame.width + 2 * grow) / BLOCK)
    count = across * math.ceil((frame.height + 2 * grow) / BLOCK)
    starts, reaches = np.zeros(count + 1, np.int64), np.zeros(count, np.float32)
    small = np.zeros(count, np.uint8)
    return Blocks(frame.top - grow, frame.left - grow, across, starts, reaches, small)


def _reach(field: BlurField, frame: Window) -> tuple[float, float]:
    """How far a figure reaches per px of its radius, and how far any in the picture does, px."""
    camera = field.camera
    x = np.array([0.0, camera.width_px, frame.left, frame.left + frame.width])
    y = np.array([0.0, camera.height_px, frame.top, frame.top + frame.height])
    slopes = camera.slopes(*np.meshgrid(x, y))
    near = float(field.inverse_depth.max())
    figures = [spots(field.lens, slopes, iz) for iz in (0.0, near)]
    radius = field.lens.aperture_radius_mm
    stretch = 1.0
    for figure, iz in zip(figures, (0.0, near), strict=True):
        d = np.abs(field.lens.extension_mm / 1000.0 * (iz - field.lens.sharp_inverse_depth(slopes)))
        long = figure.semi_axes_mm()[..., 0] + np.hypot(*np.moveaxis(figure.offset_mm, -1, 0))
        stretch = max(stretch, float(np.max(long / np.maximum(d * radius, 1e-6))))
    most = max(float(field.defocus.max()), -float(field.defocus.min()))
    largest = most * radius * field.px_per_mm
    return stretch, stretch * largest + 2.0


def _buffers(seen: NDArray[np.uint8], levels: NDArray[np.int64]) -> tuple[NDArray[np.int64], int]:
    """Where each bin that occurs has its buffer in a thread's slab, and the slab's size."""
    bases = np.full(BINS, -1, np.int64)
    size = 0
    for key in np.flatnonzero(seen):
        level = int(levels[key]) if key < LAMPS else 0
        side = _TILE_PX if level == 0 else (_TILE_PX >> level) + 3
        bases[key] = size
        size += side * (side + 2) * 4
    return bases, size


def half_disc() -> NDArray[np.float32]:
    """Integral of sqrt(1 - t^2) from -1 to t in 1,024 steps."""
    t = np.linspace(-1.0, 1.0, 1025)
    return ((t * np.sqrt(1 - t * t) + np.arcsin(t)) / 2 + math.pi / 4).astype(np.float32)
