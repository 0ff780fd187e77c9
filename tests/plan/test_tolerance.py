"""How far the band moves for a small error."""

import dataclasses
import math

import numpy as np
import pytest

from render.judge.case import look
from render.optics.lens import FocusDistance, FocusExtension
from render.optics.plane import focus_lens, lens_axis
from render.optics.solving.limits import LensLimits
from render.optics.solving.targets import Target
from render.plan.tolerance import Tolerance, slack, tolerances
from render.words import length_words

LENS = LensLimits(
    name="long 90",
    focal_mm=90,
    widest_f_number=1.4,
    smallest_f_number=45,
    tilt_limit_deg=12,
    closest_focus_m=0.5,
    ring_turn_deg=180,
)
PIVOTED = dataclasses.replace(LENS, pivot_behind_mm=40.0)


def _by_change(here, setting, limits=LENS):
    return {t.change: t for t in tolerances(look(here.scene()), setting, limits)}


def test_a_degree_of_tilt_against_the_closed_form(roof):
    """Far edge ``h / tan(p + atan(Y/v))`` at the row where blur reaches c, before and after."""
    here = roof()
    found = _by_change(here, here.setting(4))["1° more tilt, focus set anew"]
    pitch = math.radians(20)

    def far(tilt_deg):
        strength = 0.09 * math.cos(pitch) / 20 - math.sin(math.radians(tilt_deg))
        coc = look(here.scene()).coc_for(here.setting(4)) / 1000
        n_z = math.cos(math.radians(tilt_deg))
        extension = 0.09 / (n_z - 0.09 / here.focus_m)
        row = -coc * 4 / strength / extension
        return 20 / math.tan(pitch + math.atan(row))

    assert found.far_m == pytest.approx(far(-9), rel=1e-4)
    assert found.far_moves_m == pytest.approx(far(-9) - far(-8), rel=1e-3)


def test_more_tilt_narrows_and_stopping_down_widens(roof):
    """Directions of every line are the right ones."""
    here = roof()
    found = _by_change(here, here.setting(4))

    assert found["1° more tilt, focus set anew"].far_moves_m < 0
    assert found["1° less tilt, focus set anew"].far_moves_m > 0
    assert found["one stop narrower"].far_moves_m > 0 > found["one stop narrower"].near_moves_m
    assert found["one stop wider"].height_fraction < found["one stop narrower"].height_fraction


def test_untouched_focus_moves_the_whole_band(roof):
    """With the ring left alone a degree of tilt carries the band off by more than its height."""
    here = roof()
    found = _by_change(here, here.setting(4))

    held, anew = found["1° more tilt, focus untouched"], found["1° more tilt, focus set anew"]
    assert abs(held.far_moves_m) > 5 * abs(anew.far_moves_m)
    assert held.near_moves_m * held.far_moves_m > 0
    ends = f"{length_words(held.near_m)} to {length_words(held.far_m)}"
    assert held.sentence == f"{held.change}: sharp from {ends} along the ground"


def test_to_the_horizon_and_back_are_said_in_words(roof):
    """A plain lens's band that reaches infinity is said so, without infinite metres."""
    here = roof(height_m=3.0, pitch_deg=6.0, focal_mm=24.0)
    text = [t.sentence for t in _by_change(here, here.setting(11, 0.0)).values()]

    assert any("horizon" in line for line in text)
    assert not any("inf" in line.replace("infinity", "") for line in text)
    scene = here.scene()  # behind a wall that fills the frame no ground is told of
    walled = dataclasses.replace(scene, depth_m=np.full_like(scene.depth_m, 3.0))
    text = [t.sentence for t in tolerances(look(walled), here.setting(11, 0.0), LENS)]
    assert text
    assert not any("horizon" in line or "along the ground" in line for line in text)


def test_edges_outside_the_frame_are_told_in_no_metres(roof):
    """Of a band that meets the ground below the frame its way in the picture is told."""
    here = roof()
    setting = dataclasses.replace(here.setting(2.8, 0.0), focus=FocusDistance(12.0))
    (one, *_) = tolerances(look(here.scene()), setting, LENS)

    assert math.isnan(one.near_m)
    assert math.isnan(one.far_m)
    assert one.sentence.endswith("(it meets the ground below the frame)")
    assert "sharp" not in one.sentence


