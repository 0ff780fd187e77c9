"""Level and sloping ground, the horizon, and the vantage from known things."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from render.depth.ground import (
    Slope,
    ground_depth,
    height_over_ground,
    horizon_row,
    pitch_from_horizon,
    vantage_from_distances,
    vantage_from_heights,
)
from render.depth.mark import Mark
from render.errors import InputError, SettingError
from render.optics.camera import Camera, Vantage
from render.optics.terrain import level_axes

heights = st.floats(1.5, 120.0)
pitches = st.floats(-4.0, 60.0)
rolls = st.floats(-12.0, 12.0)
CAMERA = Camera(61, 41, 55.0)


def _points(camera: Camera, depth_m: np.ndarray) -> np.ndarray:
    x, y = np.meshgrid(np.arange(camera.width_px) + 0.5, np.arange(camera.height_px) + 0.5)
    rays = np.concatenate([camera.slopes(x, y), np.ones((*x.shape, 1))], axis=-1)
    return rays * depth_m[..., None]


@given(heights, pitches, rolls, st.just(0.0) | st.floats(-15, 15), st.floats(-180, 180))
def test_every_finite_pixel_lies_on_the_ground(h, pitch, roll, climb, bearing):
    """A pixel's point, carried into the level world, lies on the slope it was made from."""
    vantage = Vantage(h, pitch + 5, roll)

    depth = ground_depth(CAMERA, vantage, Slope(climb, bearing))

    level = _points(CAMERA, np.where(np.isfinite(depth), depth, 0).astype(float))
    right, down, ahead = np.moveaxis(level @ level_axes(vantage).T, -1, 0)
    b, near = np.radians(bearing), np.isfinite(depth) & (depth < 50 * h)
    expected = h - np.tan(np.radians(climb)) * (ahead * np.cos(b) + right * np.sin(b))
    assert np.any(near)
    if not climb:
        stands = np.where(np.arange(CAMERA.width_px) % 3 == 0, 0.8, 1.0)  # things before it
        found = height_over_ground((depth * stands).astype(np.float32), CAMERA, pitch + 5, roll)
        assert found == pytest.approx(h, rel=0.01)
    np.testing.assert_allclose(down[near], expected[near], rtol=1e-3, atol=1e-3 * h)


@given(heights, st.floats(1, 25), rolls)
def test_sky_is_exactly_what_lies_above_the_horizon(h, pitch, roll):
    """A pixel is sky where its ray points above level, and ground elsewhere."""
    vantage = Vantage(h, pitch, roll)

    depth = ground_depth(CAMERA, vantage)

    below = _points(CAMERA, np.ones(depth.shape)) @ level_axes(vantage)[1]
    clear = np.abs(below) > 1e-6
    np.testing.assert_array_equal(np.isinf(depth)[clear], (below < 0)[clear])


@given(heights, pitches, rolls)
def test_horizon_row_and_pitch_are_inverses(h, pitch, roll):
    """The pitch read from a horizon's row is the pitch that put the horizon there."""
    row = horizon_row(CAMERA, Vantage(h, pitch, roll))

    assert pitch_from_horizon(CAMERA, row, roll) == pytest.approx(pitch, abs=1e-9)


def test_camera_rolled_clockwise_drops_the_horizon_on_the_left():
    """With positive roll the left end of the picture shows less ground than the right end."""
    depth = ground_depth(CAMERA, Vantage(10, 5, 10))

    left, right = np.isinf(depth[:, 0]).sum(), np.isinf(depth[:, -1]).sum()
    assert left > right


@given(heights, st.floats(3, 25), rolls, st.sampled_from(["axis", "range", "map"]))
def test_two_known_distances_give_height_and_pitch(h, pitch, roll, measured):
    """However they were measured, two distances on level ground give the vantage back."""
    vantage = Vantage(h, pitch, roll)
    depth = ground_depth(CAMERA, vantage).astype(float)
    depth[np.isinf(depth)] = 0
    right, down, ahead = np.moveaxis(_points(CAMERA, depth) @ level_axes(vantage).T, -1, 0)
    kinds = {
        "axis": depth,
        "range": np.sqrt(right**2 + down**2 + ahead**2),
        "map": np.hypot(right, ahead),
    }
    marks = [
        Mark(c + 0.5, r + 0.5, float(kinds[measured][r, c]), measured)
        for r, c in ((40, 20), (33, 41))
    ]

    found = vantage_from_distances(CAMERA, marks, roll)

    assert found.height_m == pytest.approx(h, rel=1e-4)
    assert found.pitch_deg == pytest.approx(pitch, abs=1e-2)


@pytest.mark.parametrize(("h", "pitch", "roll"), [(1.7, 3.0, 0.0), (22.0, 18.0, 4.0)])
def test_two_upright_things_give_height_and_pitch(h, pitch, roll):
    """Feet and tops of two things of known height give the vantage back."""
    right, down, ahead = level_axes(Vantage(h, pitch, roll))

    def seen(across: float, away: float, up: float) -> tuple[float, float]:
        point = across * right + away * ahead + (h - up) * down
        x, y = CAMERA.positions(point[:2] / point[2])
        return float(x), float(y)

    things = [
        (seen(-3, 2.0 * h + 5, 0), seen(-3, 2.0 * h + 5, 1.8), 1.8),
        (seen(6, 5.0 * h + 9, 0), seen(6, 5.0 * h + 9, 4.0), 4.0),
    ]

    found = vantage_from_heights(CAMERA, things, roll)

    assert found.height_m == pytest.approx(h, rel=1e-4)
    assert found.pitch_deg == pytest.approx(pitch, abs=1e-2)


def test_nearer_thing_higher_in_the_picture_is_refused():
    """Distances that put level ground upside down are refused with the reason."""
    marks = [Mark(30, 40, 80.0), Mark(30, 25, 20.0)]

    with pytest.raises(InputError, match="nearer of the known things lies higher"):
        vantage_from_distances(CAMERA, marks)


def test_things_equally_low_cannot_tell_the_pitch():
    """Two things on one row are refused, not divided by zero."""
    with pytest.raises(InputError, match="equally low"):
        vantage_from_distances(CAMERA, [Mark(5, 30, 20.0), Mark(50, 30, 20.0)])


def test_view_of_sky_only_is_refused():
    """A camera that looks up so far that no ground is in view is told so."""
    with pytest.raises(InputError, match="check pitch or horizon"):
        ground_depth(CAMERA, Vantage(10, -60))


def test_a_cliff_is_no_slope():
    """A slope of 90 degrees or one that is not a number is refused."""
    with pytest.raises(SettingError):
        Slope(90.0)
    with pytest.raises(SettingError):
        Slope(float("nan"))
