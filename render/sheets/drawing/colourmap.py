"""The colour scale of blur: even steps for each doubling, the same for every reader.

The colours are cividis: J. R. Nunez, C. R. Anderton, R. S. Renslow, "Optimizing colormaps
with consideration for color vision deficiency to enable accurate interpretation of
scientific data", PLoS ONE 13(7), 2018; sampled here at 52 steps.
"""

import numpy as np
from numpy.typing import ArrayLike, NDArray

__all__ = ["HIGHEST", "LOWEST", "blur_colours", "scale_place"]

#: Ends of the scale as multiples of the circle of confusion.
LOWEST, HIGHEST = 0.5, 32.0

_CIVIDIS = (
    "00224e002656002a5f002d68003070083370163770203a6f273e6e2e416d34456c3a486c3f4c6c"
    "444f6c49536c4e566c535a6d575d6d5c616e60646f656870696b716d6f727272747676767a7a78"
    "7e7d788381798885788d8878928c789690779b9476a09875a59c74aaa073afa471b5a86fbaac6d"
    "bfb06bc4b468c9b965cfbd62d4c15fdac65bdfca57e5cf52ead34cf0d846f6dd3ffce236fee838"
)
_NODES = np.frombuffer(bytes.fromhex(_CIVIDIS), np.uint8).reshape(-1, 3).astype(np.float32)
_TABLE = np.stack(
    [np.interp(np.linspace(0, len(_NODES) - 1, 256), np.arange(len(_NODES)), c) for c in _NODES.T],
    axis=-1,
).astype(np.float32)


def scale_place(multiple: ArrayLike) -> NDArray[np.float64]:
    """Place on the scale, 0 to 1, of a blur given as a multiple of the circle of confusion."""
    bounded = np.clip(np.asarray(multiple, float), LOWEST, HIGHEST)
    return np.asarray(np.log2(bounded / LOWEST) / np.log2(HIGHEST / LOWEST))


def blur_colours(multiple: ArrayLike, grey: ArrayLike) -> NDArray[np.uint8]:
    """Colour of blur laid over a darkened grey picture.

    Parameters
    ----------
    multiple : array_like, shape (...)
        Blur diameter over the circle of confusion.
    grey : array_like, shape (...)
        sRGB-coded grey of the picture, 0 to 255.

    Returns
    -------
    ndarray, shape (..., 3), uint8
        sRGB-coded.
    """
    place = np.asarray(255 * scale_place(multiple) + 0.5, np.uint8)
    under = np.asarray(grey, np.float32)[..., None]
    return np.asarray(0.74 * _TABLE[place] + 0.20 * under + 0.5, np.uint8)
