"""Glare in the picture: the veil of a lens, and the spikes of its iris round bright lights."""

import math
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from render.engine.diffract import spread_px
from render.engine.photograph import Photograph
from render.optics.glare import check_veil, strayed, veiled
from render.optics.lens import Iris

__all__ = ["glare", "glare_kernel"]

#: Light above this throws spikes that are seen; what lies below keeps its pixel.
_WHITE = 1.0
#: Nearer than so many pixels, or lambda N, light counts as where it belongs.
_NEAR_PX, _NEAR_SPREADS = 2.0, 2.0
#: Spikes are drawn out to this share of the picture's longer side.
_REACH = 0.5


def glare_kernel(spread: float, iris: Iris, half_px: int) -> NDArray[np.float64]:
    """Where the light of a point goes, shape (2 half_px + 1,) twice; shares add up to 1.

    What the spikes do not take stays in the middle, as does what would fall beyond.
    """
    offsets = np.arange(-half_px, half_px + 1, dtype=float)
    y, x = np.meshgrid(offsets, offsets, indexing="ij")
    far = np.hypot(x, y) >= max(_NEAR_PX, _NEAR_SPREADS * spread)
    kernel: NDArray[np.float64] = np.zeros(x.shape)
    kernel[far] = strayed(x[far], y[far], spread, iris)
    kernel[half_px, half_px] = 1.0 - kernel.sum()
    return kernel


def glare(shot: Photograph, veil: float) -> tuple[Photograph, float]:
    """Add the veil of a lens and the spikes of its iris.

    Only light brighter than white throws spikes: of the rest they would lie under what can be
    seen, and what is in focus keeps its contrast but for the veil. Each colour has its own width.
    A tilted or cut iris is taken as it looks from the front.

    Parameters
    ----------
    shot : Photograph
    veil : float
        The veiling glare index, a share (`render.optics.glare.veiled`).

    Returns
    -------
    (Photograph, float)
        And the most that spikes added to a pixel below white; 0 where nothing is brighter.

    Raises
    ------
    SettingError
        If the index is none.
    """
    check_veil(veil)
    light = shot.light.copy()
    over = np.maximum(shot.light - _WHITE, 0)
    if over.any():
        from scipy import signal  # a quarter of a second, and seldom asked for

        half = max(1, math.ceil(_REACH * max(light.shape[:2])))
        for channel, spread in enumerate(spread_px(shot)):
            excess = over[..., channel]
            if not excess.any():
                continue
            kernel = glare_kernel(spread, shot.setting.iris, half).astype(np.float32)
            light[..., channel] += signal.oaconvolve(excess, kernel, mode="same") - excess
    light = np.maximum(light, 0)
    strongest = float(np.max(light - shot.light, where=shot.light < _WHITE, initial=0.0))
    return replace(shot, light=veiled(light, veil)), strongest
