"""Leaves along a stroke, and solid things that are none."""

import numpy as np

from render.depth.near.along import thing_along
from render.depth.near.foliage import leaves_along
from render.depth.sampling import coded

LINE = np.array([[4.0, 60.0], [300.0, 75.0], [596.0, 60.0]])


def _wall() -> np.ndarray:
    rng = np.random.default_rng(5)
    return rng.uniform(0.3, 0.5, (400, 600, 1)) * np.array([1.0, 0.9, 0.8])


def _leafy() -> tuple[np.ndarray, np.ndarray]:
    """Green leaves strewn along the line."""
    rng = np.random.default_rng(6)
    rows, columns = np.mgrid[:400, :600] + 0.5
    leaves = np.zeros((400, 600), bool)
    for x in rng.uniform(5, 595, 180):
        y = 67 + rng.normal(0, 12)
        leaves |= np.hypot((columns - x) / 4.0, (rows - y) / 2.0) < 1
    picture = _wall()
    picture[leaves] = rng.uniform(0.6, 1.3, (int(leaves.sum()), 1)) * np.array([0.06, 0.2, 0.03])
    return picture.astype(np.float32), leaves


def test_what_shows_between_leaves_stays_behind_them() -> None:
    """Nine tenths of what is taken are leaves, and most leaves are taken."""
    picture, leaves = _leafy()

    found = thing_along(picture, [tuple(p) for p in LINE])

    assert (found & leaves).sum() > 0.9 * found.sum()
    assert (found & leaves).sum() > 0.85 * leaves.sum()


def test_a_solid_thing_has_no_leaves() -> None:
    """A rail of new colours is all new; on plain ground nothing is."""
    picture, rail = _wall().astype(np.float32), np.zeros((400, 600), bool)
    rail[58:72] = True
    picture[rail] = (0.05, 0.06, 0.08)

    assert leaves_along(coded(picture), LINE, rail) is None
    assert leaves_along(coded(_wall().astype(np.float32)), LINE, rail) is None
