"""The measures against closed forms, exact rays and published pairs.

Computed values: tests/data/miniature_checks.json (made for this project by code that shares
nothing with the package; same licence as the package).
"""

import json
import math
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from render.judge.measures import equivalent_lens, measure
from render.judge.samples import sample
from render.judge.verdict import judge
from render.optics.blur import defocus, spots
from render.optics.plane import focus_lens

CHECKS = json.loads((Path(__file__).parents[1] / "data" / "miniature_checks.json").read_text())
PUPIL_M = 0.0046


@pytest.mark.parametrize("row", CHECKS["planar_table_h20_p20_f90_t-8"], ids=lambda r: f"f/{r['N']}")
def test_flat_ground_gives_the_computed_table(roof, row):
    """On flat ground the fit returns pupil, scale, nearness and band of the closed form."""
    here = roof()
    verdict = judge(here.scene(), here.setting(row["N"]), coc_mm=0.03)
    found = verdict.measures

    assert found.pupil_m == pytest.approx(row["A_eq"], rel=1e-5)
    assert verdict.reads_as.denominator == pytest.approx(row["S"], rel=1e-5)
    assert verdict.apparent_m == pytest.approx(row["Dp"], rel=1e-5)
    assert found.band.height_fraction == pytest.approx(row["w"], rel=1e-4)
    assert found.follows == pytest.approx(1.0, abs=1e-6)
    assert found.spread_ln == pytest.approx(0.0, abs=1e-4)


@given(
    height=st.floats(2, 100),
    pitch=st.floats(5, 60),
    focal=st.floats(24, 135),
    f_number=st.floats(2, 22),
    tilt=st.floats(-12, 12),
)
def test_on_flat_ground_a_tilt_is_exactly_a_bigger_pupil(height, pitch, focal, f_number, tilt):
    """The fitted pupil is (f/N)|1 - h sin t / (f cos p)|, to 1e-9 of the untilted pupil."""
    p, t, f = math.radians(pitch), math.radians(tilt), focal / 1000
    y = np.linspace(-0.5, 0.5, 201) * min(0.9 * math.tan(p), 24 / focal)
    inverse = (math.sin(p) + y * math.cos(p)) / height
    signed = f / f_number * (inverse - (y * math.sin(t) + math.cos(t)) / f + 1 / f)
    slope, _ = equivalent_lens(signed, inverse, np.ones_like(y))

    expected = f / f_number * (1 - height * math.sin(t) / (f * math.cos(p)))
    assert slope == pytest.approx(expected, rel=1e-9, abs=1e-9 * f / f_number)


@pytest.mark.parametrize("pair", CHECKS["held_pairs"], ids=lambda pair: f"{pair['aperture']} m")
def test_published_pairs_of_pupil_and_apparent_distance(pair):
    """A plain lens focused at 782.6 m with pupil 10, 15.65, 24.5 m seems 0.36, 0.23, 0.147 m off.

    The pairs are those of the simulated pictures on the authors' page for Held, Cooper, O'Brien
    & Banks, ACM Trans. Graphics 29(2):19, 2010 (which prints 0.15 for the last).
    """
    inverse = np.linspace(1 / 2000, 1 / 400, 101)
    slope, intercept = equivalent_lens(
        pair["aperture"] * (inverse - 1 / 782.6), inverse, np.ones_like(inverse)
    )
    apparent = PUPIL_M / (abs(slope) * (-intercept / slope))

    assert apparent == pytest.approx(3.6 / pair["aperture"], rel=1e-4)
    assert round(apparent, 2) == pytest.approx(pair["focal_distance"], abs=0.0051)


