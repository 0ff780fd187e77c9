"""Marks of weather and use: bounded, as frequent as asked for, gone where they cannot be seen."""

from collections.abc import Callable

import numpy as np
import pytest

from render.world.surfaces import wear
from tests.steps import opened

_SPOTS = np.random.default_rng(5).uniform(-60, 60, (4000, 2))

#: Each mark at a footprint.
_MARKS: dict[str, Callable[[float, float, float], float]] = {
    "drips": lambda u, v, foot: opened(wear.drips)(u, v, foot, 3.0),
    "bare": lambda u, v, foot: opened(wear.bare)(0.5 * np.sin(u), u, v, 1.3, 0.4, foot),
    "crack": lambda u, v, foot: opened(wear.crack)(u, v, 1.6, foot, 3.0),
    "mended": lambda u, v, foot: opened(wear.mended)(u, v, 1.1, 0.2, foot, 3.0),
    "sooty": lambda u, v, foot: opened(wear.sooty)(v, u, foot, 3.0),
    "runs": lambda u, v, foot: opened(wear.runs)(u, 0.1 * v, 12.0, foot, 3.0),
    "seam": lambda u, v, foot: opened(wear.seam)(u, v, 5.5, foot, 3.0),
    "spots": lambda u, v, foot: opened(wear.spots)(u, v, 0.5, 0.3, foot, 3.0),
}


def _seen(name: str, foot_m: float) -> np.ndarray:
    return np.array([_MARKS[name](u, v, foot_m) for u, v in _SPOTS])


@pytest.mark.parametrize("name", _MARKS)
def test_a_mark_is_there_and_bounded(name: str) -> None:
    """From -1 (a seam) or 0 to 1, somewhere present, somewhere not."""
    seen = _seen(name, 0.005)

    assert seen.min() >= (-1.0 if name == "mended" else 0.0)
    assert seen.max() <= 1.0 + 1e-9
    assert 0 < np.count_nonzero(seen) < seen.size


@pytest.mark.parametrize("name", [name for name in _MARKS if name != "sooty"])
def test_a_mark_too_small_to_see_is_gone(name: str) -> None:
    """Under a footprint of 5 m nothing is left that could glitter."""
    assert not _seen(name, 5.0).any()


def test_drips_are_darkest_at_their_upper_ends() -> None:
    """Going down a wall they begin suddenly and end slowly."""
    down = np.arange(12.0, 0.0, -0.03)
    rises, falls = [], []
    for u in np.arange(0.0, 12.0, 0.41):
        step = np.diff([_MARKS["drips"](u, v, 0.005) for v in down])
        rises.append(step.max())
        falls.append(-step.min())

    assert np.mean(rises) > 2 * np.mean(falls)


def test_spots_are_as_many_as_they_are_said_to_be() -> None:
    """None where their share is none."""
    none = [opened(wear.spots)(u, v, 0.5, 0.0, 0.005, 3.0) for u, v in _SPOTS[:500]]

    assert not any(none)
    assert 0 < np.mean(_seen("spots", 0.005) > 0) < 0.3
