"""The sharp band in the picture, on the ground and in depth."""

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from render.errors import SettingError
from render.optics.band import (
    ground_band,
    level_ground_per_m,
    plane_blur_gradient,
    sharp_inverse_range,
    sharp_runs,
    wedge,
    wedge_half_width_m,
)
from render.optics.blur import blur_field, defocus, spots
from render.optics.camera import Camera, Sensor, Vantage
from render.optics.lens import FocusDistance, FocusSpot, LensSetting
from render.optics.plane import FocusedLens, focus_lens
from render.optics.terrain import meets_ground, over_ground_m
from tests.strategies import coc_mm, lenses, slope, vantages

ROOF = Vantage(20.0, 20.0)


def _roof_lens(f_number: float = 2.8, tilt_deg: float = -8.0) -> FocusedLens:
    """90 mm focused on the middle of the ground seen from the roof."""
    return focus_lens(
        LensSetting(
            focal_mm=90, f_number=f_number, focus=FocusSpot(0, 0, 58.476), tilt_deg=tilt_deg
        )
    )


def _ground_depth(camera: Camera, vantage: Vantage) -> np.ndarray:
    """Depth of level ground with sky above the horizon, by the plane's equation."""
    x, y = camera.grid()
    a = level_ground_per_m(vantage)
    inverse = a[0] * x[None, :] + a[1] * y[:, None] + a[2]
    depth = np.full(inverse.shape, np.inf)
    np.divide(1.0, inverse, out=depth, where=inverse > 0)
    return depth.astype(np.float32)


@given(lenses(), slope, slope, coc_mm)
def test_limits_on_a_ray_have_the_circle_of_confusion(
    lens: FocusedLens, x: float, y: float, coc: float
) -> None:
    """At both limits of a ray the blur (f/N)|d| is the circle of confusion, near side first."""
    near, far = sharp_inverse_range(lens, [x, y], coc)

    aperture = 2 * lens.aperture_radius_mm
    np.testing.assert_allclose(aperture * defocus(lens, [x, y], near), coc, rtol=1e-6)
    np.testing.assert_allclose(aperture * defocus(lens, [x, y], far), -coc, rtol=1e-6)


@given(lenses(tilted=True), coc_mm, slope, slope)
def test_wedge_planes_hold_the_limits_and_the_hinge(
    lens: FocusedLens, coc: float, x: float, y: float
) -> None:
    """The wedge's planes meet each ray at its limits, and all three contain the hinge line."""
    planes = wedge(lens, coc)
    limits = sharp_inverse_range(lens, [x, y], coc)

    for plane, inverse in zip((planes.near, planes.far), limits, strict=True):
        np.testing.assert_allclose(
            np.array(plane.normal_per_m) @ [x, y, 1.0], inverse, rtol=1e-6, atol=1e-9
        )
        assert plane.hinge_m == planes.sharp.hinge_m


@given(lenses(tilted=True), coc_mm, st.floats(1.0, 300.0))
def test_wedge_reaches_the_hinge_distance_at_its_hyperfocal_depth(
    lens: FocusedLens, coc: float, depth: float
) -> None:
    """Half the wedge is J z / H' wide, so J at z = f v / (c N) (Merklinger 1996, part II)."""
    hyperfocal_m = lens.extension_mm * 2 * lens.aperture_radius_mm / coc / 1000.0
    hinge_m = wedge(lens, coc).sharp.hinge_distance_m

    assert wedge_half_width_m(lens, coc, hyperfocal_m) == pytest.approx(hinge_m, rel=1e-9)
    half = wedge_half_width_m(lens, coc, depth) / depth
    assert half == pytest.approx(hinge_m / hyperfocal_m, rel=1e-9)


def test_untilted_lens_has_planes_parallel_to_the_sensor() -> None:
    """Without tilt the wedge has no edge and its limits are two depths."""
    lens = focus_lens(LensSetting(focal_mm=50, f_number=8, focus=FocusDistance(5)))

    assert wedge_half_width_m(lens, 0.03, 5) == math.inf
    np.testing.assert_allclose(
        [1 / sharp_inverse_range(lens, slopes, 0.03) for slopes in ([0, 0], [0.3, 0.2])],
        [[3.389370933, 9.527439024]] * 2,
        rtol=1e-6,
    )


