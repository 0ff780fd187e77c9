"""Light shared over the pixels of one smooth surface."""

import numpy as np
from numpy.typing import NDArray

from render.trace.columns import Eye
from render.trace.smoothing import Smoother, lamp_levels

#: 50 px a unit of slope, centre (32, 24): only the numbers that the filter reads.
EYE = Eye(*[0.0] * 12, 50.0, 32.0, 24.0, 0.02)


def _wall() -> NDArray[np.float32]:
    surface = np.zeros((48, 64, 4), np.float32)
    surface[..., 2], surface[..., 3] = -1, 5
    return surface


def _seen(light: NDArray[np.float64], rays: int = 2, noise: float = 0.0) -> NDArray[np.float32]:
    """Sums of some rays a pixel around a mean light."""
    rng = np.random.default_rng(5)
    one = light[..., None] * np.exp(rng.normal(0, noise, (*light.shape, rays)) - noise**2 / 2)
    sums = np.empty((*light.shape, 6), np.float32)[..., :5]  # of more, as the tracer keeps them
    sums[..., :3] = one.sum(axis=-1)[..., None]
    sums[..., 3], sums[..., 4] = rays, (one**2).sum(axis=-1)
    return sums


def test_noise_on_an_even_wall_is_shared_away() -> None:
    """Five levels leave less than a tenth of it, and the mean as it is."""
    sums = _seen(np.full((48, 64), 0.5), noise=0.8)
    got = Smoother(_wall(), EYE).shared(sums, sums[..., 3], 5)[..., 0]

    assert got.std() < 0.1 * (sums[..., 0] / 2).std()
    assert abs(got.mean() - 0.5) < 0.01


def test_lamps_light_is_shared_over_the_same_share_of_any_picture() -> None:
    """Twice the width, twice as many pixels away; never none, and at most eight."""
    assert [lamp_levels(width) for width in (80, 320, 600, 1200, 2400, 9600)] == [1, 1, 1, 2, 3, 3]


def test_surfaces_that_turn_or_step_keep_their_own_light() -> None:
    """Two depths, and two directions, each without noise; the sky has none."""
    surface = _wall()
    surface[:, 20:40, 3] = 9.0
    surface[:, 40:60, :3] = (1, 0, 0)
    light = np.ones((48, 64))
    light[:, 20:40], light[:, 40:60] = 4.0, 9.0
    sums = _seen(light)
    sums[:, 60:] = 0
    surface[:, 60:, 3] = np.inf
    got = Smoother(surface, EYE).shared(sums, sums[..., 3], 4)

    np.testing.assert_allclose(got[:, :60, 1], light[:, :60], rtol=1e-5)
    assert not got[:, 60:].any()


def test_sloping_ground_is_one_surface() -> None:
    """Depth that grows from row to row as a plane does parts nothing."""
    surface = _wall()
    down = (np.arange(48) + 0.5 - 24) / 50
    surface[..., :3] = (0, -1, 0)
    surface[25:, :, 3] = (2 / down[25:])[:, None]
    sums = _seen(np.full((48, 64), 0.5), noise=0.8)
    sums[:25] = 0
    got = Smoother(surface, EYE).shared(sums, sums[..., 3], 5)[25:, :, 0]

    assert got.std() < 0.15 * (sums[25:, :, 0] / 2).std()


def test_light_from_near_by_is_shared_less_far() -> None:
    """A step in the noise of two rays: kept where what sends it is 0.2 m away, levelled at 20 m.

    A pixel of the wall is 0.1 m wide: 0.6 x 0.2 m reaches one pixel, and hardly counts it.
    """
    light = np.full((48, 64), 0.4)
    light[:, 32:] = 0.6
    sums, steps = _seen(light, noise=0.8), []
    for away_m in (0.2, 20.0):
        nearness = sums[..., 3] / np.float32(away_m)
        got = Smoother(_wall(), EYE).shared(sums, sums[..., 3], 3, nearness=nearness, reach=0.6)
        got = got[..., 0].mean(axis=0)
        steps.append(got[32:34].mean() - got[30:32].mean())

    assert steps[0] > 0.9 * 0.2
    assert steps[1] < 0.5 * 0.2


def test_pixels_beside_each_other_share_whatever_is_near() -> None:
    """In a corner two rays of each pixel would be beads: half of their noise goes all the same."""
    sums = _seen(np.full((48, 64), 0.5), noise=0.8)
    nearness = sums[..., 3] / np.float32(0.001)
    got = Smoother(_wall(), EYE).shared(sums, sums[..., 3], 3, nearness=nearness, reach=1.0)[..., 0]

    assert got.std() < 0.5 * (sums[..., 0] / 2).std()


def test_ground_seen_edge_on_shares_what_is_beside_it_in_the_picture() -> None:
    """Pixels there lie metres apart, what sends their light a millimetre: no dots all the same."""
    surface = _wall()
    surface[..., :3] = (0, -1, 0)
    surface[..., 3] = (2 / ((np.arange(48) + 1) / 50))[:, None]
    eye = EYE._replace(centre_y=-0.5)
    sums = _seen(np.full((48, 64), 0.5), noise=0.8)
    nearness = sums[..., 3] / np.float32(0.001)
    got = Smoother(surface, eye).shared(sums, sums[..., 3], 3, nearness=nearness, reach=1.0)[..., 0]

    assert got[2:10].std() < 0.5 * (sums[2:10, :, 0] / 2).std()


def test_the_edge_of_a_shadow_stays_where_rays_agree() -> None:
    """Half the wall in a lamp's shadow, without noise: not one pixel changes."""
    light = np.full((48, 64), 0.05)
    light[:, 30:] = 0.6
    sums = _seen(light, rays=4)

    got = Smoother(_wall(), EYE).shared(sums, sums[..., 3], 3, sharp=True)

    np.testing.assert_allclose(got[..., 0], light, rtol=1e-3)


def test_the_edge_of_a_shadow_stays_where_it_crosses_pixels() -> None:
    """A column whose rays disagree, for the edge lies in it, is no noise of those beside it."""
    light = np.full((48, 64), 0.05)
    light[:, 31:], light[:, 30] = 0.6, 0.325
    sums = _seen(light, rays=4)
    sums[:, 30, 4] = 2 * 0.05**2 + 2 * 0.6**2

    got = Smoother(_wall(), EYE).shared(sums, sums[..., 3], 3, sharp=True)

    np.testing.assert_allclose(got[..., 0], light, rtol=0.01)


def test_the_grain_of_a_penumbra_is_shared_away() -> None:
    """Four rays a pixel, each of which sees the lamp or does not."""
    rays = np.random.default_rng(2).integers(0, 2, (48, 64, 4))
    sums = np.repeat(rays.sum(axis=-1, keepdims=True), 5, axis=-1).astype(np.float32)
    sums[..., 3] = 4

    got = Smoother(_wall(), EYE).shared(sums, sums[..., 3], 3, sharp=True)[..., 0]

    assert got.std() < 0.25 * (sums[..., 0] / 4).std()
    assert abs(got.mean() - 0.5) < 0.01
