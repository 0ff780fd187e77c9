"""People."""

import numpy as np
import pytest

from tests.scene.things.shapes import made, size


@pytest.mark.parametrize("height_m", [1.1, 1.72, 1.95])
def test_a_standing_person_is_as_tall_as_said(height_m: float) -> None:
    """To a few per cent: hair and shoes."""
    extent = size(made("person", pose="stand", height_m=height_m))

    assert extent[2] == pytest.approx(height_m, rel=0.05)
    assert extent[:2].max() < 0.6 * height_m


def test_sitting_is_lower_and_walking_takes_more_room() -> None:
    """Poses differ where they should."""
    stand, sit, walk = (
        size(made("person", pose=pose, bag=False)) for pose in ("stand", "sit", "walk")
    )

    assert sit[2] < 0.85 * stand[2]
    assert walk[1] > 1.3 * stand[1]


def test_feet_are_on_the_ground() -> None:
    """The lowest point is the sole."""
    assert np.abs(made("person", pose="walk").xyz[..., 2].min()) < 0.08
