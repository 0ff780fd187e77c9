"""Blur of every pixel of a scene, or of its planned frame."""

from render.optics.blur import BlurField, blur_field
from render.optics.lens import LensSetting
from render.optics.plane import focus_lens
from render.scene.scene import Scene

__all__ = ["frame_field", "scene_field"]


def frame_field(scene: Scene, setting: LensSetting) -> BlurField:
    """Blur of every pixel of the planned frame, under a lens setting."""
    frame = scene.frame
    depth_m = scene.depth_m[frame.rows, frame.columns]
    return blur_field(focus_lens(setting), scene.frame_camera, depth_m)


def scene_field(scene: Scene, setting: LensSetting) -> BlurField:
    """Blur of every pixel of the whole picture, its margin too."""
    return blur_field(focus_lens(setting), scene.camera, scene.depth_m)
