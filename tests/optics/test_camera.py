"""Pixels to rays and back, crops, sizes, shift."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from render.errors import SettingError
from render.optics.camera import Camera, Sensor, Vantage, Window

cameras = st.builds(
    Camera,
    width_px=st.integers(1, 8000),
    height_px=st.integers(1, 6000),
    focal_px=st.floats(100, 20000),
    centre_x_px=st.floats(-2000, 8000),
    centre_y_px=st.floats(-2000, 8000),
)


@given(cameras, st.floats(0, 8000), st.floats(0, 8000))
def test_a_position_and_its_ray_are_one(camera: Camera, x: float, y: float) -> None:
    """Going from a position to its slopes and back changes nothing."""
    np.testing.assert_allclose(camera.positions(camera.slopes(x, y)), [x, y], atol=1e-6)


@pytest.mark.parametrize(
    ("x", "y", "side"), [(10, 50, "left"), (90, 50, "right"), (50, 10, "above"), (50, 90, "below")]
)
def test_right_is_positive_and_down_is_positive(x: float, y: float, side: str) -> None:
    """A dot left, right, above or below the axis has the slope of that side."""
    right, down = Camera(100, 100, 100.0).slopes(x, y)

    assert {"left": right < 0, "right": right > 0, "above": down < 0, "below": down > 0}[side]


@given(cameras, st.integers(0, 50), st.integers(0, 50))
def test_a_crop_keeps_every_ray(camera: Camera, left: int, top: int) -> None:
    """A pixel of a crop looks where the same pixel of the whole picture looks."""
    crop = camera.cropped(Window(left, top, 20, 10))

    np.testing.assert_allclose(crop.slopes(3, 4), camera.slopes(left + 3, top + 4), atol=1e-9)


@given(st.integers(2, 3000), st.integers(2, 3000), st.floats(14, 200))
def test_half_the_size_sees_the_same_view(width: int, height: int, focal: float) -> None:
    """The corners of a picture of half the size look where those of the whole look."""
    whole = Camera.from_lens(2 * width, 2 * height, focal, Sensor())
    half = whole.resized(width, height)

    np.testing.assert_allclose(half.slopes(width, height), whole.slopes(2 * width, 2 * height))
    assert half.sensor(focal).width_mm == pytest.approx(36)


@given(cameras)
def test_grid_is_the_slopes_of_the_pixel_centres(camera: Camera) -> None:
    """The grid's last column and row are the slopes of the last pixel's centre."""
    columns, rows = camera.grid()
    last = camera.slopes(camera.width_px - 0.5, camera.height_px - 0.5)

    assert (len(columns), len(rows)) == (camera.width_px, camera.height_px)
    np.testing.assert_allclose([columns[-1], rows[-1]], last, atol=1e-9)


@pytest.mark.parametrize(
    ("x", "y", "held"), [(0, 0, True), (90, 60, True), (-0.1, 30, False), (45, 60.1, False)]
)
def test_borders_belong_to_the_picture(x: float, y: float, held: bool) -> None:
    """A position on the edge is in it, as is its ray; beyond any edge neither is."""
    camera = Camera(90, 60, 100.0)

    assert camera.holds(x, y) is held
    assert camera.shows((x - 45) / 100, (y - 30) / 100) is held


def test_a_portrait_sensor_is_taller_than_wide() -> None:
    """The sensor on its side keeps its diagonal."""
    upright = Sensor(36, 24).portrait

    assert (upright.width_mm, upright.height_mm) == (24, 36)
    assert upright.portrait == upright
    assert upright.diagonal_mm == pytest.approx(43.27, abs=0.01)


@pytest.mark.parametrize(
    "make",
    [
        lambda: Sensor(0, 24),
        lambda: Sensor(36, math.nan),
        lambda: Window(-1, 0, 5, 5),
        lambda: Window(0, 0, 0, 5),
        lambda: Vantage(0),
        lambda: Vantage(5, 90),
        lambda: Vantage(5, 0, math.nan),
        lambda: Camera(0, 10, 100.0),
        lambda: Camera(10, 10, 0.0),
        lambda: Camera(10, 10, math.inf),
    ],
)
def test_impossible_cameras_are_refused(make: object) -> None:
    """Nothing empty, flat, upside down or without number becomes a camera."""
    with pytest.raises(SettingError):
        make()  # type: ignore[operator]
