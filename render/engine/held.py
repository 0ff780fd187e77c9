"""A camera and lens that stay as they are: many pictures of one place, one blur field for all."""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from render.engine.holes import Edges, find_parts, part_pixels
from render.engine.layers import lay_layers
from render.engine.photograph import Photograph
from render.engine.quality import FINAL, Quality
from render.optics.blur import BlurField, blur_field
from render.optics.lens import LensSetting
from render.optics.plane import focus_lens
from render.scene.scene import Scene

__all__ = ["HeldLens", "hold_lens"]


@dataclass(frozen=True, slots=True, eq=False)
class HeldLens:
    """A scene's depth under one lens setting, ready for one picture after another.

    Attributes
    ----------
    scene : Scene
        Its depth, camera, window and what lies behind edges hold for every picture.
    setting : LensSetting
    field : BlurField
    edges : Edges
    """

    scene: Scene
    setting: LensSetting
    field: BlurField
    edges: Edges

    def photograph(self, picture: NDArray[np.float32], quality: Quality = FINAL) -> Photograph:
        """Take another picture of the same place: what `photograph` makes of it, byte for byte.

        Parameters
        ----------
        picture : ndarray, shape (H, W, 3), float32
            Linear light, as large as the scene's.

        Raises
        ------
        InputError
            If it has another size, or holds light that is negative or not a number.
        """
        scene = replace(self.scene, picture=picture, finer=None)
        parts = part_pixels(scene, self.field, self.edges)
        light = lay_layers(scene, self.field, parts, self.setting.iris, quality)
        return Photograph(light, self.setting, self.field.lens, scene.frame_camera)


def hold_lens(scene: Scene, setting: LensSetting) -> HeldLens:
    """Work out blur field and depth edges once, for every picture of the same place.

    Raises
    ------
    SettingError
        If the lens cannot be focused so, or something is so near that its blur has no edge.
    """
    field = blur_field(focus_lens(setting), scene.camera, scene.depth_m)
    return HeldLens(scene, setting, field, find_parts(field))
