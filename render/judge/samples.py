"""A scene on the stated grid that the judgement looks at.

Grid: every k-th pixel of the planned frame, k = ceil(sqrt(pixels / 500 000)), starting in the
middle of the first k x k cell. Depth is taken at that pixel, never averaged over an edge; the
local detail is that of the cells' mean luminance, at a scale that is a share of the picture, so
that the number of pixels does not matter.

Noise: on any plane 1/z is linear in the picture, so second differences of 1/z along rows are 0
but for noise and edges. Their lower quartile tells independent noise of pixels (derived here); a
map with such noise is cleaned by a median filter, and what is left is told to the fits.
"""

import math
from dataclasses import dataclass, replace

import numpy as np
import scipy
from numpy.typing import NDArray

from render.errors import InputError
from render.optics.camera import Camera, Window
from render.scene.colour import LUMINANCE
from render.scene.scene import Scene
from render.words import pitch_words

__all__ = ["Samples", "grid_step", "sample"]

Floats = NDArray[np.float64]

_GRID_CELLS = 500_000
_LUMINANCE = LUMINANCE.astype(np.float32)
_DETAIL_SCALE = 120  # detail is looked at in steps of this part of the longer side
_DETAIL_STEPS = 5  # and pooled over this many of them each way
_COARSE_CELLS = 320  # along the longer side: enough for marks, which are sums over the picture
_NOISE_FROM = 0.004  # less than this, relative, is no noise to speak of
_MEDIANS = ((0.03, 3), (0.10, 5), (math.inf, 7))  # noise up to this: so many cells wide
_DARKEST = 2.0**-9  # darker cells count as this dark, as a share of the 95th percentile
_OUTLINES = 0.05  # blank things have outlines, which show blur too
_ROOM_M = 25.0  # where nothing is farther than this, and no sky is seen, one is indoors
_NEARLY_ALL = 0.98  # of what is seen: a window or an open door takes no more (ours)
_JUST_SEEN_CHANGE = 0.01  # of luminance, relative: about what is just seen (Weber, from memory)


