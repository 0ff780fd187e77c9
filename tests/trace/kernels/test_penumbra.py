"""Rays to the sun are shared as near as what shades is far, and over no step."""

import numpy as np
from numpy.typing import NDArray

from render.trace.build import build
from render.trace.columns import DEPTH, SURFACE
from render.trace.kernels.penumbra import NEAREST, RAYS, SEEN, TOLD, nearest_shade, sun_shared
from render.trace.trace import eye_numbers
from render.world.surfaces.tables import addressed
from tests.world.worlds import described, eye_level

VIEW = eye_level()
EYE = eye_numbers(VIEW, VIEW.camera())
SHAPE = (67, 100)


def _wall(depth_m: float = 5.0) -> NDArray[np.float32]:
    surface = np.zeros((*SHAPE, SURFACE), np.float32)
    surface[..., 2], surface[..., DEPTH] = -1, depth_m
    return surface


def _shared(surface: NDArray[np.float32], seen: NDArray[np.float32], away_m: float) -> np.ndarray:
    """Share of the sun behind the camera; of the four rays of a pixel so many met nothing."""
    light = build(described([], light={"sun_heading_deg": 180.0, "sun_height_deg": 10.0})).light
    told, every = np.zeros((*SHAPE, TOLD), np.float32), np.ones(SHAPE, np.bool_)
    told[..., NEAREST], told[..., RAYS], told[..., SEEN] = away_m, 4, seen
    nearest, out = np.empty(SHAPE, np.float32), np.empty(SHAPE, np.float32)
    nearest_shade(surface, every, told, nearest, 0, SHAPE[0])
    sun_shared(addressed(light), EYE, surface, 0.02, 0.1, 7, every, told, nearest, out, 0, SHAPE[0])
    return out


def test_stipple_is_shared_as_far_as_what_shades_lets_it() -> None:
    """A pixel of the wall is 5 cm: 10 m away nearly 20 cm are shared, 1 m away nothing is."""
    seen = np.random.default_rng(4).binomial(4, 0.5, SHAPE).astype(np.float32)
    far, near = _shared(_wall(), seen, 10.0), _shared(_wall(), seen, 1.0)

    assert far.std() < 0.3 * (seen / 4).std()
    assert abs(far.mean() - 0.5) < 0.02
    np.testing.assert_array_equal(near, -1)


def test_nothing_is_shared_over_a_step_along_the_light() -> None:
    """A half 2 m farther away is dark, the nearer half lit: each keeps what it is."""
    surface, seen = _wall(), np.zeros(SHAPE, np.float32)
    surface[:, 50:, DEPTH], seen[:, :50] = 7, 4
    out = _shared(surface, seen, 10.0)

    np.testing.assert_array_equal(out, seen / 4)
