"""Blur of the planned frame."""

import numpy as np

from render.optics.blur import blur_field
from render.optics.camera import Camera, Window
from render.optics.lens import FocusDistance, LensSetting
from render.optics.plane import focus_lens
from render.scene.field import frame_field
from render.scene.scene import Scene


def test_the_frame_has_the_blur_that_the_whole_picture_has_there() -> None:
    """Cutting the frame out first or last is the same."""
    camera = Camera(60, 40, 70.0)
    rows = np.arange(40, dtype=np.float32)[:, None]
    depth_m = np.broadcast_to(30 - 0.5 * rows, (40, 60)).astype(np.float32)
    scene = Scene(np.zeros((40, 60, 3), np.float32), depth_m, camera, window=Window(12, 9, 30, 20))
    setting = LensSetting(focal_mm=50, f_number=2.8, focus=FocusDistance(15.0), tilt_deg=-6)

    framed = frame_field(scene, setting).radius_px()

    whole = blur_field(focus_lens(setting), camera, depth_m).radius_px()
    np.testing.assert_allclose(framed, whole[9:29, 12:42], rtol=1e-5)
