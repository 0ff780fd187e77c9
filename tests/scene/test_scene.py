"""`Scene` refuses what is no scene, once, where it is made."""

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from render.errors import InputError
from render.optics.camera import Camera, Window
from render.scene.scene import Behind, Finer, Scene, doubled

LIGHT, DEPTH = np.ones((4, 6, 3), np.float32), np.full((4, 6), 5.0, np.float32)


def _scene(**more: Any) -> Scene:
    return Scene(**{"picture": LIGHT, "depth_m": DEPTH, "camera": Camera(6, 4, 10.0), **more})


@pytest.mark.parametrize(
    ("more", "match"),
    [
        ({"picture": LIGHT[..., 0]}, "height, width, 3"),
        ({"depth_m": DEPTH[:3]}, "resize one"),
        ({"camera": Camera(5, 4, 10.0)}, "must be the same"),
        ({"depth_m": DEPTH * 0}, "above 0 m"),
        ({"depth_m": DEPTH * np.nan}, "above 0 m"),
        ({"picture": -LIGHT}, "negative"),
        ({"picture": LIGHT * np.nan}, "not a number"),
        ({"window": Window(1, 0, 6, 4)}, "does not lie inside"),
    ],
)
def test_what_does_not_fit_is_refused(more: dict[str, Any], match: str) -> None:
    """NaN fails every check."""
    with pytest.raises(InputError, match=match):
        _scene(**more)


def test_arrays_are_frozen_but_the_callers_own_stay_writable() -> None:
    """The frame is the window, or everything."""
    own = DEPTH.copy()
    scene = _scene(depth_m=own, window=Window(1, 1, 3, 2), behind=Behind(LIGHT, DEPTH * np.inf))

    assert not scene.depth_m.flags.writeable
    own[0, 0] = 3.0
    assert (scene.frame_camera.width_px, scene.frame_camera.height_px) == (3, 2)
    assert _scene().frame == Window(0, 0, 6, 4)


def test_quarters_of_pixels_are_those_of_the_picture() -> None:
    """Those of another picture are refused; a scene twice the size shows the same view."""
    light = LIGHT.repeat(2, axis=0).repeat(2, axis=1)
    light[::2], light[1::2] = 0.5, 1.5
    finer = Finer(light, DEPTH.repeat(2, axis=0).repeat(2, axis=1))
    scene = _scene(finer=finer, window=Window(1, 1, 3, 2), behind=Behind(LIGHT, DEPTH * np.inf))

    with pytest.raises(InputError, match="leave them out"):
        replace(scene, picture=LIGHT * 1.1)
    with pytest.raises(InputError, match="two by two"):
        _scene(finer=Finer(LIGHT, DEPTH))
    large = doubled(scene, finer)
    assert large.frame == Window(2, 2, 6, 4)
    np.testing.assert_allclose(large.camera.slopes(4.0, 6.0), scene.camera.slopes(2.0, 3.0))
