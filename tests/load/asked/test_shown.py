"""What a frame shows of a thing with a name, and what it cuts."""

import numpy as np
import pytest
from numpy.typing import NDArray

from render.load.asked.shown import cut_off, seen_in
from tests.load.asked.test_site import CAMERA


def _disc(slopes: NDArray[np.float64], x: float, radius: float) -> NDArray[np.float64]:
    return np.where(np.hypot(slopes[:, 0] - x, slopes[:, 1]) < radius, 8.0, np.inf)


def test_a_thing_is_seen_where_its_rays_meet_it() -> None:
    """Its rays and its pixels have its area; of a speck there is no more than its place."""
    seen = seen_in(CAMERA, lambda slopes: _disc(slopes, 0.0, 0.1))
    assert seen is not None
    region, pixels = seen

    assert pixels.sum() == pytest.approx(np.pi * (0.1 * CAMERA.focal_px) ** 2, rel=0.05)
    assert len(region.inverse_depth) == pixels.sum()
    assert seen_in(CAMERA, lambda slopes: _disc(slopes, 0.0, 0.01)) is None


@pytest.mark.parametrize(("x", "share"), [(-0.4, 0.5), (-0.45, 0.80), (0.3, 0.0)])
def test_the_part_beyond_an_edge_is_a_circles_segment(x: float, share: float) -> None:
    """The frame ends at 0.4 to either side: a disc of 0.1 is cut as a chord cuts it."""
    off, sides = cut_off(CAMERA, lambda slopes: _disc(slopes, x, 0.099))

    assert off == pytest.approx(share, abs=0.03)  # of some 170 pixels
    assert sides == (("left of",) if share else ())