@dataclass(frozen=True, slots=True, eq=False)
class Samples:
    """Rays of the frame, their inverse depth and how much detail can show blur there.

    Attributes
    ----------
    slope_x, slope_y : ndarray, shape (N,)
        Rays as slopes.
    inverse : ndarray, shape (N,)
        1/z in 1/m; 0 for the sky.
    detail : ndarray, shape (N,)
        Weight of each sample, mean 1 over the ground and things; 0 for the sky.
    camera : Camera
        Of the frame, in full pixels.
    shape : tuple of 2 ints
        Rows and columns of the grid; N = rows x columns, unless `scattered`.
    step_px : int
        Pixels between neighbours of the grid.
    blank : bool
        True if the picture shows no detail at all; every sample then counts the same.
    scattered : bool
        True where the rays no longer form the grid (a turned camera).
    noise : float
        Noise that is left in the inverse depth from cell to cell, relative, one sigma.
    """

    slope_x: Floats
    slope_y: Floats
    inverse: Floats
    detail: Floats
    camera: Camera
    shape: tuple[int, int]
    step_px: int
    blank: bool
    scattered: bool = False
    noise: float = 0.0

    @property
    def indoors(self) -> bool:
        """Whether nothing is far and there is no sky: a room, or a yard as narrow."""
        if self.sky_share > 0:
            return False
        return bool(np.quantile(1.0 / self.inverse[self.seen], _NEARLY_ALL) < _ROOM_M)

    @property
    def slope_height(self) -> float:
        """Height of the frame in slopes: what blur is compared with."""
        return self.camera.height_px / self.camera.focal_px

    @property
    def seen(self) -> NDArray[np.bool_]:
        """True where there is a thing at a finite distance."""
        return np.asarray(self.inverse > 0)

    @property
    def sky_share(self) -> float:
        """Share of the frame at infinity."""
        return float(1.0 - self.seen.mean())

    def from_top(self, slope_y: float) -> float:
        """Where a row of slopes lies, from the top of the frame, as a share of its height."""
        camera = self.camera
        return (slope_y * camera.focal_px + camera.centre_y_px) / camera.height_px

    def thinned(self, cells: int = _COARSE_CELLS) -> "Samples":
        """At most 320 or `cells` along the longer side, evenly spread: for sums.

        As many whatever the number of pixels, from the same places of the frame to half a pixel.
        """
        share = cells / max(self.shape)
        if share >= 1:
            return self
        rows, columns = (max(1, round(side * share)) for side in self.shape)
        if self.scattered:
            kept = np.arange(self.inverse.size)[:: math.ceil(1 / share) ** 2]
        else:
            grid = np.arange(self.inverse.size).reshape(self.shape)
            down, across = _spread(self.shape[0], rows), _spread(self.shape[1], columns)
            kept = grid[down[:, None], across[None, :]].ravel()
        detail = self.detail[kept]
        return replace(
            self,
            slope_x=self.slope_x[kept],
            slope_y=self.slope_y[kept],
            inverse=self.inverse[kept],
            detail=detail if np.any(detail > 0) else (self.inverse[kept] > 0).astype(float),
            shape=(rows, columns),
            step_px=max(1, round(self.step_px / share)),
        )

    def reframed(self, pitch_deg: float, camera: Camera) -> tuple["Samples", float]:
        """Look at the same things pitched down by `pitch_deg` more, through another frame.

        Parameters
        ----------
        camera : Camera
            Of the new frame; a fall of the sensor moves its centre up in the picture.

        Returns
        -------
        samples : Samples
            Scattered; those of the rays that fall into the new frame.
        covered : float
            Share of the new frame that the old picture shows.
        """
        c, s = math.cos(math.radians(pitch_deg)), math.sin(math.radians(pitch_deg))
        along = c + s * self.slope_y  # new z per old z
        x, y = self.slope_x / along, (c * self.slope_y - s) / along
        position = camera.positions(np.stack([x, y], axis=-1))
        inside = (
            (along > 0)
            & (position[:, 0] >= 0)
            & (position[:, 0] < camera.width_px)
            & (position[:, 1] >= 0)
            & (position[:, 1] < camera.height_px)
        )
        turned = replace(
            self,
            slope_x=x[inside],
            slope_y=y[inside],
            inverse=(self.inverse / along)[inside],
            detail=self.detail[inside],
            camera=camera,
            scattered=True,
        )
        return turned, _covered(position[inside], camera)

    def depth_towards(self, slope_x: float, slope_y: float) -> float:
        """Depth (m) of the sample nearest to a ray; ``inf`` is the sky."""
        off = (self.slope_x - slope_x) ** 2 + (self.slope_y - slope_y) ** 2
        inverse = float(self.inverse[int(np.argmin(off))])
        return 1.0 / inverse if inverse > 0 else math.inf


def _spread(many: int, few: int) -> NDArray[np.int64]:
    """Which of `many` places lies in the middle of each of `few` equal parts of them."""
    return np.asarray((np.arange(few) + 0.5) * many / few, int)


def grid_step(width_px: int, height_px: int) -> int:
    """Pixels between neighbours of the grid for a frame of this size."""
    return max(1, math.ceil(math.sqrt(width_px * height_px / _GRID_CELLS)))


