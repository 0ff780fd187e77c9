"""What counts as a number."""

import math

import numpy as np
import pytest

from render.optics.checked import finite


@pytest.mark.parametrize("value", [0, -3, 2.5, np.float32(1.5), np.int64(4)])
def test_numbers_of_any_make_count(value: object) -> None:
    """Python's own and numpy's."""
    assert finite(value)


@pytest.mark.parametrize("value", [math.inf, math.nan, "4", None, True, [1.0], np.array([1.0])])
def test_everything_else_does_not(value: object) -> None:
    """Nor infinity, nor an answer of yes or no."""
    assert not finite(value)
