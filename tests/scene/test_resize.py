"""A scene at the size it is shown."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from render.optics.camera import Camera, Window
from render.scene.resize import resized
from render.scene.scene import Behind, Scene

RNG = np.random.default_rng(7)


def _scene(width: int, height: int, **more: object) -> Scene:
    picture = RNG.random((height, width, 3), dtype=np.float32)
    depth = np.broadcast_to(np.linspace(90, 10, height, dtype=np.float32)[:, None], (height, width))
    return Scene(picture, depth, Camera(width, height, 1.2 * width), **more)  # type: ignore[arg-type]


@given(st.integers(20, 90), st.integers(20, 90), st.integers(3, 19))
def test_light_is_kept(width: int, height: int, long_side: int) -> None:
    """The mean of the picture does not change, whatever the ratio."""
    scene = _scene(width, height)

    small = resized(scene, long_side)

    assert max(small.depth_m.shape) == long_side
    np.testing.assert_allclose(small.picture.mean(), scene.picture.mean(), rtol=2e-5)


def test_whole_ratios_are_block_means() -> None:
    """At a third of the size each new pixel is the mean of nine."""
    scene = _scene(30, 21)

    small = resized(scene, 10)

    blocks = scene.picture.reshape(7, 3, 10, 3, 3).mean(axis=(1, 3))
    np.testing.assert_allclose(small.picture, blocks, rtol=1e-6)
    np.testing.assert_array_equal(small.depth_m, scene.depth_m[1::3, 1::3])


def test_rays_stay() -> None:
    """The corners of the picture look where they looked."""
    scene = _scene(300, 200)

    small = resized(scene, 75)

    np.testing.assert_allclose(small.camera.slopes(0, 0), scene.camera.slopes(0, 0), rtol=1e-12)
    np.testing.assert_allclose(
        small.camera.slopes(75, 50), scene.camera.slopes(300, 200), rtol=1e-12
    )


def test_the_frame_gets_the_size_and_the_margin_comes_along() -> None:
    """The frame's longer side is what was asked for; what lies behind shrinks too."""
    behind = Behind(np.zeros((200, 300, 3), np.float32), np.full((200, 300), np.nan, np.float32))
    scene = _scene(300, 200, window=Window(50, 40, 200, 120), behind=behind)

    small = resized(scene, 100)

    assert small.frame == Window(25, 20, 100, 60)
    assert small.behind is not None
    assert small.behind.depth_m.shape == (100, 150)


@pytest.mark.parametrize("long_side", [300, 4000])
def test_nothing_is_enlarged(long_side: int) -> None:
    """A scene that is small enough comes back as it is."""
    scene = _scene(300, 200)

    assert resized(scene, long_side) is scene
