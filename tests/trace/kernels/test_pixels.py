"""The loops over pixels keep to what they are told."""

import numpy as np

from render.trace.build import build
from render.trace.columns import BRIGHT, DEPTH, LENT, SLOTS, SOFT_RAYS, SUMS, SURFACE
from render.trace.kernels.pixels import depth_pass, pixel_pass, soft_pass
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
        key, none = np.zeros((67, 100), np.int64), np.zeros((0, 0, 0), np.float32)
        made = (sums, surface, key, bright, lent)
        for first, last in passes:
            to = (rays, False, every, sums, surface, none, key, bright, lent, *WHOLE)
            over_rows(pixel_pass, *scene, pixel_offsets(4), first, last, 4, *to)
        return made

    whole, parted, begun = taken((0, 1), (1, 4)), taken((0, 1), (1, 2), (2, 4)), taken((0, 1))

    for one, other in zip(whole, parted, strict=True):
        np.testing.assert_array_equal(one, other)
    landed = np.isfinite(begun[1][..., DEPTH])
    assert landed.any()
    np.testing.assert_array_equal(begun[0][..., SOFT_RAYS], np.where(landed, 3, 0))
    assert whole[4].any()  # the leaves' edges borrow


def test_soft_rays_sent_later_are_those_of_the_first_sample() -> None:
    """From the places and normals that were kept, to the rounding of 32 bits."""
    d = described([{"kind": "house", "at_m": [0, 18]}, {"kind": "tree", "at_m": [6, 14]}])
    built, view = build(d), eye_level()
    scene = (built.world, built.surfaces, built.light, 67, eye_numbers(view, view.camera()))
    every, three = np.ones((67, 100), np.bool_), np.full((67, 100), 3, np.uint8)

    def taken(rays: np.ndarray) -> tuple[np.ndarray, ...]:
        columns = (SUMS, SURFACE, 4, BRIGHT, SLOTS * LENT)
        sums, surface, normal, bright, lent = (np.zeros((67, 100, n), np.float32) for n in columns)
        to = (sums, surface, normal, np.zeros((67, 100), np.int64), bright, lent, *WHOLE)
        over_rows(pixel_pass, *scene, pixel_offsets(1), 0, 1, 1, rays, False, every, *to)
        return sums, surface, normal

    at_once, _surface, _normal = taken(three)
    later, surface, normal = taken(0 * three)
    assert not later[..., SOFT_RAYS].any()
    over_rows(soft_pass, *scene, three, surface, normal, later)

    np.testing.assert_array_equal(at_once[..., SOFT_RAYS], later[..., SOFT_RAYS])
    apart = np.abs(at_once - later) > 1e-3 * np.abs(at_once) + 1e-5
    assert apart.any(axis=-1).mean() < 0.01  # a ray that grazes an edge goes either way
