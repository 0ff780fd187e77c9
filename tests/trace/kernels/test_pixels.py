"""The loops over pixels keep to what they are told."""

import numpy as np

from render.trace.build import build
from render.trace.kernels.pixels import depth_pass
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
