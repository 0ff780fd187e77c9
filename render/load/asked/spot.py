"""Where in a rectangle of the picture one focuses: on what is sharp and shows it."""

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import gaussian_gradient_magnitude, maximum_filter, minimum_filter

from render.optics.blur import blur_mm
from render.optics.camera import Camera
from render.optics.plane import FocusedLens
from render.optics.solving.selective import Region
from render.optics.solving.targets import Target

__all__ = ["to_focus_on"]

_LEAST_BLURRED = 0.05
_DARKEST = 0.01  # of white: darker than that nothing is told apart (ours)
_SCALE = 0.003  # of the frame's height: what is seen on a magnified screen (ours)
#: Contrast counts e times less at so much of the way from the middle of the rectangle to its edge:
#: what is meant is drawn into the middle (ours).
_MIDDLE = 0.5
#: A step in depth by this share is an outline: a head, 0.2 m, before a wall 7 m away (ours).
_STEP = 0.03


def to_focus_on(
    region: Region,
    lens: FocusedLens,
    coc_mm: float,
    camera: Camera,
    light: NDArray[np.float32] | None,
) -> Target:
    """The place of a region that is sharp and has the most contrast: an eye, not the nose.

    Contrast counts most in the middle, and not at an outline, where what stands behind is a step
    farther: half of such a place is another thing. Where nothing of the region is sharp, it is one
    of its least blurred twentieth; of equal contrast the sharpest.

    Parameters
    ----------
    coc_mm : float
        Blur up to which it is sharp.
    light : ndarray, shape (h, w, 3), or None
        Linear light of the camera's frame.
    """
    blurred_mm = blur_mm(lens, region.slopes, region.inverse_depth)
    usable = blurred_mm <= max(coc_mm, float(np.quantile(blurred_mm, _LEAST_BLURRED)))
    contrast = np.zeros(len(blurred_mm))
    if light is not None:
        x, y = np.moveaxis(np.asarray(camera.positions(region.slopes)), -1, 0).astype(int)
        scale_px = max(1.0, light.shape[0] * _SCALE)
        contrast = _contrast(light, scale_px)[y, x] * _middle(x) * _middle(y)
        contrast[_outline(x, y, region.inverse_depth, scale_px)] = 0.0
    k = int(np.lexsort((blurred_mm, -contrast, ~usable))[0])
    slope_x, slope_y = (float(part) for part in region.slopes[k])
    return Target(slope_x, slope_y, 1.0 / float(region.inverse_depth[k]))


def _contrast(light: NDArray[np.float32], scale_px: float) -> NDArray[np.float64]:
    """How much brightness changes about a pixel, in the logarithm as eyes see it."""
    seen = np.log(light.mean(-1, dtype=float) + _DARKEST)
    return np.asarray(gaussian_gradient_magnitude(seen, scale_px))


def _middle(at: NDArray[np.int64]) -> NDArray[np.float64]:
    """1 in the middle of what a rectangle spans along one side, less towards its edges."""
    low, high = float(at.min()), float(at.max())
    off = (2.0 * at - low - high) / max(high - low, 1.0)
    return np.asarray(np.exp(-((off / _MIDDLE) ** 2)))


def _outline(
    x: NDArray[np.int64], y: NDArray[np.int64], inverse_depth: NDArray[np.floating], scale_px: float
) -> NDArray[np.bool_]:
    """Which pixels of a rectangle lie beside a step in depth, within what contrast looks at."""
    rows, columns = y - y.min(), x - x.min()
    nearness = np.zeros((int(rows.max()) + 1, int(columns.max()) + 1))  # 0 where the sky is
    nearness[rows, columns] = inverse_depth
    size = 2 * int(np.ceil(3 * scale_px)) + 1
    nearest, farthest = maximum_filter(nearness, size), minimum_filter(nearness, size)
    return np.asarray((nearest > (1 + _STEP) * farthest)[rows, columns])
