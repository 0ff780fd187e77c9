"""Water over sand, a tide's wall, a combed slope: what they must show whatever the seed."""

import numpy as np

from render.world.surfaces.material import Material
from tests.world.surfaces.looks import looks


def _sea(v_m: float, **more: object) -> np.ndarray:
    material = Material.of({"rule": "sea", "colour": "#0f4c66", "relief": 0.0, **more})
    u = np.random.default_rng(5).uniform(-300, 300, 400)
    return looks(material, np.column_stack([u, np.full(400, v_m)]), 0.05)


def test_shallow_water_is_bright_and_loses_its_red_first() -> None:
    """Over sand the blue share grows with depth, and far out only the deep water's own is left.

    Maritorena, Morel and Gentili 1994 (from memory): R = deep + (bed - deep) exp(-2 K depth).
    """
    near, middle, far = (_sea(v)[:, :3].mean(axis=0) for v in (8.0, 60.0, 700.0))
    red = [colour[0] / colour[2] for colour in (near, middle, far)]

    assert near.sum() > middle.sum() > far.sum()
    assert red[0] > 1.0 > red[1] > red[2]


def test_foam_lies_behind_a_front_and_mirrors_nothing() -> None:
    """White at the front, gone eight metres behind it; no water's spread where it is thick."""
    front, behind = (_sea(4096.0 + 64 * 16 + 1 + back) for back in (0.25, 12.0))
    thick = front[:, 1] > 0.55

    assert thick.mean() > 0.3
    assert np.all(front[thick, 9] < 0)
    assert (behind[:, 1] > 0.5).mean() < 0.02
    assert np.all(behind[:, 9] >= 0)


def test_weed_grows_below_high_water_only() -> None:
    """A metre below it a wall is green and dark, a metre above it is the wall's own colour."""
    words = {"rule": "tidal", "colour": "#a39a88", "second": "#a39a88", "vary": 0.0}
    wall = Material.of({**words, "third": "#3b4a22", "joint_m": 0.001})
    u = np.random.default_rng(6).uniform(-60, 60, 400)
    low, high = (looks(wall, np.column_stack([u, np.full(400, v)]), 0.02) for v in (-1.0, 1.8))

    assert np.median(low[:, 1] / low[:, 0]) > 1.2
    assert np.median(low[:, 1]) < 0.4 * np.median(high[:, 1])
    assert np.median(high[:, 0]) > np.median(high[:, 1])


def test_combs_run_down_the_slope() -> None:
    """Where nobody skied, slopes across the combed way are steeper than along it."""
    snow = Material.of({"rule": "groomed", "relief": 0.2})
    seen = looks(snow, np.random.default_rng(7).uniform(-80, 80, (4000, 2)), 0.02)

    assert seen[:, 7].std() > 2 * seen[:, 8].std()
