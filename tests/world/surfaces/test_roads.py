"""Asphalt is crazed in fine lines, as far as it is worn and seen."""

import numpy as np

from render.world.surfaces.roads import crazed
from tests.steps import opened


def _lines(share: float, foot: float) -> np.ndarray:
    side = np.linspace(0, 4, 120)
    return np.array([[opened(crazed)(u, v, 0.34, share, foot, 3.0) for u in side] for v in side])


def test_crazing_is_fine_lines_round_pieces() -> None:
    """Lines cover 3 to 20 % of the ground; hardly anything lies between line and none."""
    seen = _lines(1.0, 0.004)

    assert seen.max() > 0.9
    assert 0.03 < (seen > 0.5).mean() < 0.20


def test_crazing_goes_with_wear_and_distance() -> None:
    """None where nothing is worn or a sample covers a piece; half worn, half as dark."""
    assert _lines(0.0, 0.004).max() == 0.0
    assert _lines(1.0, 0.3).max() == 0.0
    np.testing.assert_allclose(_lines(0.5, 0.004), 0.5 * _lines(1.0, 0.004), atol=1e-9)
