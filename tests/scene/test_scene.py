"""A scene is checked once, where it is made."""

import numpy as np
import pytest

from render.errors import InputError
from render.optics.camera import Camera, Window
from render.scene.scene import Behind, Scene

PICTURE = np.full((20, 30, 3), 0.5, np.float32)
DEPTH = np.full((20, 30), 5.0, np.float32)
CAMERA = Camera(30, 20, 40.0)


def test_arrays_are_kept_as_read_only_views() -> None:
    """The scene cannot be changed; the caller's own array still can."""
    depth = DEPTH.copy()
    scene = Scene(PICTURE, depth, CAMERA)

    with pytest.raises(ValueError, match="read-only"):
        scene.depth_m[0, 0] = 1
    depth[0, 0] = 2
    assert scene.depth_m.dtype == np.float32


def test_without_a_window_the_whole_picture_is_the_frame() -> None:
    """With one, the frame's camera looks where the picture's does."""
    whole = Scene(PICTURE, DEPTH, CAMERA)
    part = Scene(PICTURE, DEPTH, CAMERA, window=Window(4, 3, 20, 10))

    assert whole.frame == Window(0, 0, 30, 20)
    np.testing.assert_allclose(part.frame_camera.slopes(0, 0), CAMERA.slopes(4, 3))


def _with(array: np.ndarray, value: float) -> np.ndarray:
    changed = array.copy()
    changed.flat[7] = value
    return changed


@pytest.mark.parametrize(
    ("picture", "depth", "camera", "sentence"),
    [
        (PICTURE[..., 0], DEPTH, CAMERA, "height, width, 3"),
        (PICTURE, DEPTH[:5], CAMERA, "the depth is 30 x 5 px, the picture 30 x 20 px"),
        (PICTURE[:0], DEPTH[:0], CAMERA, "empty"),
        (_with(PICTURE, np.nan), DEPTH, CAMERA, "negative or not a number"),
        (_with(PICTURE, -0.1), DEPTH, CAMERA, "negative or not a number"),
        (_with(PICTURE, np.inf), DEPTH, CAMERA, "negative or not a number"),
        (PICTURE, _with(DEPTH, np.nan), CAMERA, "above 0 m everywhere"),
        (PICTURE, _with(DEPTH, 0), CAMERA, "above 0 m everywhere"),
        (PICTURE, DEPTH, Camera(31, 20, 40.0), "the camera is 31 x 20 px"),
    ],
)
def test_what_cannot_be_is_refused(
    picture: np.ndarray, depth: np.ndarray, camera: Camera, sentence: str
) -> None:
    """One sentence that says what is wrong."""
    with pytest.raises(InputError, match=sentence):
        Scene(picture, depth, camera)


def test_a_frame_outside_the_picture_is_refused() -> None:
    """So is a second surface of another size."""
    with pytest.raises(InputError, match="does not lie inside"):
        Scene(PICTURE, DEPTH, CAMERA, window=Window(15, 0, 20, 20))
    with pytest.raises(InputError, match="as large as the picture"):
        Scene(PICTURE, DEPTH, CAMERA, behind=Behind(PICTURE[:5], DEPTH[:5]))


def test_what_lies_behind_may_be_unknown() -> None:
    """NaN says so; zero is a mistake."""
    assert Behind(PICTURE, np.full_like(DEPTH, np.nan)).depth_m.shape == (20, 30)
    with pytest.raises(InputError, match="NaN where it is not known"):
        Behind(PICTURE, 0 * DEPTH)
