"""Bins of blur and the numbers that kernels get."""

import numpy as np

from render.engine.layers import bin_cells, optic_numbers
from render.engine.quality import FINAL, Quality
from render.optics.blur import blur_field
from render.optics.camera import Camera
from render.optics.lens import FocusDistance, LensSetting
from render.optics.plane import focus_lens


def test_cells_grow_with_the_blur():
    """Below the border all is done pixel by pixel; beyond, cells double with every octave."""
    gathered, spread = bin_cells(Quality(gather_px=4.0, spread_px=8.0))

    # classes: 0.3 0.7 1.2 2 4 6 8 11.3 16 22.6 32 px ...
    np.testing.assert_array_equal(gathered[32:43], [0, 0, 0, 0, 0, 1, 1, 2, 2, 3, 3])
    np.testing.assert_array_equal(spread[32:43], [0, 0, 0, 0, 0, 0, 0, 1, 1, 2, 2])
    np.testing.assert_array_equal(spread[1:32], spread[33:64][::-1])
    assert bin_cells(FINAL)[1].max() == 5


def test_the_numbers_give_the_field_of_the_optics():
    """Defocus extrapolated by the numbers equals the optics' own at another pixel and depth."""
    camera = Camera(60, 40, 300.0, 22.0, 9.0)
    setting = LensSetting(
        focal_mm=90, f_number=2.8, focus=FocusDistance(5.0), tilt_deg=-6.0, swing_deg=3.0
    )
    depth_m = np.full((40, 60), 8.0, np.float32)
    depth_m[30, 50] = 3.0
    field = blur_field(focus_lens(setting), camera, depth_m)
    optic = optic_numbers(field)

    there = field.defocus[10, 20] + 30 * optic[0] + 20 * optic[1] + optic[2] * (1 / 3 - 1 / 8)
    np.testing.assert_allclose(there, field.defocus[30, 50], atol=1e-5)
