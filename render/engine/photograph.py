"""From a scene and a lens setting to the photograph: the recipe on one page."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from render.engine.holes import part_pixels
from render.engine.layers import lay_layers
from render.engine.quality import FINAL, Quality
from render.errors import InputError
from render.optics.blur import blur_field
from render.optics.camera import Camera
from render.optics.lens import LensSetting
from render.optics.plane import FocusedLens, focus_lens
from render.scene.resize import averaged
from render.scene.scene import Scene, doubled

__all__ = ["Photograph", "photograph"]


@dataclass(frozen=True, slots=True, eq=False, repr=False)
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

    def __repr__(self) -> str:
        """Size and setting, without the pixels."""
        height, width = self.light.shape[:2]
        return f"Photograph({width} x {height} px, {self.setting})"


def photograph(scene: Scene, setting: LensSetting, *, quality: Quality = FINAL) -> Photograph:
    """Take the scene through the lens.

    Every pixel is spread over its own exact blur figure; what is nearer covers what is farther.

    Parameters
    ----------
    scene : Scene
        Its margin and what it knows to lie behind edges are used where blur reaches them.
    setting : LensSetting
        Rise and lateral shift are already in the scene's camera and window: not applied again.
    quality : Quality
        `FINAL` for keeps, `PREVIEW` while turning the knobs.

    Raises
    ------
    InputError
        If the scene is none.
    SettingError
        If the lens cannot be focused so, or something is so near that its blur has no edge.
    """
    if not isinstance(scene, Scene):
        raise InputError(
            "a photograph is taken of a Scene, a picture with its depth and camera, not of "
            f"{type(scene).__name__}: open_picture(...).scene is one"
        )
    lens = focus_lens(setting)
    seen = doubled(scene, scene.finer) if scene.finer else scene
    field = blur_field(lens, seen.camera, seen.depth_m)
    parts = part_pixels(seen, field)
    light = lay_layers(seen, field, parts, setting.iris, quality)
    if scene.finer:
        light = averaged(light, scene.frame.height, scene.frame.width)
    return Photograph(light=light, setting=setting, lens=lens, camera=scene.frame_camera)
