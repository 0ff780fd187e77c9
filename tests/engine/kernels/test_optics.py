"""The blur figure in the compiled loops, against the optics' own closed form."""

import math

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from render.engine.kernels.optics import ellipse
from render.engine.layers import optic_numbers
from render.optics.blur import blur_field, spots
from render.optics.camera import Camera
from render.optics.lens import FocusDistance, LensSetting
from render.optics.plane import focus_lens
from tests.steps import opened

CAMERA = Camera(90, 60, 110.0, 41.0, 33.0)


@given(st.floats(-12, 12), st.floats(-8, 8), st.floats(0, 89), st.floats(0, 59), st.floats(0, 0.4))
def test_the_ellipse_is_the_optics_own(
    tilt_deg: float, swing_deg: float, x: float, y: float, inverse_depth: float
) -> None:
    """Shape and offset agree with the closed form in float64."""
    setting = LensSetting(
        focal_mm=60, f_number=2, focus=FocusDistance(9), tilt_deg=tilt_deg, swing_deg=swing_deg
    )
    lens = focus_lens(setting)
    field = blur_field(lens, CAMERA, np.full((60, 90), 12.0, np.float32))
    slopes = CAMERA.slopes(x, y)
    exact = spots(lens, slopes, inverse_depth)
    d = np.float32(lens.extension_mm / 1000 * (inverse_depth - lens.sharp_inverse_depth(slopes)))

    a, b, c, ox, oy = opened(ellipse)(optic_numbers(field), d, np.float32(x), np.float32(y))

    m = exact.matrix_mm * field.px_per_mm
    shape = m @ m.T
    scale = max(shape.max(), 1e-6)
    np.testing.assert_allclose(
        [a, b, c], [shape[0, 0], shape[0, 1], shape[1, 1]], atol=1e-3 * scale
    )
    np.testing.assert_allclose(
        [ox, oy], exact.offset_mm * field.px_per_mm, atol=2e-3 * math.sqrt(scale) + 1e-6
    )
