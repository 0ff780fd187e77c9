"""Turf, sand and mud: what lies on them is where it belongs, and no lattice shows."""

import numpy as np

from render.world.surfaces.material import Material
from tests.world.surfaces.looks import looks

_SPOTS = np.random.default_rng(7).uniform(-60, 60, (6000, 2))


def _seen(foot_m: float, spots: np.ndarray = _SPOTS, **words: object) -> np.ndarray:
    return looks(Material.of(words), spots, foot_m)


def test_daisies_grow_where_nobody_mows() -> None:
    """White spots in a lawn left alone, none on a pitch."""
    wild = _seen(0.004, rule="grass", colour="#56703a")
    mown = _seen(0.004, rule="grass", colour="#56703a", size_m=(5.5, 5.5))

    assert 0 < np.mean(wild[:, 2] > 0.4) < 0.02
    assert mown[:, 2].max() < 0.4


def test_hollows_are_slopes_without_a_way() -> None:
    """Sand that feet have trodden leans as often one way as another: no wind has combed it."""
    slopes = _seen(0.01, rule="trodden", size_m=(0.02, 0.02), relief=0.3)[:, 7:9]

    assert np.all(np.abs(slopes.mean(axis=0)) < 0.05 * slopes.std())
    assert 0.8 < slopes[:, 0].std() / slopes[:, 1].std() < 1.25


def test_ripples_lie_as_far_apart_as_they_are_said_to() -> None:
    """Where nobody walks, slopes across the wind repeat after the distance between ripples."""
    smooth = {"rule": "trodden", "size_m": (0.02, 0.02), "relief": 0.3}
    blown = {**smooth, "size_m": (0.02, 0.13)}
    shares = []
    for u in np.arange(0.0, 60.0, 1.7):
        line = np.column_stack([np.full(512, u), 0.01 * np.arange(512)])
        ripples = _seen(0.01, line, **blown)[:, 8] - _seen(0.01, line, **smooth)[:, 8]
        power = np.abs(np.fft.rfft(ripples)) ** 2
        if power.sum() > 1e-6:
            shares.append(power[26:57].sum() / power.sum())  # 0.09 to 0.2 m

    assert len(shares) > 10
    assert np.mean(shares) > 4 * 31 / 257  # four times that of noise: ripples wander


def test_only_wet_mud_shines() -> None:
    """A mire mirrors in some places, and those are darker than the dry ones."""
    seen = _seen(0.02, rule="mire", colour="#a08a68", gloss=0.05)
    wet, dry = seen[:, 3] > 0.045, seen[:, 3] == 0.0

    assert 0.1 < wet.mean() < 0.7
    assert 0.1 < dry.mean() < 0.7
    assert np.median(seen[wet, 0]) < 0.7 * np.median(seen[dry, 0])
