"""Turning by EXIF orientation."""

import numpy as np
import pytest
from PIL import Image, ImageOps

from render.files.formats.metadata.turning import turned


@pytest.mark.parametrize("orientation", range(1, 9))
def test_arrays_turn_as_pillow_turns_pictures(orientation: int) -> None:
    """All eight orientations, with an array that has no symmetry; two axes or three."""
    codes = np.arange(6, dtype=np.uint8).reshape(2, 3)
    image = Image.fromarray(codes)
    image.getexif()[0x0112] = orientation
    wanted = np.asarray(ImageOps.exif_transpose(image))

    np.testing.assert_array_equal(turned(codes, orientation), wanted)
    np.testing.assert_array_equal(turned(codes[..., None], orientation)[..., 0], wanted)