@pytest.mark.parametrize(
    "row", CHECKS["macro_equivalence_f50_f2_h2_p30"], ids=lambda r: f"1:{r['S']}"
)
def test_dividing_scene_and_pupil_by_the_scale_keeps_every_blur(roof, row):
    """Scene and its 1:S copy behind the scaled lens at the same extension blur alike."""
    here = roof(height_m=2.0, pitch_deg=30.0, focal_mm=50.0)
    big = focus_lens(here.setting(2.0, tilt_deg=0.0))
    inverse = here.inverse()
    y = np.broadcast_to(here.camera().grid()[1][:, None], inverse.shape)
    slopes = np.stack([np.zeros_like(y), y], axis=-1)
    focal = 1 / (1 / big.extension_mm + row["S"] / (1000 * here.focus_m))
    small = type(big)(focal, big.aperture_radius_mm / row["S"], big.extension_mm, big.axis)
    one = big.aperture_radius_mm * defocus(big, slopes, inverse)
    two = small.aperture_radius_mm * defocus(small, slopes, row["S"] * inverse)

    assert focal == pytest.approx(row["f2_mm"], rel=1e-5)
    assert 2 * small.aperture_radius_mm == pytest.approx(row["A2_mm"], rel=1e-5)
    np.testing.assert_allclose(one, two, rtol=1e-11, atol=1e-13)


def test_a_real_model_reads_as_itself(roof):
    """A plain lens of the eye's pupil before a model: 1:1, C = 1, standing at its focus."""
    here = roof(height_m=0.25, pitch_deg=35.0, focal_mm=50.0)
    setting = here.setting(50.0 / 4.6, tilt_deg=0.0)
    verdict = judge(here.scene(), setting, coc_mm=0.03)

    assert verdict.reads_as.denominator == pytest.approx(1.0, rel=1e-5)
    assert verdict.measures.follows == pytest.approx(1.0, abs=1e-6)
    assert verdict.measures.spread_ln == pytest.approx(0.0, abs=1e-4)
    assert verdict.apparent_m == pytest.approx(here.focus_m, rel=1e-5)


def test_the_same_blur_on_a_scene_n_times_as_large_reads_as_one_to_n(roof):
    """Declare all distances 87 times as large, with the pupil 87 times as wide: 1:87."""
    inverse = roof(height_m=0.25, pitch_deg=35.0).inverse().ravel()
    signed = PUPIL_M * (inverse - 1 / 0.4)
    slope, intercept = equivalent_lens(signed, inverse / 87, np.ones_like(inverse))

    assert abs(slope) / PUPIL_M == pytest.approx(87.0, rel=1e-9)
    assert -slope / intercept == pytest.approx(87 * 0.4, rel=1e-9)


@pytest.mark.parametrize(
    ("focal_mm", "pitch_deg", "shorter"), [(90, 20, 0.028), (45, 25, 0.046), (24, 30, 0.078)]
)
def test_blur_angle_against_exact_rays(roof, focal_mm, pitch_deg, shorter):
    """``A v |delta|`` is the exact spot across the tilt axis; along it the spot is shorter."""
    here = roof(focal_mm=float(focal_mm), pitch_deg=float(pitch_deg))
    lens = focus_lens(here.setting(4.0))
    y = 12.0 / lens.extension_mm
    p = math.radians(pitch_deg)
    inverse = (math.sin(p) + y * math.cos(p)) / here.height_m
    circle = lens.aperture_radius_mm * abs(float(defocus(lens, (0.0, y), inverse)))
    long, short = spots(lens, (0.0, y), inverse).semi_axes_mm()

    assert long == pytest.approx(circle, rel=1e-3)
    assert 1 - short / circle == pytest.approx(shorter, abs=0.001)


def test_band_times_edge_blur_is_constant(roof):
    """For a centred band w B(edge) = c/H, whatever the f-number."""
    here = roof()
    for f_number in (2.8, 8.0, 16.0):
        found = measure(sample(here.scene()), focus_lens(here.setting(f_number)), 0.03)
        edge = found.edge_blur / 0.95  # the 95th percentile of a ramp

        assert found.band.height_fraction * edge == pytest.approx(0.03 / 24, rel=0.01)


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], max_examples=25)
@given(stop=st.floats(1.1, 3.0), tilt=st.floats(-7.5, -2), more=st.floats(1.05, 1.5))
def test_wider_and_more_tilt_look_nearer(roof, stop, tilt, more):
    """A wider aperture or more tilt: larger scale number, nearer, thinner band."""
    here = roof(size_px=(60, 40))
    base = judge(here.scene(), here.setting(8.0, tilt))
    for other in (here.setting(8.0 / stop, tilt), here.setting(8.0, tilt * more)):
        found = judge(here.scene(), other)

        assert found.reads_as.denominator > base.reads_as.denominator
        assert found.apparent_m < base.apparent_m
        assert found.measures.band.height_fraction < base.measures.band.height_fraction
        assert found.marks.nearness >= base.marks.nearness