@given(lenses(), vantages, slope, slope)
def test_blur_of_the_ground_is_affine_in_the_picture(
    lens: FocusedLens, vantage: Vantage, x: float, y: float
) -> None:
    """The gradient a - n/f predicts the defocus of any ground point from any other."""
    ground = level_ground_per_m(vantage)
    gradient = np.array(plane_blur_gradient(lens, ground))
    start = float(defocus(lens, [0.0, 0.0], ground[2]))
    exact = float(defocus(lens, [x, y], ground @ [x, y, 1.0]))

    assert start + lens.extension_mm * float(gradient @ [x, y]) == pytest.approx(exact, abs=1e-9)


@given(lenses(), vantages, coc_mm, st.floats(0, 400))
def test_ground_band_edges_have_the_circle_of_confusion(
    lens: FocusedLens, vantage: Vantage, coc: float, x_px: float
) -> None:
    """Both edges on the ground blur by c, or the far one lies on the horizon and blurs less."""
    camera = Camera.from_lens(400, 300, lens.focal_mm, Sensor())
    band = ground_band(lens, camera, vantage, coc, x_px)
    assume(band is not None and math.isfinite(band.near_px[1]))
    ground = level_ground_per_m(vantage)
    for place, distance in ((band.far_px, band.far_m), (band.near_px, band.near_m)):
        ray = np.array([*camera.slopes(*place), 1.0])
        inverse = float(ground @ ray)
        blur = abs(float(defocus(lens, ray[:2], inverse))) * 2 * lens.aperture_radius_mm
        if math.isinf(distance):
            assert inverse == pytest.approx(0, abs=1e-9)
            assert blur <= coc * (1 + 1e-6)
        else:
            assert blur == pytest.approx(coc, rel=1e-6)
            point = ray / inverse
            assert math.hypot(vantage.height_m, distance) == pytest.approx(
                float(np.linalg.norm(point)), rel=1e-5
            )


def test_no_ground_is_sharp_when_the_band_lies_in_the_sky() -> None:
    """A band wholly above the horizon is no band on the ground."""
    camera = Camera.from_lens(400, 300, 90, Sensor())
    lens = focus_lens(
        LensSetting(focal_mm=90, f_number=2.8, focus=FocusSpot(0, -0.1, math.inf), tilt_deg=-8)
    )

    assert ground_band(lens, camera, Vantage(20, 0), 0.03, 200) is None


def test_whole_ground_can_be_sharp() -> None:
    """With the hinge on the ground below a level camera, all of it is sharp (J = h)."""
    tilt = math.degrees(math.asin(0.09 / 1.6))
    lens = focus_lens(
        LensSetting(focal_mm=90, f_number=2.8, focus=FocusSpot(0, 0.1, 16.0), tilt_deg=tilt)
    )
    camera = Camera.from_lens(400, 300, 90, Sensor())
    band = ground_band(lens, camera, Vantage(1.6), 0.03, 200)

    assert band is not None
    assert band.far_m == math.inf
    assert band.far_px[1] == pytest.approx(150, abs=1e-6)
    assert band.near_m < 0.5 or math.isnan(band.near_m)


def test_roll_drops_the_horizon_on_the_left() -> None:
    """A camera turned clockwise sees the horizon lower on the left."""
    a = level_ground_per_m(Vantage(10, 5, 4))
    left, right = ((-a[2] - a[0] * x) / a[1] for x in (-0.3, 0.3))

    assert left > right
    assert np.linalg.norm(a) == pytest.approx(0.1)


