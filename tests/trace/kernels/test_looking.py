"""The ray of a place, and how samples share soft rays."""

import numpy as np
import pytest

from render.trace.kernels.looking import _until, bits_of, through
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


@pytest.mark.parametrize(("rays", "samples"), [(3, 4), (8, 1), (2, 16), (0, 4)])
def test_samples_share_all_soft_rays(rays: int, samples: int) -> None:
    """Each ray belongs to one sample, the first to the first; a power of two holds them."""
    starts = [opened(_until)(n, rays, samples) for n in range(samples + 1)]

    assert starts[0] == 0
    assert starts[-1] == rays
    assert sorted(starts) == starts
    assert 1 << opened(bits_of)(rays) >= rays