def test_a_steeper_look_stands_nearer(roof):
    """At the same blur strength, pitching down brings the scene nearer."""
    apparent = []
    for pitch in (10.0, 20.0, 30.0, 45.0):
        here = roof(pitch_deg=pitch)
        apparent.append(judge(here.scene(), here.setting(4.0)).apparent_m)

    assert all(later < earlier for earlier, later in pairwise(apparent))


def test_height_alone_adds_hardly_any_blur(roof):
    """Doubling every distance changes nearness by under 5 % and doubles the scale."""
    one, two = (judge(h.scene(), h.setting(4.0)) for h in (roof(), roof(height_m=40.0)))

    assert two.apparent_m == pytest.approx(one.apparent_m, rel=0.05)
    assert two.reads_as.denominator == pytest.approx(2 * one.reads_as.denominator, rel=0.05)


def test_scenes_with_fronts_come_out_as_computed(roof, front):
    """Tower and terrace: correlation within 0.05, scale within 3 % of the computed values."""
    here = roof()
    half = 0.221 * 36 / here.camera().focal_px * 240 / 36 * here.focus_m
    expected = {case["scene"]: case for case in CHECKS["regression_scenes_h20_p20_f90_N4"]}
    cases = {
        "ground + one 18 m tower in band, tilt -8": front(here.foot_m, 18.0, -half, half),
        "ground + row of 18 m fronts in band, tilt -8": front(here.foot_m, 18.0, -1e3, 1e3),
    }
    for name, thing in cases.items():
        found = judge(here.scene([thing]), here.setting(4.0)).measures

        assert found.follows == pytest.approx(expected[name]["corr_unsigned"], abs=0.05)
        assert found.pupil_m == pytest.approx(expected[name]["slope_Aeq"], rel=0.03)


@pytest.mark.parametrize(
    ("name", "tilt", "swing"),
    [
        ("ground only, tilt -5.657 swing 5.657", -5.657, 5.657),
        ("ground only, swing 8", 0.0, 8.0),
        ("ground only, no tilt", 0.0, 0.0),
        ("ground only, tilt +8", 8.0, 0.0),
    ],
)
def test_turned_blur_on_flat_ground_comes_out_as_computed(roof, name, tilt, swing):
    """Tilt, swing and neither: pupil, correlation, spread and orientation as computed."""
    here = roof(size_px=(360, 240))
    row = next(r for r in CHECKS["regression_scenes_h20_p20_f90_N4"] if r["scene"] == name)
    found = judge(here.scene(), here.setting(4.0, tilt, swing), coc_mm=0.03).measures

    assert found.pupil_m == pytest.approx(row["slope_Aeq"], rel=1e-3)
    assert found.follows == pytest.approx(row["corr_unsigned"], abs=2e-3)
    assert found.orientation_deg == pytest.approx(row["orientation_error_deg"], abs=0.05)
    if row["log_spread"]:
        assert found.spread_ln == pytest.approx(row["log_spread"], abs=0.02)


def test_blur_where_the_band_lies_outside_the_frame(roof):
    """A band outside the frame is not called visible."""
    here = roof()
    setting = here.setting(4.0)
    above = type(setting.focus)(0.0, -0.3, 90.0)
    found = judge(here.scene(), type(setting)(focal_mm=90, f_number=4, focus=above, tilt_deg=-8))

    assert not found.measures.band.inside
    assert found.marks.visibility == 0.0
