"""Colour mixtures."""

import numpy as np

from render.depth.near.colours import Colours


def test_a_colour_is_likelier_in_the_mixture_that_has_it() -> None:
    """Two reds against two greens, with noise."""
    rng = np.random.default_rng(2)
    noise = rng.normal(0, 0.02, (400, 3))
    red = np.where(np.arange(400)[:, None] % 2, [0.8, 0.1, 0.1], [0.4, 0.0, 0.1]) + noise
    green = np.where(np.arange(400)[:, None] % 2, [0.1, 0.8, 0.1], [0.1, 0.4, 0.3]) + noise
    reds, greens = Colours.of(red, 4), Colours.of(green, 4)

    assert np.all(reds.likelihood(red) > greens.likelihood(red))
    assert np.all(greens.likelihood(green) > reds.likelihood(green))


def test_one_colour_alone_is_enough() -> None:
    """Equal samples give one part, and the density falls away from it."""
    one = Colours.of(np.tile([0.5, 0.5, 0.5], (30, 1)), 4)

    near, far = one.likelihood(np.array([[0.5, 0.5, 0.5], [0.7, 0.5, 0.5]]))

    assert len(one.parts) == 1
    assert near > far
