"""What may be done to light before and after the lens; all of it optional, none by default."""

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray
from scipy import ndimage

from render.engine.photograph import Photograph
from render.errors import SettingError
from render.optics.exposure import light_falloff
from render.optics.rim import common_share, rim_circles

__all__ = ["add_grain", "fall_off", "lift_highlights"]

#: From this share of the clipping point on a channel counts as clipped.
_CLIPPED = 0.98
#: Light round a lamp or a glint, as a share of full scale, is less than this (ours).
_DARK_ROUND = 0.4


def lift_highlights(picture: NDArray[np.float32], stops: float) -> NDArray[np.float32]:
    """Give small clipped spots the light that the sensor could not hold, so that they open.

    Energy rule: a pixel whose largest channel has reached 98 % of full scale, in a clipped patch
    nowhere thicker than 1 % of the picture's height (3 px at least), carries ``2 ** stops`` times
    its recorded light, if what lies round it, clipped pixels aside, holds on average less than
    40 % of full scale: a lamp or a glint stands out, a speck of a bright sky or of white paint
    in the sun does not. All other pixels, and large clipped areas such as a white sky, stay as
    they are. Meant for a whole picture that clips at full scale, before it is made smaller; one
    that holds light above 1 already gains nothing true by it. How bright a clipped lamp was is
    not in the picture: the number of stops is a guess.

    Parameters
    ----------
    picture : ndarray, shape (H, W, 3), float32
        Linear light, 1 where it clips.

    Returns
    -------
    ndarray, shape (H, W, 3), float32
        The picture itself where there is nothing to lift.

    Raises
    ------
    SettingError
        If `stops` does not lie between 0 and 10.
    """
    if not 0 <= stops <= 10:
        raise SettingError(f"highlights can be lifted by 0 to 10 stops, not {stops!r}")
    clipped = picture.max(axis=2) >= _CLIPPED
    if not stops or not clipped.any():
        return picture
    thick = max(3, round(0.01 * picture.shape[0]))
    cores = ndimage.minimum_filter(clipped, size=thick + 1, mode="constant", cval=0)
    large = ndimage.binary_propagation(cores, mask=clipped)
    outstanding = _light_round(picture, ~clipped, 6 * thick + 1) < _DARK_ROUND
    spots = clipped & ~large & outstanding
    if not spots.any():
        return picture
    gain = np.where(spots, np.float32(2.0**stops), np.float32(1.0))
    return _float32(picture * gain[..., None])


def _light_round(
    picture: NDArray[np.float32], counted: NDArray[np.bool_], size: int
) -> NDArray[np.float32]:
    """Mean of the largest channel over the counted pixels of a square round each; 0 without any."""
    share = ndimage.uniform_filter(counted.astype(np.float32), size)
    total = ndimage.uniform_filter(np.where(counted, picture.max(axis=2), np.float32(0)), size)
    return _float32(np.where(share > 1e-4, total / np.maximum(share, 1e-4), 0))


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