def test_without_known_ground_it_is_said_in_picture_heights(roof):
    """Where neither vantage nor ground is known, the band moves by shares of the picture."""
    here = roof()
    case = dataclasses.replace(look(here.scene()), vantage=None)
    found = {t.change: t for t in tolerances(case, here.setting(4), LENS)}

    assert "% of the picture's height" in found["1° more tilt, focus untouched"].sentence


def test_tilt_and_focus_may_be_off_by_the_closed_form(roof):
    """On the axis blur is ``f/N |v/v_s - 1|`` with ``v_s = f / (cos tilt - f/z)`` sharp there."""
    here = roof()
    setting = here.setting(4)
    case = look(here.scene())
    found = slack(case, setting, [_middle(here)], LENS)
    part = case.coc_for(setting) * 4 / 90
    v = focus_lens(setting).extension_mm
    near_z = math.cos(math.radians(8)) - 90 / v  # f / z
    cosines = [near_z + 90 * (1 + s * part) / v for s in (-1, 1)]
    # turning by the lens centre leaves v: the ring's own e / cos(tilt) is what stays
    lost = [math.degrees(math.acos(c)) - 8 for c in cosines]

    assert found.tilt_deg == pytest.approx(min(map(abs, lost)), rel=0.02)
    assert found.focus_mm == pytest.approx(v * part, rel=1e-3)
    assert found.swing_deg is None
    assert found.words.startswith(f"tilt ±{found.tilt_deg:.2g}°, ring ")
    assert found.ring_near_m < found.ring_far_m
    assert found.ring_turn_deg == pytest.approx(
        180 * found.focus_mm / math.cos(math.radians(8)) / (LENS.longest_extension_mm - 90)
    )


def test_a_pivot_behind_the_lens_takes_away_slack_as_traced_rays_say(roof):
    """Rays traced through the carried lens reach one circle at the tilt that the card allows."""
    here = roof()
    setting = here.setting(4)
    case = look(here.scene())
    centred, behind = (slack(case, setting, [_middle(here)], lens) for lens in (LENS, PIVOTED))
    v, coc = focus_lens(setting).extension_mm, case.coc_for(setting)
    point = np.array([0.0, 0.0, 1000 * here.focus_m])
    out_mm = (v - 90 + 40) / math.cos(math.radians(8))

    def traced(tilt_deg):
        """Largest spread (mm) on the fixed sensor, lens turned about an axis 40 mm behind it."""
        before, after = lens_axis(-8, 0), lens_axis(tilt_deg, 0)
        return _spread_mm(point, out_mm * (after - before), after, 90 / 8, -v)

    assert behind.tilt_deg < 0.85 * centred.tilt_deg
    assert traced(-8) < 0.02 * coc
    over = max(traced(-8 + s * behind.tilt_deg) for s in (-1, 1))
    assert over == pytest.approx(coc, rel=0.03)


def test_untouched_focus_moves_the_band_as_traced_rays_say(roof):
    """A degree more, the ring left alone: the ground's sharpest spot is where rays meet."""
    here = roof()
    setting = here.setting(4)
    found = _by_change(here, setting, PIVOTED)["1° more tilt, focus untouched"]
    centred = _by_change(here, setting)["1° more tilt, focus untouched"]
    v = focus_lens(setting).extension_mm
    out_mm = (v - 90 + 40) / math.cos(math.radians(8))
    moved = out_mm * (lens_axis(-9, 0) - lens_axis(-8, 0))
    pitch = math.radians(20)

    def spread(away_m):
        """Of a spot of the ground so far away, through the lens as it then stands."""
        along = away_m * math.cos(pitch) + 20 * math.sin(pitch)
        down = 20 * math.cos(pitch) - away_m * math.sin(pitch)
        return _spread_mm(1000 * np.array([0, down, along]), moved, lens_axis(-9, 0), 90 / 8, -v)

    coc = look(here.scene()).coc_for(setting)
    assert abs(found.far_moves_m) > 1.2 * abs(centred.far_moves_m)
    assert spread(found.far_m) == pytest.approx(coc, rel=0.03)
    assert spread(found.near_m) == pytest.approx(coc, rel=0.03)
    assert spread((found.near_m + found.far_m) / 2) < 0.2 * coc


