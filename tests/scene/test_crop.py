"""A part of a scene is rendered as the whole shows it there."""

import numpy as np

from render.engine.photograph import photograph
from render.optics.camera import Camera, Window
from render.optics.lens import FocusDistance, LensSetting
from render.scene.crop import cut_out
from render.scene.scene import Behind, Scene


def _scene() -> Scene:
    light = np.random.default_rng(4).random((80, 120, 3), np.float32)
    depth = np.full((80, 120), 20.0, np.float32)
    depth[30:, :] = np.linspace(19, 8, 50, dtype=np.float32)[:, None]
    behind = Behind(light[::-1], depth + 2)
    return Scene(light, depth, Camera(120, 80, 130.0), window=Window(6, 4, 108, 72), behind=behind)


def test_a_part_with_its_surroundings_gives_the_light_of_the_whole() -> None:
    """To 1 in 1000, where the margin is as wide as blur reaches."""
    setting = LensSetting(focal_mm=50, f_number=4, tilt_deg=-3, focus=FocusDistance(12))
    whole = photograph(_scene(), setting).light
    part = cut_out(_scene(), Window(46, 34, 40, 24), 30)

    np.testing.assert_allclose(photograph(part, setting).light, whole[30:54, 40:80], atol=1e-3)


def test_at_an_edge_there_is_less_margin_and_everything_stays_in_step() -> None:
    """Picture, depth and what lies behind are cut alike; the frame is the part asked for."""
    scene, asked = _scene(), Window(2, 60, 20, 18)
    part = cut_out(scene, asked, 10)

    assert part.frame == Window(2, 10, 20, 18)
    assert part.depth_m.shape == (30, 32)
    frame = part.frame
    for cut, whole in (
        (part.picture, scene.picture),
        (part.depth_m, scene.depth_m),
        (part.behind.picture, scene.behind.picture),
    ):
        np.testing.assert_array_equal(
            cut[frame.rows, frame.columns], whole[asked.rows, asked.columns]
        )
