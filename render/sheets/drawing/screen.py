"""Linear light as a screen shows it."""

import numpy as np
from numpy.typing import NDArray
from PIL import Image

from render.scene.colour import SRGB, Encoding

__all__ = ["screen_picture"]


def screen_picture(light: NDArray[np.float32], encoding: Encoding) -> Image.Image:
    """Linear light as an 8-bit sRGB picture; what lies outside its range is clipped."""
    if encoding.to_xyz != SRGB.to_xyz:
        matrix = encoding.matrix_to(SRGB).astype(np.float32)
        light = np.maximum(light @ matrix.T, 0)
    return Image.fromarray(np.asarray(SRGB.codes(light, 8)), "RGB")
