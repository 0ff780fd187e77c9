"""The loops over pixels keep to what they are told."""

import numpy as np

from render.scene.build import build
from render.scene.kernels import depth_pass, smooth_soft
from render.scene.rays import over_rows
from render.scene.trace import eye_numbers, trace_built
from tests.scene.worlds import described, eye_level


def test_depth_alone_is_the_depth_of_the_picture() -> None:
    """Pixel for pixel."""
    d = described([{"kind": "house", "at_m": [0, 18]}, {"kind": "tree", "at_m": [6, 14]}])
    built, view = build(d), eye_level()
    out = np.empty((67, 100), np.float32)
    tables = (built.world, built.surfaces, built.light)
    over_rows(depth_pass, *tables, 67, eye_numbers(view, view.camera()), out)

    np.testing.assert_array_equal(out, trace_built(d, built, view).depth_m)


def test_soft_light_is_shared_on_one_surface_only() -> None:
    """Two walls at different depths keep their own light; the sky has none."""
    soft = np.zeros((9, 12, 4), np.float32)
    soft[:, :6], soft[:, 6:11] = (1, 1, 1, 1), (4, 4, 4, 1)
    surface = np.zeros((9, 12, 4), np.float32)
    surface[..., 2] = 1
    surface[:, :6, 3], surface[:, 6:, 3] = 5.0, 9.0
    out = np.empty((9, 12, 3), np.float32)
    smooth_soft(soft, surface, 2, 0.001, out)

    np.testing.assert_allclose(out[:, :6], 1)
    np.testing.assert_allclose(out[:, 6:11], 4)
    assert not out[:, 11].any()
