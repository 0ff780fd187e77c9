"""Where in a rectangle of the picture one focuses: on what is sharp and shows it."""

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import gaussian_gradient_magnitude

from render.optics.blur import defocus
from render.optics.camera import Camera
from render.optics.plane import FocusedLens
from render.optics.solving.selective import Region
from render.optics.solving.targets import Target

__all__ = ["to_focus_on"]

_LEAST_BLURRED = 0.05
_DARKEST = 0.01  # of white: darker than that nothing is told apart (ours)
_SCALE = 0.003  # of the frame's height: what is seen on a magnified screen (ours)


def to_focus_on(
    region: Region,
    lens: FocusedLens,
    coc_mm: float,
    camera: Camera,
    light: NDArray[np.float32] | None,
) -> Target:
    """The place of a region that is sharp and has the most contrast: an eye, not the nose.

    Where nothing of it is sharp, one of its least blurred twentieth; of equal contrast the
    sharpest.

    Parameters
    ----------
    coc_mm : float
        Blur up to which it is sharp.
    light : ndarray, shape (h, w, 3), or None
        Linear light of the camera's frame.
    """
    blur_mm = (
        2.0 * lens.aperture_radius_mm * np.abs(defocus(lens, region.slopes, region.inverse_depth))
    )
    usable = blur_mm <= max(coc_mm, float(np.quantile(blur_mm, _LEAST_BLURRED)))
    contrast = np.zeros(len(blur_mm))
    if light is not None:
        x, y = np.moveaxis(np.asarray(camera.positions(region.slopes)), -1, 0).astype(int)
        contrast = _contrast(light)[y, x]
    k = int(np.lexsort((blur_mm, -contrast, ~usable))[0])
    slope_x, slope_y = (float(part) for part in region.slopes[k])
    return Target(slope_x, slope_y, 1.0 / float(region.inverse_depth[k]))


def _contrast(light: NDArray[np.float32]) -> NDArray[np.float64]:
    """How much brightness changes about a pixel, in the logarithm as eyes see it."""
    seen = np.log(light.mean(-1, dtype=float) + _DARKEST)
    return np.asarray(gaussian_gradient_magnitude(seen, max(1.0, light.shape[0] * _SCALE)))
