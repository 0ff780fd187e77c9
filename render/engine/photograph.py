"""From a scene and a lens setting to the photograph: the recipe on one page."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from render.optics.camera import Camera
from render.optics.lens import LensSetting
from render.optics.plane import FocusedLens

__all__ = ["Photograph"]


@dataclass(frozen=True, slots=True, eq=False)
class Photograph:
    """What the sensor would record of the planned frame.

    Attributes
    ----------
    light : ndarray, shape (h, w, 3), float32
        Linear light of the frame (the scene's window), in the picture's own primaries.
    setting : LensSetting
    lens : FocusedLens
        The setting with its focus worked out.
    camera : Camera
        Of the frame.
    remarks : tuple of str
        What the engine had to assume or could not do, one sentence each.
    """

    light: NDArray[np.float32]
    setting: LensSetting
    lens: FocusedLens
    camera: Camera
    remarks: tuple[str, ...] = ()
