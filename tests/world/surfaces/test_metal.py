"""Painted metal out of doors: as clean as its words say, rusty where it is old, dirty low down."""

import numpy as np
import pytest

from render.world.surfaces.material import Material, linear_rgb
from tests.world.surfaces.looks import looks

_SPOTS = np.random.default_rng(8).uniform(0.5, 40.0, (4000, 2))
#: Far above what lies low.
_HIGH = np.column_stack([_SPOTS[:, 0], _SPOTS[:, 1] + 9])


def _blue(vary: float, rule: str = "weathered", **more: object) -> Material:
    words = {"rule": rule, "colour": "#2f567f", "third": "#ff0000", "relief": 0.0, "vary": vary}
    return Material.of({**words, **more})


def _rusty(vary: float) -> float:
    """Share of blue metal on which red is stronger than blue, high above what lies low."""
    seen = looks(_blue(vary), _HIGH, 0.01)
    return float((seen[:, 0] > seen[:, 2]).mean())


def test_new_paint_has_its_own_colour() -> None:
    """Where nothing varies all of it is the colour asked for."""
    seen = looks(_blue(0.0), _HIGH, 0.01)[:, :3]

    assert seen == pytest.approx(np.tile(linear_rgb("#2f567f"), (len(seen), 1)), rel=1e-6)


def test_the_older_the_rustier() -> None:
    """None on what is fairly new, some on what is worn, and never most of it."""
    new, used, old = (_rusty(vary) for vary in (0.1, 0.45, 0.8))

    assert new == 0.0
    assert 0.01 < used < old < 0.5


def test_rust_takes_the_shine() -> None:
    """What is no longer lacquer does not mirror as lacquer does."""
    seen = looks(_blue(0.8, gloss=0.04), _HIGH, 0.01)
    rusty = seen[:, 0] > 1.5 * seen[:, 2]

    assert rusty.any()
    assert np.all(seen[rusty, 3] < 0.03)
    assert seen[:, 3].max() == pytest.approx(0.04)


def test_dirt_lies_low() -> None:
    """The third colour is at the foot, a reach higher a good deal less, far up none."""
    u = _SPOTS[:1500, 0]

    def red(v: float) -> float:
        seen = looks(_blue(0.14, size_m=(1.0, 0.3)), np.column_stack([u, 0 * u + v]), 0.01)
        return float(seen[:, 0].mean())

    plain = linear_rgb("#2f567f")[0]
    assert red(0.0) - plain > 2 * (red(0.3) - plain) > 0.02
    assert red(2.0) == pytest.approx(red(9.0), rel=0.2)


def test_ribs_lie_as_far_apart_as_they_are_said_to() -> None:
    """The slope along a new sheet swings once in every rib."""
    u = np.linspace(0.0, 6.0, 2400, endpoint=False)
    sheet = _blue(0.0, "corrugated", size_m=(0.25, 0.3), relief=0.5)
    slope = looks(sheet, np.column_stack([u, 0 * u + 20.0]), 0.002)[:, 7]

    assert int(np.argmax(np.abs(np.fft.rfft(slope))[1:])) + 1 == 24
