"""Diffraction in the picture: the Airy pattern of the iris, for fine sensors and small stops."""

import math
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from render.engine.photograph import Photograph
from render.optics.diffraction import diffraction_mtf

__all__ = ["airy_kernel", "diffract", "spread_px"]

#: Red, green and blue stand for these wavelengths, mm: the dominant ones of the primaries of
#: IEC 61966-2-1 (sRGB) against its white, rounded (from memory).
WAVELENGTHS_MM = (0.611e-3, 0.549e-3, 0.464e-3)
#: The pattern is drawn out to so many lambda N; what light is farther out (2 %) falls inside.
_REACH = 12


def spread_px(shot: Photograph) -> tuple[float, ...]:
    """Lambda N of red, green and blue in pixels; the first dark ring has 1.22 times that radius.

    As the iris sees it, ``lambda / 2R`` in angle, so that the extension plays no part.
    """
    diameter_mm = 2 * shot.lens.aperture_radius_mm
    return tuple(wavelength * shot.camera.focal_px / diameter_mm for wavelength in WAVELENGTHS_MM)


def airy_kernel(spread: float, most_px: int) -> NDArray[np.float64]:
    """Shares of a pixel's light around it; they add up to 1 and none is negative.

    Where the sensor resolves the pattern (from 2 px of `spread`) its transfer function is
    `diffraction_mtf` itself. Below, a grid of pixels can't hold the pattern without taps below
    0, which would ring: they are left out, and the contrast along rows is within 0.035 of it.

    Parameters
    ----------
    spread : float
        Lambda N, px.
    most_px : int
        The kernel reaches no farther.

    Returns
    -------
    ndarray, shape (k, k)
    """
    half = max(1, min(math.ceil(_REACH * spread) + 8, most_px))
    frequency = np.fft.fftfreq(2 * half + 1)
    around = np.hypot(frequency[:, None], frequency[None, :])
    kernel = np.fft.fftshift(np.fft.ifft2(diffraction_mtf(around * spread)).real)
    kernel = np.maximum(kernel, 0)
    return np.asarray(kernel / kernel.sum())


def diffract(shot: Photograph) -> Photograph:
    """Spread every point of the photograph over its Airy pattern, as a round iris in focus does.

    Blur figures get it on top, which is right but for the fine rings inside them; the spikes of
    a bladed iris are not drawn. Energy is kept; beyond the frame its edge pixels go on.
    """
    from scipy import signal  # a quarter of a second, and seldom asked for

    light = np.empty_like(shot.light)
    for channel, spread in enumerate(spread_px(shot)):
        kernel = airy_kernel(spread, max(shot.light.shape[:2])).astype(np.float32)
        wide = np.pad(shot.light[..., channel], kernel.shape[0] // 2, mode="edge")
        light[..., channel] = signal.oaconvolve(wide, kernel, mode="valid")
    return replace(shot, light=np.maximum(light, 0))
