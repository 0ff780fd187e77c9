"""The compiled loops that spread, against the optics and against slow loops."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from render.engine import kernels
from render.engine.layers import optic_numbers
from render.engine.photograph import photograph
from render.optics.blur import blur_field, spots
from render.optics.camera import Camera
from render.optics.lens import FocusDistance, LensSetting
from render.optics.plane import focus_lens
from render.scene.scene import Scene

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

    a, b, c, ox, oy = kernels._ellipse.py_func(
        optic_numbers(field), d, np.float32(x), np.float32(y)
    )

    m = exact.matrix_mm * field.px_per_mm
    shape = m @ m.T
    scale = max(shape.max(), 1e-6)
    np.testing.assert_allclose(
        [a, b, c], [shape[0, 0], shape[0, 1], shape[1, 1]], atol=1e-3 * scale
    )
    np.testing.assert_allclose(
        [ox, oy], exact.offset_mm * field.px_per_mm, atol=2e-3 * math.sqrt(scale) + 1e-6
    )


@given(st.floats(0.01, 300).map(np.float32))
def test_bins_run_from_near_to_far(r: np.float32) -> None:
    """A nearer radius is never in a later bin; sharp is in the middle."""
    near, far = kernels._bin.py_func(r, False), kernels._bin.py_func(-r, False)
    larger = kernels._bin.py_func(np.float32(1.5) * r, False)

    assert larger <= near <= 32 <= far
    assert near + far == 64


def _slow_over(scene: Scene, setting: LensSetting) -> np.ndarray:
    """Every pixel spread over its own figure by counting fine points; one surface only."""
    lens = focus_lens(setting)
    field = blur_field(lens, scene.camera, scene.depth_m)
    h, w = scene.depth_m.shape
    fine = 8
    light, share = np.zeros((h * fine, w * fine, 3)), np.zeros((h * fine, w * fine))
    y, x = (np.indices((h * fine, w * fine)) + 0.5) / fine
    for i, j in np.ndindex(h, w):
        spot = field.spots_at(i, j)
        m = spot.matrix_mm * field.px_per_mm
        cx, cy = np.array([j + 0.5, i + 0.5]) + spot.offset_mm * field.px_per_mm
        u = np.linalg.solve(m, np.stack([x - cx, y - cy]).reshape(2, -1))
        inside = ((u**2).sum(0) <= 1).reshape(x.shape)
        weight = 1 / (math.pi * abs(np.linalg.det(m)))
        light[inside] += weight * scene.picture[i, j]
        share[inside] += weight
    sums = (
        light.reshape(h, fine, w, fine, 3).sum((1, 3)),
        share.reshape(h, fine, w, fine).sum((1, 3)),
    )
    return sums[0] / sums[1][..., None]


@pytest.mark.parametrize("tilt_deg", [0.0, -6.0])
def test_spreading_agrees_with_a_slow_loop(tilt_deg: float) -> None:
    """A wall of random colour, odd sizes, every pixel's figure painted finely by hand."""
    rng = np.random.default_rng(3)
    picture = rng.random((21, 27, 3), dtype=np.float32)
    scene = Scene(picture, np.full((21, 27), 3.0, np.float32), Camera(27, 21, 700.0))
    setting = LensSetting(focal_mm=50, f_number=1.4, focus=FocusDistance(12), tilt_deg=tilt_deg)

    light = photograph(scene, setting).light

    inner = (slice(5, 16), slice(5, 22))
    assert np.abs(light - _slow_over(scene, setting))[inner].max() < 0.02
