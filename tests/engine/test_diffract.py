"""Diffraction in the picture, against the published pattern and its transfer function."""

import math

import numpy as np
import pytest
from scipy.special import j1, jn_zeros

from render.engine.diffract import WAVELENGTHS_MM, airy_kernel, diffract, spread_px
from render.engine.photograph import Photograph, photograph
from render.optics.camera import Camera
from render.optics.diffraction import airy_diameter_mm
from render.optics.lens import FocusDistance, LensSetting
from render.scene.scene import Scene

#: 36 mm over 9000 px: 4 micrometres, as a fine sensor has.
CAMERA = Camera(161, 121, 50 / 36 * 9000)


def _shot(f_number: float, picture: np.ndarray) -> Photograph:
    scene = Scene(picture.astype(np.float32), np.full(picture.shape[:2], np.inf), CAMERA)
    setting = LensSetting(focal_mm=50, f_number=f_number, focus=FocusDistance(np.inf))
    return photograph(scene, setting)


def _dot(f_number: float) -> np.ndarray:
    picture = np.zeros((121, 161, 3))
    picture[60, 80] = 1.0
    return diffract(_shot(f_number, picture)).light


def test_the_pattern_is_as_wide_as_optics_says() -> None:
    """Lambda N over the pixel: 0.549 um x 16 over 4 um; the dark ring of the optics is 1.22 N."""
    green = spread_px(_shot(16, np.zeros((121, 161, 3))))[1]

    assert green == pytest.approx(0.549 * 16 / 4)
    ring_px = airy_diameter_mm(16, WAVELENGTHS_MM[1]) / 2 / 0.004
    assert 1.22 * green == pytest.approx(ring_px)


@pytest.mark.parametrize("f_number", [32, 64])
def test_a_dot_becomes_the_airy_pattern(f_number: float) -> None:
    """(2 J1(x) / x)^2 out to the second ring, first zero where J1 has its own (1.22 lambda N)."""
    light, spread = _dot(f_number)[..., 1].astype(float), 0.549 * f_number / 4
    y, x = np.indices(light.shape)
    r = np.hypot(x - 80, y - 60) * math.pi / spread
    near = (r > 0) & (r < 8)
    wanted = (2 * j1(r[near]) / r[near]) ** 2

    np.testing.assert_allclose(light[near] / light[60, 80], wanted, atol=0.004)
    first = jn_zeros(1, 1)[0] * spread / math.pi
    row = light[60, 80:]
    dark = 1 + int(np.argmax((row[1:-1] < row[:-2]) & (row[1:-1] <= row[2:])))
    assert abs(dark - first) <= 0.5 + 1e-6
    assert first == pytest.approx(1.22 * spread, rel=1e-3)


@pytest.mark.parametrize(("spread", "allowed"), [(0.3, 0.035), (1.2, 0.035), (2.2, 1e-9)])
def test_contrast_falls_as_published(spread: float, allowed: float) -> None:
    """Along rows: the circular aperture's transfer function, written out anew by its chord."""
    kernel = airy_kernel(spread, 1000)
    row = np.fft.fft(np.fft.ifftshift(kernel.sum(axis=0))).real
    share = np.minimum(np.abs(np.fft.fftfreq(len(row))) * spread, 1)
    half_angle = np.arccos(share)  # common area of two unit circles 2 * share apart, over pi

    np.testing.assert_allclose(
        row, (2 * half_angle - np.sin(2 * half_angle)) / math.pi, atol=allowed
    )


@pytest.mark.parametrize("f_number", [1.4, 8, 22])
def test_light_is_kept_and_never_negative(f_number: float) -> None:
    """A lone dot keeps its light, a grey wall stays grey."""
    light = _dot(f_number)

    assert light.min() >= 0
    assert light.sum(axis=(0, 1)) == pytest.approx([1, 1, 1], rel=0.02)  # tails leave the frame
    grey = diffract(_shot(f_number, np.full((121, 161, 3), 0.4))).light
    np.testing.assert_allclose(grey, 0.4, rtol=1e-5)


def test_wide_open_hardly_changes_and_red_spreads_most() -> None:
    """At f/1.4 a dot keeps nearly all, at f/16 its red less than its blue."""
    assert _dot(1.4)[60, 80].min() > 0.7
    red, _, blue = _dot(16)[60, 80]
    assert 0 < red < blue < 0.5


def test_a_picture_smaller_than_the_pattern_comes_through() -> None:
    """One pixel at f/200 keeps its light."""
    picture = np.full((1, 1, 3), 0.5, np.float32)
    scene = Scene(picture, np.full((1, 1), np.inf, np.float32), Camera(1, 1, 20000.0))
    setting = LensSetting(focal_mm=50, f_number=200, focus=FocusDistance(np.inf))

    light = diffract(photograph(scene, setting)).light

    np.testing.assert_allclose(light, 0.5, rtol=1e-5)
