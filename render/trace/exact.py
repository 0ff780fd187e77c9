"""The exact lens: a described scene traced through the tilted thin lens itself, ray by ray.

It shares nothing with the engine but the optics, so the engine can be checked on any scene.
"""

import math

import numpy as np
from numpy.typing import NDArray

from render.errors import SettingError
from render.optics.iris import iris_corners, lens_plane_axes
from render.optics.lens import Iris, LensSetting
from render.optics.plane import focus_lens
from render.scene.colour import SRGB_CURVE
from render.trace.build import Built
from render.trace.columns import ThinLens
from render.trace.kernels.lens import exact_pass
from render.trace.rays import over_rows
from render.trace.trace import View, eye_numbers

#: Blocks of 8 x 8 pixels have seen the aperture from as many points as they have samples.
_SETS_LOG2 = 6

__all__ = ["agreement_db", "aperture_points", "trace_exact"]


def trace_exact(
    built: Built, view: View, setting: LensSetting, *, samples: int = 256
) -> NDArray[np.float32]:
    """Light that the planned frame would record, each sample through its own aperture point.

    All rays of a picture position pass the point that is sharp there,
    ``1/lambda = n.D/f - 1/v`` along its chief ray D; haze and soft light are as in the pinhole
    picture.

    Parameters
    ----------
    view : View
        Its margin is left out.
    samples : int
        Rays a pixel, at least 1.

    Returns
    -------
    ndarray, shape (h, w, 3), float32
        The same input gives the same bytes on any number of threads.

    Raises
    ------
    SettingError
        If `samples` is below 1.
    """
    if samples < 1:
        raise SettingError(f"the exact lens needs at least 1 sample a pixel, not {samples}")
    camera = view.camera().cropped(view.window)
    lens = focus_lens(setting)
    right, down = lens_plane_axes(lens.axis)
    lengths_mm = (lens.extension_mm, lens.focal_mm, lens.aperture_radius_mm)
    rim_mm = (lens.rim.before_mm, lens.rim.radius_mm) if lens.rim else (0.0, 0.0)
    numbers = [*(mm / 1000 for mm in lengths_mm), *lens.axis, *right, *down]
    numbers += [mm / 1000 for mm in rim_mm]
    points = _spread(samples)
    points[..., 2:] = aperture_points(setting.iris, points[..., 2:])
    out = np.empty((camera.height_px, camera.width_px, 3), np.float32)
    over_rows(
        exact_pass,
        built.world,
        built.surfaces,
        built.light,
        camera.height_px,
        eye_numbers(view, camera),
        ThinLens(*map(float, numbers)),
        points,
        math.ceil(math.log2(samples)),
        out,
    )
    return out


def agreement_db(light: NDArray[np.float32], other: NDArray[np.float32]) -> float:
    """Peak signal-to-noise ratio of two pictures, dB, on sRGB-coded values clipped to 0..1."""
    first, second = (SRGB_CURVE.encode(np.clip(picture, 0, 1)) for picture in (light, other))
    error = float(np.mean(np.square(first - second)))
    return -10 * math.log10(max(error, 1e-12))


def aperture_points(iris: Iris, uniform: NDArray[np.float64]) -> NDArray[np.float64]:
    """Points spread evenly over an iris, from points spread evenly over the unit square.

    Parameters
    ----------
    uniform : ndarray, shape (..., 2)

    Returns
    -------
    ndarray, shape (..., 2), float64
        Right and down in the lens plane, in units of f / 2N.
    """
    corners = iris_corners(iris)
    if len(corners) == 0:
        radius, angle = np.sqrt(uniform[..., 0]), 2 * math.pi * uniform[..., 1]
        return np.stack([radius * np.cos(angle), radius * np.sin(angle)], axis=-1)
    following = np.roll(corners, -1, axis=0)
    areas = np.cumsum(np.abs(corners[:, 0] * following[:, 1] - corners[:, 1] * following[:, 0]))
    place = uniform[..., 1] * areas[-1]
    fan = np.minimum(np.searchsorted(areas, place, side="right"), len(corners) - 1)
    before = np.where(fan > 0, areas[fan - 1], 0.0)
    along = (place - before) / (areas[fan] - before)
    outward = np.sqrt(uniform[..., 0])
    side = corners[fan] * (1 - along)[..., None] + following[fan] * along[..., None]
    return np.ascontiguousarray(side * outward[..., None])


def _spread(count: int) -> NDArray[np.float64]:
    """Sobol points over pixel and aperture, (sets, count, 4), the sets following each other."""
    from scipy.stats import qmc  # a quarter of a second, and seldom asked for

    power = math.ceil(math.log2(count))
    sobol = qmc.Sobol(4, scramble=True, rng=np.random.default_rng(1))
    points = sobol.random_base2(power + _SETS_LOG2).reshape(1 << _SETS_LOG2, -1, 4)
    return np.ascontiguousarray(points[:, :count])
