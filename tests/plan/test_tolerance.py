"""How far the band moves for a small error."""

import dataclasses
import math

import pytest

from render.judge.case import look
from render.optics.plane import focus_lens
from render.plan.tolerance import slack, tolerances


def _by_change(here, setting, known=True):
    case = look(dataclasses.replace(here.scene(), vantage=None) if not known else here.scene())
    return {t.change: t for t in tolerances(case, setting)}


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
    assert "moves the band's far edge by" in held.sentence


def test_to_the_horizon_and_back_are_said_in_words(roof):
    """A plain lens's band that reaches infinity is said so, without infinite metres."""
    here = roof(height_m=3.0, pitch_deg=6.0, focal_mm=24.0)
    text = [t.sentence for t in _by_change(here, here.setting(11, 0.0)).values()]

    assert any("horizon" in line for line in text)
    assert not any("inf" in line for line in text)


def test_without_known_ground_it_is_said_in_picture_heights(roof):
    """Where neither vantage nor ground is known, the band moves by shares of the picture."""
    here = roof()
    case = dataclasses.replace(look(here.scene()), vantage=None)
    found = {t.change: t for t in tolerances(case, here.setting(4))}

    assert "% of the picture's height" in found["1° more tilt, focus untouched"].sentence


def test_tilt_and_focus_may_be_off_by_the_closed_form(roof):
    """On the axis blur is ``f/N |v/v_s - 1|`` with ``v_s = f / (cos tilt - f/z)`` sharp there."""
    here = roof()
    setting = here.setting(4)
    case = look(here.scene())
    found = slack(case, setting, (0.0, 0.0))
    part = case.coc_for(setting) * 4 / 90
    v = focus_lens(setting).extension_mm
    near_z = math.cos(math.radians(8)) - 90 / v  # f / z
    lost = [math.degrees(math.acos(near_z + 90 * (1 + s * part) / v)) - 8 for s in (-1, 1)]

    assert found.tilt_deg == pytest.approx(min(map(abs, lost)), rel=1e-3)
    assert found.focus_mm == pytest.approx(v * part, rel=1e-3)
    assert found.swing_deg is None
    assert found.words == f"tilt {found.tilt_deg:.2g}°, focus {found.focus_mm:.2g} mm"


def test_focus_of_a_straight_lens_may_be_off_by_n_times_c(roof):
    """Depth of focus of a plain lens is N c either way of v = f (textbooks)."""
    here = roof()
    far = dataclasses.replace(here.setting(4, 0.0).focus, depth_m=math.inf)
    setting = dataclasses.replace(here.setting(4, 0.0), focus=far)
    case = look(here.scene())
    found = slack(case, setting, (0.0, 0.0))

    assert found.focus_mm == pytest.approx(4 * case.coc_for(setting), rel=1e-3)
    assert found.tilt_deg is None
