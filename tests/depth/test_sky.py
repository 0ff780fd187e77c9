"""The sky guessed by colour."""

import numpy as np

from render.depth.sky import guess_sky
from render.optics.camera import Camera, Vantage

from .real import light, riverside_depth


def _roofs() -> tuple[np.ndarray, np.ndarray]:
    """A blue sky that pales downward over a dark skyline with one bright front."""
    rng = np.random.default_rng(2)
    picture = np.empty((160, 240, 3), np.float32)
    pale = np.linspace(0, 1, 160, dtype=np.float32)[:, None, None]
    picture[:] = (1 - pale) * np.array([0.15, 0.3, 0.7]) + pale * np.array([0.6, 0.7, 0.85])
    skyline = 50 + 20 * (np.arange(240) // 30 % 3)
    below = np.arange(160)[:, None] >= skyline
    picture[below] = rng.uniform(0.02, 0.2, (int(below.sum()), 1)) * np.ones(3)
    picture[120:140, 100:140] = 0.8
    return picture.astype(np.float32), ~below


def test_sky_ends_at_the_skyline():
    """All but 2 % of the pixels are told rightly, and a bright front below is not sky."""
    picture, sky = _roofs()

    guess = guess_sky(picture)

    assert np.mean(guess.region != sky) < 0.02
    assert not guess.region[125:135, 105:135].any()
    assert "check it" in guess.remark


def test_a_picture_without_sky_has_none():
    """Where the top edge is foliage or wall nothing is taken for sky, and that is said."""
    picture, _ = _roofs()

    guess = guess_sky(np.ascontiguousarray(picture[115:]))

    assert guess.share == 0
    assert guess.remark == "no sky was found along the top edge"


def test_nothing_below_the_horizon_is_sky():
    """A known vantage cuts the guess off at the horizon, however sky-like what lies below is."""
    picture, _ = _roofs()
    camera = Camera(240, 160, 200.0)

    free = guess_sky(picture)
    cut = guess_sky(picture, camera, Vantage(10.0, 15.0))

    assert free.region[40].any()
    assert not cut.region[28:].any()
    np.testing.assert_array_equal(cut.region[:25], free.region[:25])


def test_sky_of_a_real_view():
    """On the park view the guess agrees with the true sky in all but 2 % of the pixels."""
    guess = guess_sky(light("riverside.png"))

    assert np.mean(guess.region != np.isinf(riverside_depth())) < 0.02
    assert guess.share > 0.02
