"""Smooth blur in few codes: broken up by noise, so that it does not band."""

from dataclasses import replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from render.engine.photograph import Photograph
from render.filters import maximum_filter, minimum_filter
from render.optics.blur import BlurField
from render.scene.colour import Encoding
from render.threads import each_share

__all__ = ["dither"]

#: Blur from this radius on may be dithered, px; sharper pixels stay as they are.
_BLURRED_PX = 0.3
#: A pixel's surroundings: so far each way, px.
_ROUND_PX = 2
#: A channel is smooth where it varies less than this round the pixel, 8-bit codes.
_SMOOTH = 1.5
_SEED = 1


def dither(
    shot: Photograph,
    recorded: NDArray[np.float32],
    field: BlurField,
    encoding: Encoding,
    *,
    grey: bool = False,
) -> Photograph:
    """Round light to 8-bit codes by triangular dither, where blur would leave runs of equal codes.

    That is where a channel varies by less than 1.5 codes in 5 x 5 pixels and did vary there
    before the lens: noise of a triangular density two codes wide is added before rounding, which
    makes mean and variance of the error independent of the light (Lipshitz, Wannamaker and
    Vanderkooy 1992). Everywhere else, and in focus, light stays as it is.

    Parameters
    ----------
    recorded : ndarray, shape (h, w, 3), float32
        The frame before the lens.
    field : BlurField
        Of the frame.
    encoding : Encoding
        The one that is written.
    grey : bool
        All channels are one: they get the same noise.

    Returns
    -------
    Photograph
        The light of whole codes where it was dithered.
    """
    blurred = np.abs(field.radius_px()) >= _BLURRED_PX
    if not blurred.any():
        return shot
    rng = np.random.default_rng(_SEED)
    light = shot.light.copy()
    height, width = light.shape[:2]
    before, after = np.empty((2, 3, height, width), np.uint16)

    def coded(first: int, last: int) -> None:
        for codes, from_light in ((before, recorded), (after, light)):
            codes[:, first:last] = np.moveaxis(encoding.codes(from_light[first:last], 16), 2, 0)

    def rounded(first: int, last: int) -> None:
        rows = slice(first, last)
        for channel in range(3):
            here = blurred[rows] & smooth[channel][rows]
            codes = after[channel, rows][here].astype(np.float32) / np.float32(257.0)
            whole = np.clip(np.rint(codes + noise[channel][rows][here]), 0, 255).astype(np.uint8)
            said = encoding.light(np.repeat(whole[:, None, None], 3, axis=2))
            light[rows, :, channel][here] = said[:, 0, channel]

    each_share(height, coded)
    smooth = [
        (_varies(now) < np.uint16(_SMOOTH * 257)) & (_varies(was) > 0)
        for now, was in zip(after, before, strict=True)
    ]
    shape = (height, width)
    noise = [_noise(rng, shape) for _ in range(1 if grey else 3)] * (3 if grey else 1)
    each_share(height, rounded)
    return replace(shot, light=light)


def _noise(rng: np.random.Generator, shape: tuple[int, ...]) -> NDArray[np.float32]:
    """Of a triangular density, two codes wide."""
    return rng.random(shape, np.float32) - rng.random(shape, np.float32)


def _varies(codes: NDArray[Any]) -> NDArray[Any]:
    """Largest less smallest code in a square round each pixel."""
    size = 2 * _ROUND_PX + 1
    return np.asarray(maximum_filter(codes, size) - minimum_filter(codes, size))
