"""What may be done to light behind the lens; all of it optional, none by default."""

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from render.engine.photograph import Photograph
from render.errors import SettingError
from render.optics.exposure import light_falloff
from render.optics.rim import common_share, rim_circles

__all__ = ["add_grain", "fall_off"]


def fall_off(shot: Photograph) -> Photograph:
    """Darken towards the corners as an ideal thin lens does, 1 where the z axis meets the picture.

    By `light_falloff`, and where the lens has a rim, by the share of a distant point's light that
    passes it too (iris taken as a disc). `photograph` itself keeps each pixel's light, also that
    of a cat's-eye.
    """
    columns, rows = shot.camera.grid()
    slopes = np.stack(np.broadcast_arrays(columns[None, :], rows[:, None]), axis=-1)
    left = light_falloff(shot.lens, slopes)
    if shot.lens.rim:
        centre, radius = rim_circles(
            shot.lens.rim, shot.lens.aperture_radius_mm, shot.lens.axis, slopes, 0.0
        )
        left = left * common_share(np.hypot(centre[..., 0], centre[..., 1]), radius)
    return replace(shot, light=_float32(shot.light * left[..., None]))


def add_grain(shot: Photograph, strength: float, seed: int) -> Photograph:
    """Add noise that grows with the root of the light, as photons' does; the same for one seed.

    Parameters
    ----------
    strength : float
        Standard deviation where the light is 1; blurred places then do not look waxy.

    Raises
    ------
    SettingError
        If `strength` is below 0 or not a number.
    """
    if not 0 <= strength < np.inf:
        raise SettingError(f"grain must be a number of 0 or more, not {strength!r}")
    noise = np.random.default_rng(seed).standard_normal(shot.light.shape, np.float32)
    light = shot.light + np.float32(strength) * np.sqrt(shot.light) * noise
    return replace(shot, light=_float32(np.maximum(light, 0)))


def _float32(light: NDArray[np.floating]) -> NDArray[np.float32]:
    return np.asarray(light, np.float32)