def test_depth_map_and_vantage_agree_on_the_band() -> None:
    """The rows found in a depth map of level ground are those of the exact ground band."""
    camera = Camera.from_lens(600, 400, 90, Sensor())
    lens = _roof_lens()
    field = blur_field(lens, camera, _ground_depth(camera, ROOF))
    (run,) = sharp_runs(field, 300, 0.03)
    band = ground_band(lens, camera, ROOF, 0.03, 300.5)

    assert band is not None
    assert (run.first_px, run.last_px) == pytest.approx((band.far_px[1], band.near_px[1]), abs=1e-3)


def test_across_is_down_of_the_turned_picture() -> None:
    """A swing to the right finds along a row what the tilt down finds along a column."""
    camera = Camera.from_lens(60, 60, 50, Sensor(24, 24))
    depth = np.full((60, 60), 10, np.float32)
    depth[:, :13] = 30
    focus = FocusDistance(10)
    swung = LensSetting(focal_mm=50, f_number=2, focus=focus, swing_deg=4)
    tilted = LensSetting(focal_mm=50, f_number=2, focus=focus, tilt_deg=4)
    across = sharp_runs(blur_field(focus_lens(swung), camera, depth), 20, 0.03, across=True)
    down = sharp_runs(blur_field(focus_lens(tilted), camera, depth.T.copy()), 20, 0.03)

    assert across
    found = [(run.first_px, run.last_px, run.first_m, run.last_m) for run in across]
    expected = [(run.first_px, run.last_px, run.first_m, run.last_m) for run in down]
    np.testing.assert_allclose(found, expected, rtol=1e-6)
    with pytest.raises(SettingError, match="row 60 lies outside the picture of 60 rows"):
        sharp_runs(blur_field(focus_lens(swung), camera, depth), 60, 0.03, across=True)


def test_band_thinner_than_a_pixel_is_still_found() -> None:
    """A band between two pixel centres of one surface is found with its ends."""
    camera = Camera.from_lens(60, 40, 90, Sensor())
    lens = focus_lens(
        LensSetting(focal_mm=90, f_number=1.4, focus=FocusSpot(0, 0, 58.476), tilt_deg=-10)
    )
    field = blur_field(lens, camera, _ground_depth(camera, ROOF))
    runs = sharp_runs(field, 30, 0.02)

    assert not np.any(np.abs(field.defocus[:, 30]) * 90 / 1.4 <= 0.02)
    assert len(runs) == 1
    assert 0 < runs[0].last_px - runs[0].first_px < 1


def test_a_depth_edge_ends_the_band_on_the_border_of_the_pixel() -> None:
    """Where a sharp wall stops in front of the sky, its band ends between the two pixels."""
    camera = Camera.from_lens(60, 40, 50, Sensor())
    lens = focus_lens(LensSetting(focal_mm=50, f_number=2, focus=FocusDistance(10)))
    depth = np.full((40, 60), 10, np.float32)
    depth[:13] = np.inf
    runs = sharp_runs(blur_field(lens, camera, depth), 5, 0.03)

    assert [(run.first_px, run.last_px) for run in runs] == [(13.0, 40.0)]
    assert runs[0].first_m == pytest.approx(10, rel=1e-6)


def test_a_run_tells_the_nearest_and_farthest_that_lie_between_its_ends() -> None:
    """Two things in the band, nearer and farther than its ends, and nothing beyond it, count."""
    camera = Camera.from_lens(60, 40, 50, Sensor())
    lens = focus_lens(LensSetting(focal_mm=50, f_number=8, focus=FocusDistance(10)))
    depth = np.full((40, 60), 10, np.float32)
    depth[15:18], depth[20:22], depth[35:] = 9.5, 10.5, 2.0
    (run,) = sharp_runs(blur_field(lens, camera, depth), 5, 0.03)

    assert (run.first_px, run.last_px) == (0.0, 35.0)
    found = [run.first_m, run.last_m, run.nearest_m, run.farthest_m]
    assert found == pytest.approx([10, 10, 9.5, 10.5], rel=1e-6)


