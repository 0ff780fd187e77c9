"""Parts spread over their figures, against a slow loop."""

import math

import numpy as np
import pytest

from render.engine.photograph import photograph
from render.optics.blur import blur_field
from render.optics.camera import Camera
from render.optics.lens import FocusDistance, LensSetting
from render.optics.plane import focus_lens
from render.scene.scene import Scene


def _slow_over(scene: Scene, setting: LensSetting) -> np.ndarray:
    """Every pixel spread over its own figure by counting fine points; one surface only."""
    lens = focus_lens(setting)
    field = blur_field(lens, scene.camera, scene.depth_m)
    h, w = scene.depth_m.shape
    fine = 8
    light, share = np.zeros((h * fine, w * fine, 3)), np.zeros((h * fine, w * fine))
    y, x = (np.indices((h * fine, w * fine)) + 0.5) / fine
    for i, j in np.ndindex(h, w):
        spot = field.spots_at(i, j)
        m = spot.matrix_mm * field.px_per_mm
        cx, cy = np.array([j + 0.5, i + 0.5]) + spot.offset_mm * field.px_per_mm
        u = np.linalg.solve(m, np.stack([x - cx, y - cy]).reshape(2, -1))
        inside = ((u**2).sum(0) <= 1).reshape(x.shape)
        weight = 1 / (math.pi * abs(np.linalg.det(m)))
        light[inside] += weight * scene.picture[i, j]
        share[inside] += weight
    sums = (
        light.reshape(h, fine, w, fine, 3).sum((1, 3)),
        share.reshape(h, fine, w, fine).sum((1, 3)),
    )
    return sums[0] / sums[1][..., None]


@pytest.mark.parametrize("tilt_deg", [0.0, -6.0])
def test_spreading_agrees_with_a_slow_loop(tilt_deg: float) -> None:
    """A wall of random colour, odd sizes, every pixel's figure painted finely by hand."""
    rng = np.random.default_rng(3)
    picture = rng.random((21, 27, 3), dtype=np.float32)
    scene = Scene(picture, np.full((21, 27), 3.0, np.float32), Camera(27, 21, 700.0))
    setting = LensSetting(focal_mm=50, f_number=1.4, focus=FocusDistance(12), tilt_deg=tilt_deg)

    light = photograph(scene, setting).light

    inner = (slice(5, 16), slice(5, 22))
    assert np.abs(light - _slow_over(scene, setting))[inner].max() < 0.02
