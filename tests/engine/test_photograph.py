"""The laws that every photograph keeps."""

import numpy as np
import pytest

from render.engine.photograph import photograph
from render.optics.camera import Camera
from render.optics.lens import FocusDistance, LensSetting
from render.scene.scene import Scene


@pytest.mark.parametrize("tilt_deg", [0.0, -8.0])
def test_a_constant_picture_stays_constant(tilt_deg):
    """One colour everywhere stays that colour, whatever the depth does."""
    rng = np.random.default_rng(1)
    depth_m = rng.choice(np.array([2.0, 5.0, 60.0, np.inf], np.float32), (61, 83))
    picture = np.full((61, 83, 3), (0.7, 0.2, 0.4), np.float32)
    scene = Scene(picture, depth_m, Camera(83, 61, 120.0))
    setting = LensSetting(focal_mm=90, f_number=2.8, focus=FocusDistance(5.0), tilt_deg=tilt_deg)

    light = photograph(scene, setting).light

    np.testing.assert_allclose(light, picture, rtol=2e-4)