def test_blur_at_the_edges_dwindles_and_the_band_widens_with_the_f_number() -> None:
    """From f/2.8 to f/16 the edge blur falls as 1/N and the band on the ground widens as N.

    Common practice, no source: the gradient is plain at f/2.8 and one stop down (edges blurred
    by more than 1 % of the picture's height, five times the sharp band's share of it or less)
    and dwindles from f/8 to f/16.
    """
    camera = Camera.from_lens(600, 400, 90, Sensor())
    ground = level_ground_per_m(ROOF)
    edge, height = {}, {}
    for stop in (2.8, 4.0, 8.0, 11.0, 16.0):
        lens = _roof_lens(stop)
        q = camera.slopes(300, 399.5)
        spot = spots(lens, q, ground @ [*q, 1.0])
        edge[stop] = 2 * spot.semi_axes_mm()[0] / lens.extension_mm * camera.focal_px / 400
        band = ground_band(lens, camera, ROOF, 0.03, 300)
        assert band is not None
        height[stop] = (band.near_px[1] - band.far_px[1]) / 400

    for stop in edge:
        assert edge[stop] * stop == pytest.approx(edge[2.8] * 2.8, rel=0.03)
        assert height[stop] / stop == pytest.approx(height[2.8] / 2.8, rel=1e-6)
    assert edge[4.0] > 0.01
    assert height[4.0] < 0.1
    assert edge[8.0] < 0.01 > edge[16.0] * 1.9
    assert height[16.0] > 0.25


@pytest.mark.parametrize("coc", [0.0, -0.03, math.nan, 40.0])
def test_an_impossible_circle_of_confusion_is_refused(coc: float) -> None:
    """A circle of confusion of nothing, of no number, or as wide as the aperture is refused."""
    said = "choose a wider stop" if coc > 1 else "must be above 0"
    with pytest.raises(SettingError, match=f"{said}.*|circle of confusion {said}"):
        wedge(_roof_lens(), coc)


def test_a_column_outside_the_picture_is_refused() -> None:
    """Asking for the band in a column that does not exist says how many there are."""
    camera = Camera.from_lens(60, 40, 50, Sensor())
    field = blur_field(_roof_lens(), camera, np.full((40, 60), 9, np.float32))

    with pytest.raises(SettingError, match="60 columns"):
        sharp_runs(field, 60, 0.03)


def test_sharp_ground_band_moves_away_when_focused_farther() -> None:
    """Focusing farther on the same ray carries the band away from the camera."""
    camera = Camera.from_lens(600, 400, 90, Sensor())
    near = ground_band(_roof_lens(), camera, ROOF, 0.03, 300)
    longer = replace(_roof_lens(), extension_mm=_roof_lens().extension_mm * 0.9999)
    far = ground_band(longer, camera, ROOF, 0.03, 300)

    assert near is not None
    assert far is not None
    assert far.sharp_m > near.sharp_m
    assert far.sharp_px[1] < near.sharp_px[1]


def test_the_ground_s_band_ends_at_a_wall_but_not_at_a_thing_before_more_ground() -> None:
    """A wall 20 m away ends a band that reaches on; a man at 18 m, seen before ground, does not."""
    camera, vantage = Camera(300, 200, 300.0), Vantage(6.0, 20.0)
    lens = focus_lens(LensSetting(focal_mm=45, f_number=2, focus=FocusDistance(18)))
    slopes = camera.slopes(np.full(200, 150.0), np.arange(200) + 0.5)
    ground = meets_ground(vantage, slopes)
    free = ground_band(lens, camera, vantage, 0.03, 150.0)
    assert free is not None
    away = over_ground_m(vantage, slopes, 1.0)
    wall, there = np.maximum(ground, away / 20.0), away / ground
    man = np.where((there > 18.0) & (there < 60.0), away / 18.0, ground)

    assert 30 < free.far_m < 50
    assert free.behind_things(camera, vantage, 150.0, wall).far_m == pytest.approx(20.0, rel=1e-6)
    assert free.behind_things(camera, vantage, 150.0, man).far_m == free.far_m
    assert free.behind_things(camera, vantage, 150.0, ground).far_m == free.far_m
