"""One blur field for many pictures."""

import numpy as np
import pytest

from render.engine.held import hold_lens
from render.engine.photograph import photograph
from render.errors import InputError
from render.optics.camera import Camera
from render.optics.lens import FocusDistance, LensSetting
from render.scene.scene import Scene

SETTING = LensSetting(focal_mm=90, f_number=2.0, focus=FocusDistance(6.0), tilt_deg=-5.0)


def _scene(seed: int) -> Scene:
    picture = np.random.default_rng(seed).uniform(0, 1, (61, 83, 3)).astype(np.float32)
    depth = np.full((61, 83), 9.0, np.float32)
    depth[20:45, 30:50] = 3.0  # a card, with edges all round
    return Scene(picture, depth, Camera(83, 61, 300.0))


def test_a_held_lens_gives_the_same_bytes_as_a_fresh_one() -> None:
    """Field and edges of the first picture serve the next ones unchanged."""
    held = hold_lens(_scene(1), SETTING)

    for seed in (1, 2, 3):
        scene = _scene(seed)
        np.testing.assert_array_equal(
            held.photograph(scene.picture).light, photograph(scene, SETTING).light
        )


def test_a_picture_of_another_size_is_refused() -> None:
    """A held lens belongs to pictures of one size."""
    held = hold_lens(_scene(1), SETTING)

    with pytest.raises(InputError, match="resize"):
        held.photograph(np.zeros((61, 80, 3), np.float32))
