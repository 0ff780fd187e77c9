"""Bars of a railing come along with its rail."""

import numpy as np

from render.depth.near.offshoots import with_offshoots


def _street() -> np.ndarray:
    rng = np.random.default_rng(4)
    blocks = rng.uniform(0.35, 0.8, (20, 30, 3)).astype(np.float32)
    return np.repeat(np.repeat(blocks, 10, axis=0), 10, axis=1)


def test_bars_of_the_rails_colour_belong_to_it() -> None:
    """Three thin bars below a rail are found from the rail alone, and nothing else is."""
    picture, rail = _street(), np.zeros((200, 300), bool)
    rail[100:112] = True
    bars = np.zeros_like(rail)
    for left in (60, 150, 240):
        bars[112:198, left : left + 6] = True
    picture[rail | bars] = 0.1

    found = with_offshoots(picture, rail)

    true = rail | bars
    assert (found & true).sum() / (found | true).sum() > 0.95


def test_a_dark_house_behind_the_rail_does_not() -> None:
    """It touches the rail and has its colour, but is no slim thing."""
    picture, rail = _street(), np.zeros((200, 300), bool)
    rail[100:112] = True
    picture[rail] = 0.1
    picture[40:100, 80:160] = 0.1

    found = with_offshoots(picture, rail)

    assert (found & ~rail)[40:96, 80:160].sum() < 100
