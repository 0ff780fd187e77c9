"""Glare in the picture: spikes where blades are, light kept, the rest untouched."""

import numpy as np
import pytest

from render.engine.glare import glare, glare_kernel
from render.engine.photograph import Photograph, photograph
from render.optics.camera import Camera
from render.optics.lens import FocusDistance, Iris, LensSetting
from render.scene.scene import Scene


def _shot(lamp: float, iris: Iris) -> Photograph:
    picture = np.full((161, 161, 3), 0.1, np.float32)
    picture[80, 80] = lamp
    scene = Scene(picture, np.full((161, 161), np.inf), Camera(161, 161, 9000.0))
    setting = LensSetting(focal_mm=50, f_number=11, focus=FocusDistance(np.inf), iris=iris)
    return photograph(scene, setting)


@pytest.mark.parametrize(("blades", "spikes"), [(5, 10), (6, 6), (8, 8)])
def test_a_lamp_has_the_spikes_of_its_iris(blades: int, spikes: int) -> None:
    """An even number of blades as many, an odd number twice as many."""
    shot = _shot(3e4, Iris(blades))
    light = glare(shot, 0.0)[0].light[..., 1]
    turns = np.radians(np.arange(0, 360, 1.0))
    ring = np.mean(
        [
            light[
                np.rint(80 + r * np.sin(turns)).astype(int),
                np.rint(80 + r * np.cos(turns)).astype(int),
            ]
            - 0.1
            for r in range(50, 75)
        ],
        axis=0,
    )
    high = ring > 0.5 * ring.max()

    assert np.count_nonzero(high & ~np.roll(high, 1)) == spikes


def test_light_is_kept_and_colours_spread_by_their_waves() -> None:
    """A kernel adds up to 1 and has no share below 0; red strays farther than blue."""
    kernel = glare_kernel(0.8, Iris(7), 60)
    added = glare(_shot(3e4, Iris(7)), 0.0)[0].light[80, 100:]

    assert kernel.sum() == pytest.approx(1, abs=1e-12)
    assert kernel.min() >= 0
    assert added[:, 0].sum() > added[:, 2].sum()


def test_nothing_else_is_altered() -> None:
    """Without a veil, a picture without light above white keeps every bit; far from a lamp too."""
    dim = _shot(0.9, Iris(6))
    same, none = glare(dim, 0.0)
    lit, strongest = glare(_shot(2.0, Iris(6)), 0.0)

    assert none == 0.0
    np.testing.assert_array_equal(same.light, dim.light)
    assert 0 < strongest < 0.01
    np.testing.assert_allclose(lit.light[:60], 0.1, atol=1e-4)
