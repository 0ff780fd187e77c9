from pathlib import Path

import numpy as np

from render.files.formats.carried import Kept
from render.files.formats.picturefile import PictureFile
from render.scene.colour import SRGB


def test_size_is_that_of_the_upright_picture() -> None:
    """Width and height are columns and rows of the light as it is held, however it was turned."""
    light = np.zeros((3, 5, 3), np.float32)
    picture = PictureFile(Path("a.jpg"), "JPEG", light, SRGB, 8, False, 6, Kept())
    assert (picture.width_px, picture.height_px) == (5, 3)
