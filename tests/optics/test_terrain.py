"""Ground that is not level: where rays meet it, and its sharp band."""

import math
from dataclasses import dataclass

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from render.depth.ground import Slope, ground_plane
from render.optics.band import ground_band
from render.optics.camera import Camera, Vantage
from render.optics.lens import FocusDistance, LensSetting
from render.optics.plane import focus_lens
from render.optics.solving.arrangements import ahead_m, ground_m, place_m
from render.optics.terrain import (
    before_ground,
    ground_line,
    ground_shows,
    level_axes,
    meets_ground,
    over_ground_m,
)

CAMERA = Camera(240, 160, 260.0)
COC_MM = 0.03


@dataclass(frozen=True)
class Ridge:
    """Level ground with one bank across the view: its top 40 m wide, its sides as long."""

    crest_m: float
    high_m: float

    def rise_m(self, right_m: np.ndarray, ahead_m: np.ndarray) -> np.ndarray:
        """Straight sides."""
        return self.high_m * np.clip(1.5 - np.abs(ahead_m - self.crest_m) / 40.0, 0.0, 1.0)


@given(
    st.floats(1.5, 80.0),
    st.floats(0.0, 40.0),
    st.floats(-9.0, 9.0),
    st.floats(-12.0, 12.0),
    st.floats(-180.0, 180.0),
)
def test_a_slope_is_met_where_its_plane_lies(
    height: float, pitch: float, roll: float, climb: float, bearing: float
) -> None:
    """Marching agrees with the closed form ``1/z = m . D`` of a plane."""
    vantage = Vantage(height, pitch, roll, terrain=Slope(climb, bearing))
    slopes = CAMERA.slopes(*np.meshgrid([3.5, 120.5, 236.5], [20.5, 80.5, 150.5])).reshape(-1, 2)
    rays = np.concatenate([slopes, np.ones((9, 1))], axis=1)
    plane = rays @ ground_plane(vantage, Slope(climb, bearing))
    met = meets_ground(vantage, slopes)
    near = plane > 1 / 3000
    np.testing.assert_allclose(met[near], plane[near], rtol=1e-6)
    assert np.all(met[plane <= 0] == 0)


@pytest.mark.parametrize("tilt", [-8.0, -3.0, 5.0])
def test_level_terrain_has_the_band_of_level_ground(tilt: float) -> None:
    """The sampled band of a terrain without any rise is the exact one."""
    setting = LensSetting(focal_mm=45, f_number=2.8, tilt_deg=tilt, focus=FocusDistance(40.0))
    lens, level = focus_lens(setting), Vantage(12.0, 18.0)
    flat = Vantage(12.0, 18.0, terrain=Slope())
    exact = ground_band(lens, CAMERA, level, COC_MM, 60.5)
    found = ground_band(lens, CAMERA, flat, COC_MM, 60.5)
    assert exact
    assert found
    for name in ("far_m", "sharp_m", "near_m", "far_px", "sharp_px", "near_px"):
        assert getattr(found, name) == pytest.approx(getattr(exact, name), rel=2e-3), name


def test_a_ridge_hides_what_lies_behind_it() -> None:
    """The band that reaches the skyline of a ridge ends at its crest, not beyond."""
    vantage = Vantage(10.0, 3.0, terrain=Ridge(300.0, 25.0))
    setting = LensSetting(focal_mm=35, f_number=16, focus=FocusDistance(150.0))
    band = ground_band(focus_lens(setting), CAMERA, vantage, COC_MM, 120.5)
    assert band is not None
    assert band.far_m == pytest.approx(280.0, rel=0.01)
    line = ground_line(CAMERA, vantage, 120.5)
    seen = line.over_m[np.isfinite(line.over_m)]
    assert not np.any((seen > 285) & (seen < 360)), "the far side of the ridge is not seen"
    crest = CAMERA.centre_y_px + CAMERA.focal_px * math.tan(
        math.atan(-15.0 / 280.0) - math.radians(3.0)
    )
    # a ray that clips less of the edge than one step of the march passes it
    assert band.far_px[1] == pytest.approx(crest, abs=0.4)


def test_places_on_site_stand_on_the_terrain() -> None:
    """So many metres ahead is a place as high as the ground is there."""
    vantage = Vantage(10.0, 12.0, 4.0, terrain=Ridge(60.0, 8.0))
    crest, foot = place_m(vantage, 60.0, 5.0, 0.0), place_m(vantage, 130.0, 5.0, 0.0)
    down = level_axes(vantage)[1]
    assert crest @ down == pytest.approx(2.0)
    assert foot @ down == pytest.approx(10.0)
    assert ahead_m(vantage, crest) == pytest.approx(60.0)
    assert over_ground_m(vantage, crest[:2] / crest[2], 1 / crest[2]) == pytest.approx(
        math.hypot(60.0, 5.0)
    )
    heights = 10.0 - ground_m(vantage, 30.0, 100.0, 15.0) @ down
    assert heights.max() > 6.0, "the crest lies between the ends and counts"


@given(st.floats(1.2, 60.0), st.floats(0.0, 0.9), st.floats(5.0, 80.0))
def test_what_is_high_stands_before_the_ground_by_its_share_of_the_height(
    height_m: float, share: float, away_m: float
) -> None:
    """By similar triangles; up to three hundredths it is the ground, and nothing above is."""
    vantage = Vantage(height_m, 12.0)
    x, y, z = place_m(vantage, away_m, 0.3 * away_m, share * height_m)
    ray = [(x / z, y / z)]

    assert before_ground(vantage, ray, [1.0 / z]) == pytest.approx(share, abs=1e-9)
    if abs(share - 0.03) > 1e-9:
        assert ground_shows(vantage, ray, [1.0 / z]) == (share < 0.03)
    assert not ground_shows(vantage, ray, [0.0])
    assert not ground_shows(vantage, [(0.0, -1.0)], [1.0 / z])