def sample(scene: Scene, *, margin: bool = False) -> Samples:
    """Take the grid from a scene's planned frame.

    Parameters
    ----------
    margin : bool
        Take the whole picture, margin included (still with the frame's camera).

    Raises
    ------
    InputError
        If everything is sky, so that there is nothing to judge.
    """
    frame = scene.frame
    height, width = scene.depth_m.shape
    area = Window(0, 0, width, height) if margin else frame
    step = grid_step(frame.width, frame.height)
    rows, columns = max(1, area.height // step), max(1, area.width // step)
    top, left = area.top + step // 2, area.left + step // 2
    depth = scene.depth_m[top::step, left::step][:rows, :columns]
    inverse = np.reciprocal(depth.astype(float)).ravel()
    if not np.any(inverse > 0):
        looks = scene.vantage.pitch_deg if scene.vantage else 0.0
        why = f", the camera looking {pitch_words(looks)}" if looks < 0 else ""
        raise InputError(
            f"the depth is sky everywhere in the frame{why}, so nothing can be judged: look lower "
            "or turn round; in a photo say what stands there, a front by its foot line "
            "(--wall-foot), a thing by its outline (--thing), or give distances (--mark)"
        )
    grid, noise = _cleaned(inverse.reshape(rows, columns))
    inverse = grid.ravel()
    luminance = _cell_means(scene.picture[area.rows, area.columns], step, rows, columns)
    detail, blank = _detail(luminance, inverse > 0)
    slope_x, slope_y = scene.camera.cropped(area).grid()
    x = slope_x[step // 2 :: step][:columns]
    y = slope_y[step // 2 :: step][:rows]
    return Samples(
        slope_x=np.tile(x, rows),
        slope_y=np.repeat(y, columns),
        inverse=inverse,
        detail=detail,
        camera=scene.frame_camera,
        shape=(rows, columns),
        step_px=step,
        blank=blank,
        noise=noise,
    )


def _cleaned(inverse: Floats) -> tuple[Floats, float]:
    """The inverse depth without the noise of single cells, and how much of it is left."""
    if inverse.shape[1] < 3:
        return inverse, 0.0
    left, middle, right = inverse[:, :-2], inverse[:, 1:-1], inverse[:, 2:]
    seen = (left > 0) & (middle > 0) & (right > 0)
    if not np.any(seen):
        return inverse, 0.0
    off = np.abs(left - 2.0 * middle + right)[seen] / middle[seen]
    # of a normal variable a quarter lies within 0.3186 sigma; the second difference has sqrt(6)
    noise = float(np.quantile(off, 0.25)) / 0.3186 / math.sqrt(6.0)
    if noise < _NOISE_FROM:
        return inverse, 0.0
    width = next(width for most, width in _MEDIANS if noise <= most)
    middles = scipy.ndimage.median_filter(inverse, width, mode="nearest")
    # the median of n normal values has sqrt(pi / 2 n) of their sd
    left_over = noise * math.sqrt(math.pi / 2.0) / width
    return np.where((inverse > 0) & (middles > 0), middles, inverse), left_over


def _cell_means(
    picture: NDArray[np.float32], step: int, rows: int, columns: int
) -> NDArray[np.float32]:
    whole = picture[: rows * step, : columns * step]
    if step == 1:
        return np.asarray(whole @ _LUMINANCE)
    bands = [
        (whole[row * step : (row + 1) * step] @ _LUMINANCE).mean(axis=0) for row in range(rows)
    ]
    return np.asarray(np.stack(bands).reshape(rows, columns, step).mean(axis=2))


def _detail(luminance: NDArray[np.float32], seen: NDArray[np.bool_]) -> tuple[Floats, bool]:
    """Whether there is anything around each cell that could show blur, 0 to 1; 0 in the sky.

    Mean change of the logarithm of luminance from step to step, over the change that is just
    seen, and no more than 1: brighter light, or a shadow across a pavement, is not more detail.
    """
    bright = float(np.quantile(luminance, 0.95))
    if not bright > 0:
        return seen.astype(float), True
    log = np.log(np.maximum(luminance.astype(float), bright * _DARKEST))
    step = max(1, round(max(log.shape) / _DETAIL_SCALE))
    smooth = scipy.ndimage.uniform_filter(log, step | 1, mode="nearest") if step > 1 else log
    slope = np.zeros_like(log)
    for axis in (0, 1):
        ahead = np.roll(smooth, -step, axis)
        change = np.abs(ahead - smooth)
        edge = [slice(None), slice(None)]
        edge[axis] = slice(max(0, smooth.shape[axis] - step), None)
        change[tuple(edge)] = 0.0
        slope += change + np.roll(change, step, axis)  # both ends, so that a mirror changes nothing
    pooled = scipy.ndimage.uniform_filter(slope / 4.0, (_DETAIL_STEPS * step) | 1, mode="nearest")
    detail = np.clip(pooled / _JUST_SEEN_CHANGE, 0.0, 1.0).ravel() * seen
    blank = not detail.max() > 1e-3
    detail = np.maximum(detail, _OUTLINES * seen)
    return (seen.astype(float), True) if blank else (detail, False)


def _covered(position: Floats, camera: Camera) -> float:
    """Share of a 24 x 24 raster of the frame that holds at least one sample."""
    raster = 24
    column = (position[:, 0] * raster / camera.width_px).astype(int)
    row = (position[:, 1] * raster / camera.height_px).astype(int)
    return len(np.unique(row * raster + column)) / raster**2
