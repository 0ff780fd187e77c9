"""The loops over pixels keep to what they are told."""

import numpy as np

from render.trace.build import build
from render.trace.columns import BRIGHT, DEPTH, LENT, SLOTS, SOFT_RAYS, SUMS, SURFACE
from render.trace.kernels.pixels import depth_pass, pixel_pass
from render.trace.quarters import WHOLE
from render.trace.rays import over_rows
from render.trace.spread import pixel_offsets
from render.trace.trace import eye_numbers, trace_built
from tests.world.worlds import described, eye_level


def test_depth_alone_is_the_depth_of_the_picture() -> None:
    """Pixel for pixel."""
    d = described([{"kind": "house", "at_m": [0, 18]}, {"kind": "tree", "at_m": [6, 14]}])
    built, view = build(d), eye_level()
    out = np.empty((67, 100), np.float32)
    tables = (built.world, built.surfaces, built.light)
    over_rows(depth_pass, *tables, 67, eye_numbers(view, view.camera()), out)

    np.testing.assert_array_equal(out, trace_built(d, built, view).depth_m)


def test_samples_taken_in_two_passes_are_those_of_one() -> None:
    """Bit for bit, once the first of all is known, which takes all soft rays."""
    d = described([{"kind": "house", "at_m": [0, 18]}, {"kind": "tree", "at_m": [6, 14]}])
    built, view = build(d), eye_level()
    scene = (built.world, built.surfaces, built.light, 67, eye_numbers(view, view.camera()))
    every, rays = np.ones((67, 100), np.bool_), np.full((67, 100), 3, np.uint8)

    def taken(*passes: tuple[int, int]) -> tuple[np.ndarray, ...]:
        columns = (SUMS, SURFACE, BRIGHT, SLOTS * LENT)
        sums, surface, bright, lent = (np.zeros((67, 100, n), np.float32) for n in columns)
        made = (sums, surface, np.zeros((67, 100), np.int64), bright, lent)
        for first, last in passes:
            to = (rays, False, False, every, *made, *WHOLE)
            over_rows(pixel_pass, *scene, pixel_offsets(4), first, last, 4, *to)
        return made

    whole, parted, begun = taken((0, 1), (1, 4)), taken((0, 1), (1, 2), (2, 4)), taken((0, 1))

    for one, other in zip(whole, parted, strict=True):
        np.testing.assert_array_equal(one, other)
    landed = np.isfinite(begun[1][..., DEPTH])
    assert landed.any()
    np.testing.assert_array_equal(begun[0][..., SOFT_RAYS], np.where(landed, 3, 0))
    assert whole[4].any()  # the leaves' edges borrow
