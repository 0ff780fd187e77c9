"""What near things hide."""

import numpy as np

from render.engine.holes import part_pixels
from render.optics.blur import blur_field
from render.optics.camera import Camera
from render.optics.lens import FocusDistance, LensSetting
from render.optics.plane import focus_lens
from render.scene.scene import Behind, Scene

CAMERA = Camera(40, 30, 640.0)
SETTING = LensSetting(focal_mm=90, f_number=1.4, focus=FocusDistance(20.0))


def _post(behind: Behind | None = None) -> Scene:
    depth_m = np.full((30, 40), 20.0, np.float32)
    depth_m[:, 15:25] = 4.0
    picture = np.where(depth_m[..., None] < 10, np.float32(0.9), np.float32(0.2))
    return Scene(np.repeat(picture, 3, axis=2), depth_m, CAMERA, behind=behind)


def _parts(scene: Scene):
    return part_pixels(scene, blur_field(focus_lens(SETTING), CAMERA, scene.depth_m))


def test_the_wall_goes_on_behind_the_post():
    """Blind, the wall's colour and depth are carried in under the post, and nowhere else."""
    parts = _parts(_post())

    hidden = parts.record[parts.index[10, 16:24]]
    np.testing.assert_allclose(hidden[:, 9:12], 0.2, atol=1e-5)
    np.testing.assert_allclose(hidden[:, 8], 0.05, atol=1e-5)
    assert (parts.index[:, :10] == -1).all()


def test_what_is_known_to_lie_behind_is_used():
    """A given second surface takes the place of the guess, where it is known."""
    depth_m = np.full((30, 40), np.nan, np.float32)
    depth_m[:15, 15:25] = 10.0
    behind = Behind(np.full((30, 40, 3), 0.6, np.float32), depth_m)
    parts = _parts(_post(behind))

    known, guessed = parts.record[parts.index[5, 18:22]], parts.record[parts.index[25, 18:22]]
    np.testing.assert_allclose(known[:, [8, 9]], [[0.1, 0.6]] * 4, atol=1e-5)
    np.testing.assert_allclose(guessed[:, [8, 9]], [[0.05, 0.2]] * 4, atol=1e-5)


def test_no_depth_edge_no_record():
    """A steep but even slope has no edges."""
    inverse = np.linspace(0.02, 0.4, 30, dtype=np.float32)[:, None] + np.zeros(40, np.float32)
    scene = Scene(np.ones((30, 40, 3), np.float32), (1 / inverse).astype(np.float32), CAMERA)

    assert _parts(scene).record.shape[0] == 0
