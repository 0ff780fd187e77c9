"""A flat picture out of a panorama, against the directions themselves."""

import math

import numpy as np
import pytest
from numpy.typing import NDArray

from render.errors import InputError, SettingError
from render.optics.camera import Camera
from render.scene.panorama import Panorama, flat_picture

WIDTH = 1600
PX_PER_RAD = WIDTH / (2 * math.pi)


def _colour(heading: NDArray[np.float64], below: NDArray[np.float64]) -> NDArray[np.float32]:
    """A smooth colour of every direction round a viewpoint."""
    red = 0.5 + 0.4 * np.sin(7 * heading) * np.cos(5 * below)
    green = 0.5 + 0.4 * np.cos(9 * heading + 4 * below)
    return np.stack([red, green, 0.5 + 0.3 * np.sin(8 * below)], -1).astype(np.float32)


def _panorama(form: str) -> tuple[NDArray[np.float32], Panorama]:
    height = 800 if form == "equirectangular" else 600
    heading = (np.arange(WIDTH) + 0.5 - WIDTH / 2) / PX_PER_RAD
    row = (np.arange(height) + 0.5 - height / 2) / PX_PER_RAD
    below = row if form == "equirectangular" else np.arctan(row)
    light = _colour(*np.meshgrid(heading, below))
    return light, Panorama(form, PX_PER_RAD, WIDTH / 2, height / 2, closed=True)


@pytest.mark.parametrize("form", ["equirectangular", "cylindrical"])
@pytest.mark.parametrize(("turned", "pitch"), [(0, 0), (30, 15), (178, -20), (-170, 5)])
def test_each_pixel_shows_its_own_direction(form: str, turned: float, pitch: float) -> None:
    """Rays turned by rotation matrices land on the colour that the direction has."""
    light, panorama = _panorama(form)
    camera = Camera(150, 100, 140.0)

    flat = flat_picture(light, panorama, camera, turned_deg=turned, pitch_deg=pitch)

    x, y = camera.grid()
    rays = np.stack(np.broadcast_arrays(x[None, :], y[:, None], np.ones((100, 150))), -1)
    p, t = np.radians([pitch, turned])
    down = [[1, 0, 0], [0, np.cos(p), np.sin(p)], [0, -np.sin(p), np.cos(p)]]
    right = [[np.cos(t), 0, np.sin(t)], [0, 1, 0], [-np.sin(t), 0, np.cos(t)]]
    rays = rays @ (np.array(right) @ np.array(down)).T
    level = np.hypot(rays[..., 0], rays[..., 2])
    true = _colour(np.arctan2(rays[..., 0], rays[..., 2]), np.arctan2(rays[..., 1], level))
    np.testing.assert_allclose(flat, true, atol=2e-4)  # what a cubic spline leaves at 4 px a wave


def test_a_view_past_the_edge_is_refused_with_its_side() -> None:
    """A part of a panorama holds no more than it shows."""
    light, panorama = _panorama("equirectangular")
    part = light[300:500, 600:1000]
    open_part = Panorama("equirectangular", PX_PER_RAD, 200.0, 100.0)

    inside = flat_picture(part, open_part, Camera(80, 60, 140.0))
    whole = flat_picture(light, panorama, Camera(80, 60, 140.0))

    np.testing.assert_allclose(inside, whole, atol=1e-3)
    with pytest.raises(SettingError, match=r"missing of it: \d+ % right\)"):
        flat_picture(part, open_part, Camera(80, 60, 140.0), turned_deg=40)
    with pytest.raises(SettingError, match=r"\d+ % bottom"):
        flat_picture(part, open_part, Camera(80, 60, 140.0), pitch_deg=30)


def test_columns_must_span_an_angle() -> None:
    """Nothing can be cut out of a panorama without a width."""
    with pytest.raises(InputError, match="above 0"):
        Panorama("cylindrical", 0.0, 10.0, 10.0)