def test_a_swing_is_given_a_tolerance_of_swing(roof):
    """Where the lens is only swung, the degree and the slack are of swing."""
    here = roof()
    setting = here.setting(4, 0.0, 6.0)
    case = look(here.scene())
    changes = [t.change for t in tolerances(case, setting, LENS)]
    found = slack(case, setting, [_middle(here)], LENS)

    assert "1° more swing, focus untouched" in changes
    assert not any("tilt" in change for change in changes)
    assert found.tilt_deg is None
    assert found.swing_deg is not None
    assert found.words.startswith("swing ±")


def test_named_things_are_told_sharp_or_soft(roof):
    """With names, every line says which of them goes soft and by how much."""
    here = roof()
    things = [_middle(here, "cart"), Target(0.2, 0.0, here.focus_m, name="stall")]
    told = {
        t.change: t.sentence
        for t in tolerances(look(here.scene()), here.setting(4), PIVOTED, things)
    }

    assert told["one stop narrower"] == "one stop narrower: all stays sharp"
    assert "cart and stall go soft (" in told["1° more tilt, focus untouched"]
    line = Tolerance("a", 9, 11, 0, 0, 0.5, 0.1, 0, 0, (("Ann", 1.2), ("Ben", 1.0), ("Cy", 1.04)))
    assert line.sentence == "a: Ann goes soft (1.2 circles); Ben and Cy stay sharp"
    two = dataclasses.replace(line, circles=(("Ann", 1.2), ("Ben", 3.0), ("Cy", 1.5)))
    assert two.sentence == "a: Ann, Ben and Cy go soft (1.2, 3.0 and 1.5 circles)"
    line = dataclasses.replace(line, soft_before=("Ann", "Ben"))
    assert line.sentence == "a: Ann stays soft (1.2 circles); Ben becomes sharp; Cy stays sharp"


def test_a_degree_that_the_lens_does_not_have_is_left_out(roof):
    """At its limit a lens is not told what a degree more would do."""
    here = roof()
    limits = dataclasses.replace(LENS, tilt_limit_deg=8.0)
    changes = [t.change for t in tolerances(look(here.scene()), here.setting(1.4), limits)]

    assert not any("more tilt" in change for change in changes)
    assert any("less tilt" in change for change in changes)
    assert "one stop wider" not in changes


def test_focus_of_a_straight_lens_may_be_off_by_n_times_c(roof):
    """Depth of focus of a plain lens is N c either way of v = f (textbooks)."""
    here = roof()
    far = dataclasses.replace(here.setting(4, 0.0).focus, depth_m=math.inf)
    setting = dataclasses.replace(here.setting(4, 0.0), focus=far)
    case = look(here.scene())
    found = slack(case, setting, [Target(0.0, 0.0, math.inf)], LENS)

    assert found.focus_mm == pytest.approx(4 * case.coc_for(setting), rel=1e-3)
    assert found.tilt_deg is None
    assert found.in_hand
    # all but a hundredth of it taken, half a thousandth of 90 mm needs 1.5 times the f-number
    off = FocusExtension(90 + 0.99 * found.focus_mm)
    tight = slack(case, dataclasses.replace(setting, focus=off), [Target(0, 0, math.inf)], LENS)
    assert tight.f_number_for_hands == pytest.approx(4 * math.sqrt(2))
    assert tight.words.endswith("no slack for hands: stop down to f/5.6")
    assert found.words.startswith("ring ")


def _middle(here, name=""):
    return Target(0.0, 0.0, here.focus_m, name=name)


def _spread_mm(point_mm, centre_mm, axis, radius_mm, sensor_z_mm):
    """Largest diameter of the traced spot of a point behind a thin lens, by the slope law.

    In the lens's own frame a ray that meets the lens at height h leaves at its slope less h / f.
    """
    n = np.asarray(axis, float)
    u1 = np.cross(n, [1.0, 0.0, 0.0])
    u1 /= np.linalg.norm(u1)
    u2 = np.cross(n, u1)
    landed = []
    for angle in np.linspace(0, 2 * np.pi, 72, endpoint=False):
        height = radius_mm * (np.cos(angle) * u1 + np.sin(angle) * u2)
        at = centre_mm + height
        ray = at - point_mm
        ray = ray / (ray @ -n)  # towards the sensor, against the lens axis
        out = ray - height / 90.0
        landed.append((at + out * (at[2] - sensor_z_mm) / -out[2])[:2])
    spots = np.array(landed)
    return float(max(np.linalg.norm(a - spots, axis=1).max() for a in spots))
