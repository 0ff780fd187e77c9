"""Part of a scene, with as much round it as blur can reach."""

from render.optics.camera import Window
from render.scene.scene import Behind, Scene

__all__ = ["cut_out"]


def cut_out(scene: Scene, frame: Window, margin: int) -> Scene:
    """Part of a scene: `frame` becomes its frame, with `margin` px round it where there are."""
    height, width = scene.depth_m.shape
    left, top = max(0, frame.left - margin), max(0, frame.top - margin)
    outer = Window(
        left,
        top,
        min(width, frame.left + frame.width + margin) - left,
        min(height, frame.top + frame.height + margin) - top,
    )
    rows, columns = outer.rows, outer.columns
    behind = scene.behind
    return Scene(
        scene.picture[rows, columns],
        scene.depth_m[rows, columns],
        scene.camera.cropped(outer),
        window=Window(frame.left - left, frame.top - top, frame.width, frame.height),
        behind=behind and Behind(behind.picture[rows, columns], behind.depth_m[rows, columns]),
        vantage=scene.vantage,
    )
