"""The depth map type: what it refuses, and what it says."""

import numpy as np
import pytest

from render.depth.depthmap import DepthMap
from render.errors import InputError


def _depth(*values: float) -> np.ndarray:
    return np.array([values], np.float32)


@pytest.mark.parametrize("bad", [0.0, -2.0])
def test_depth_of_zero_or_below_is_refused(bad):
    """Depth that is not above 0 m anywhere is refused; holes and sky are not."""
    with pytest.raises(InputError, match="above 0 m"):
        DepthMap(_depth(3.0, np.nan, np.inf, bad), "a test", 0.1)


def test_depth_of_holes_only_is_refused():
    """A map in which nothing is known is refused."""
    with pytest.raises(InputError, match="nothing known"):
        DepthMap(_depth(np.nan, np.nan), "a test", 0.1)


def test_range_is_said_in_words():
    """Nearest, farthest, sky, holes and doubt are said in one line."""
    said = DepthMap(_depth(4.1, 212.0, np.inf, np.nan), "a test", 0.05).words()

    assert said == ("nearest 4.10 m, farthest 212 m, 25 % sky, 25 % not known, about 5 % unsure")


def test_the_depth_is_frozen_but_not_the_callers():
    """The map's own depth cannot be written to; the array it was made from still can."""
    mine = _depth(1.0, 2.0)
    held = DepthMap(mine, "a test", 0.1)

    with pytest.raises(ValueError, match="read-only"):
        held.depth_m[0, 0] = 9
    mine[0, 0] = 5
    assert mine[0, 0] == 5


def test_uncertainty_of_another_size_is_refused():
    """An uncertainty plane must be as large as the depth."""
    with pytest.raises(InputError, match="as large as"):
        DepthMap(_depth(1.0, 2.0), "a test", np.zeros((2, 2), np.float32))
