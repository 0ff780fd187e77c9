"""Spread every pixel over its blur figure, in bins from near to far, and lay the bins together."""

import math
import threading
from concurrent.futures import ThreadPoolExecutor

import numpy as np
from numpy.typing import NDArray

from render.engine import kernels
from render.engine.holes import Parts
from render.engine.iris import outline, outline_moment, rimmed_outline
from render.engine.quality import Quality
from render.engine.threads import shares, thread_count
from render.optics.blur import BlurField, spots
from render.optics.camera import Window
from render.optics.lens import Iris
from render.scene.scene import Scene

__all__ = ["bin_cells", "half_disc", "lay_layers", "optic_numbers"]

#: Output pixels are made in squares of this many.
_TILE_PX = 256
#: Lamps are spread in full, one by one, unless they are more than this share of the pixels.
_LAMP_SHARE = 0.005


def optic_numbers(field: BlurField) -> NDArray[np.float32]:
    """Everything the kernels need to know of lens and camera, shape (16,).

    Defocus per px right and down, per unit of inverse depth; px of radius per unit of defocus;
    principal point x, y; 1/focal px; tilt direction hx, hy; n_z; sine of the tilt; k per unit.
    The rim's way before the iris and its radius, both in iris radii (0: none); its way / v; v / f.
    """
    lens, camera = field.lens, field.camera
    nx, ny, nz = lens.axis
    sine = math.hypot(nx, ny)
    hx, hy = (nx / sine, ny / sine) if sine > 0 else (0.0, 1.0)
    before_mm, rim_mm = (lens.rim.before_mm, lens.rim.radius_mm) if lens.rim else (0.0, 0.0)
    per_px = -lens.extension_mm / lens.focal_mm / camera.focal_px
    return np.array(
        [
            *(nx * per_px, ny * per_px, lens.extension_mm / 1000.0),
            lens.aperture_radius_mm * field.px_per_mm,
            *(camera.centre_x_px, camera.centre_y_px, 1.0 / camera.focal_px),
            *(hx, hy, nz, sine, lens.aperture_radius_mm * sine / lens.extension_mm),
            *(before_mm / lens.aperture_radius_mm, rim_mm / lens.aperture_radius_mm),
            *(before_mm / lens.extension_mm, lens.extension_mm / lens.focal_mm),
        ],
        np.float32,
    )


def bin_cells(quality: Quality) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Cell sizes (as powers of 2) in which each bin is gathered first, and then spread."""
    octave = np.zeros(160, np.int64)
    size = np.abs(np.arange(64) - 32)
    octave[:64] = np.where(size > 3, (size - 1) // 2, 0)  # class 4 is 2 to 4 px
    octave[64:96] = np.abs(np.arange(32) - 16)
    octave[96:] = octave[:64]
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
    grow = 32 * math.ceil(min(reach, 2.0 * max(frame.width, frame.height)) / 32)
    top, left = frame.top - grow, frame.left - grow
    across = math.ceil((frame.width + 2 * grow) / 32)
    blocks = across * math.ceil((frame.height + 2 * grow) / 32)
    sources, levels = bin_cells(quality)
    pixels = (scene.picture, field.defocus, field.inverse_depth, parts.index, parts.record, optic)

    starts = np.zeros(blocks + 1, np.int64)
    reaches = np.zeros(blocks, np.float32)
    small = np.zeros(blocks, np.uint8)
    runs = shares(blocks, 8 * thread_count())
    seen = np.zeros((len(runs), 160), np.uint8)
    light = np.empty((frame.height, frame.width, 3), np.float32)
    corners, whole = outline(iris, field.lens), rimmed_outline(iris, field.lens)
    threads = thread_count()

    def gather(run: int) -> NDArray[np.float32]:
        gathered: NDArray[np.float32] = kernels.gather_blocks(
            *pixels, sources, levels, top, left, across, *runs[run],
            starts, reaches, small, seen[run],
        )  # fmt: skip
        return gathered

    with ThreadPoolExecutor(threads) as pool:
        fragments = np.concatenate(list(pool.map(gather, range(len(runs)))))
        np.cumsum(starts, out=starts)
        bases, size = _buffers(seen.max(axis=0), levels)

        own = threading.local()
        tasks = 8 * threads  # more than threads, so that none waits long for another's last tile

        def make(task: int) -> None:
            if not hasattr(own, "slab"):
                own.slab = np.zeros(size, np.float32)  # every task leaves it empty
            kernels.render_tiles(
                *pixels, sources, levels, corners, whole,
                np.float32(outline_moment(corners)), half_disc(), top, left, across, starts,
                reaches, small, fragments,
                np.float32(stretch), math.ceil(quality.gather_px * stretch + 3), frame.top,
                frame.left, _TILE_PX, task, tasks, own.slab, bases,
                np.empty((_TILE_PX + 3, 3), np.float32), light,
            )  # fmt: skip

        list(pool.map(make, range(tasks)))
    return light


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
    bases = np.full(160, -1, np.int64)
    size = 0
    for key in np.flatnonzero(seen):
        level = int(levels[key]) if key < 96 else 0
        side = _TILE_PX if level == 0 else (_TILE_PX >> level) + 3
        bases[key] = size
        size += side * (side + 2) * 4
    return bases, size


def half_disc() -> NDArray[np.float32]:
    """Integral of sqrt(1 - t^2) from -1 to t in 1,024 steps."""
    t = np.linspace(-1.0, 1.0, 1025)
    return ((t * np.sqrt(1 - t * t) + np.arcsin(t)) / 2 + math.pi / 4).astype(np.float32)
