"""The loops over pixels keep to what they are told."""

import numpy as np

from render.trace.build import build
from render.trace.kernels import depth_pass, laid_together
from render.trace.rays import over_rows
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


def test_samples_are_laid_together_by_what_they_are() -> None:
    """(direct + matt x soft + share x mirrored) / samples."""
    sums = np.zeros((1, 1, 16), np.float32)
    sums[0, 0, :6], sums[0, 0, 14] = (1, 2, 3, 0.5, 0.25, 1), 2
    soft = np.array([[[4, 4, 4, 0]]], np.float32)
    mirrored = np.array([[[0, 1, 2, 0]]], np.float32)
    out = np.empty((1, 1, 3), np.float32)
    laid_together(sums, np.full((1, 1), np.float32(4)), soft, mirrored, out)

    np.testing.assert_allclose(out[0, 0], [(1 + 2 + 0) / 4, (2 + 1 + 2) / 4, (3 + 4 + 4) / 4])
