"""The ray of a place, and room for its soft rays."""

import numpy as np
import pytest

from render.trace.kernels.looking import bits_of, through
from render.trace.trace import eye_numbers
from tests.steps import opened
from tests.world.worlds import eye_level


def test_the_middle_of_the_picture_looks_ahead_and_the_right_to_the_right() -> None:
    """Heading north and level; a place as far right as the focal length lies at 45 degrees."""
    view = eye_level()
    eye = eye_numbers(view, view.camera())

    ahead = opened(through)(eye, eye.centre_x, eye.centre_y)
    aside = opened(through)(eye, eye.centre_x + eye.focal, eye.centre_y)

    np.testing.assert_allclose(ahead, eye[9:12], atol=1e-12)
    np.testing.assert_allclose(np.subtract(aside, ahead), eye[3:6], atol=1e-12)


@pytest.mark.parametrize(("count", "bits"), [(0, 0), (1, 0), (2, 1), (3, 2), (8, 3)])
def test_a_power_of_two_holds_a_count(count: int, bits: int) -> None:
    """The least one that does."""
    assert opened(bits_of)(count) == bits
