"""Advice: proposals against computed values, and each line held to what it says."""

import dataclasses
import json
import math
from pathlib import Path

import pytest

from render.errors import SettingError
from render.judge.advising.advice import advise, f_number_for_scale
from render.judge.advising.best import best_setting
from render.judge.advising.vantages import Elsewhere
from render.judge.case import assess, look
from render.judge.score import Word
from render.judge.verdict import judge
from render.optics.lens import FocusDistance, FocusSpot
from render.optics.solving.limits import usual_limits

CHECKS = json.loads((Path(__file__).parents[2] / "data" / "miniature_checks.json").read_text())


def _advice(here, setting, fronts=(), **more):
    scene = here.scene(fronts)
    return advise(scene, look(scene), setting, **more)


def _starting(advice, start):
    return next((line for line in advice if line.text.startswith(start)), None)


def test_every_tested_line_is_what_judging_its_setting_gives(roof, front):
    """The score beside a line run on this picture is that of the whole judgement, and a gain."""
    here = roof()
    fronts = [front(here.foot_m, 18.0, -9.5, -5.0)]
    for setting in (here.setting(11), here.setting(5.6, 6.0), here.setting(4, 0, 8)):
        advice = [a for a in _advice(here, setting, fronts) if a.tested == "run on this picture"]

        assert advice
        for line in advice:
            again = judge(here.scene(fronts), line.setting)
            assert again.score.value == pytest.approx(line.after, abs=1e-9)
            assert again.word is line.word
            assert line.after > line.before
            assert f"{line.before:.0f} → {line.after:.0f}" in line.line


def test_opening_up_stops_at_the_computed_f_number(roof):
    """f/3.4 brings the band to 0.3 m, so the marked stop below is advised: f/2.8."""
    advice = _advice(roof(), roof().setting(11))
    here = roof()
    computed = 11 * 0.3 / judge(here.scene(), here.setting(11)).apparent_m

    assert computed == pytest.approx(CHECKS["inverse"]["N_for_Dp_0p3"], rel=1e-3)
    assert _starting(advice, "open to").setting.f_number == 2.8


def test_opening_up_says_what_it_costs(roof):
    """The band shrinks with the stop, and its new height is said."""
    here = roof()
    line = _starting(_advice(here, here.setting(11)), "open to")
    band = judge(here.scene(), here.setting(2.8)).measures.band.height_fraction

    assert line.cost == f"the sharp band is then {100 * band:.2g} % of the height"
    assert line.line.endswith(line.cost)


def test_the_lens_is_never_opened_beyond_its_widest(roof):
    """A lens that opens to f/4 is advised f/4."""
    limits = dataclasses.replace(usual_limits(90), widest_f_number=4.0)

    assert _starting(_advice(roof(), roof().setting(11), limits=limits), "open to f/4")


def test_no_line_turns_the_lens_further_than_it_goes(roof):
    """With 8 degrees allowed no line asks for more; a lens that goes further is taken there."""
    here = roof()
    far = dataclasses.replace(usual_limits(90), tilt_limit_deg=20.0)
    usual = _advice(here, here.setting(5.6, -3.0, 5.0))
    free = _starting(_advice(here, here.setting(5.6, -4.0), limits=far), "lens up 13.5")

    assert usual
    for line in filter(lambda line: line.setting is not None, usual):
        tilt, swing = (math.radians(a) for a in (line.setting.tilt_deg, line.setting.swing_deg))
        assert math.cos(tilt) * math.cos(swing) >= math.cos(math.radians(8.01))
    assert free.setting.tilt_deg == math.floor(2 * CHECKS["inverse"]["tilt_for_Dp_0p3_at_N5p6"]) / 2


def test_never_down_where_up_does_the_same(roof):
    """Up by the same angle adds to the ground's own slant, so what is advised turns up."""
    found = best_setting(look(roof().scene()), roof().setting(5.6, 8.0), usual_limits(90))

    assert found.setting.tilt_deg < 0


def test_several_changes_are_proposed_where_one_is_not_enough(roof, front):
    """An all-blurred start far off the subject: tilt and focus together, and it says both."""
    here = roof()
    things = [front(here.foot_m, 2.0, -3.0, 3.0)]
    lost = dataclasses.replace(here.setting(8, 0.0), focus=FocusDistance(2.0))
    line = _advice(here, lost, things)[0]

    assert line.word is Word.READS
    assert "lens up" in line.text
    assert "focused at" in line.text


def test_all_sharp_ground_is_told_to_turn_the_other_way(roof):
    """At the landscape tilt the advice names the cause, and bare ground gets as far as it can."""
    t0 = math.degrees(math.asin(0.09 * math.cos(math.radians(20)) / 20))
    line = _starting(_advice(roof(), roof().setting(4, t0)), "the ground is all sharp; turn")

    assert line.word is Word.MIGHT


def test_a_swung_lens_is_told_to_let_blur_follow_the_slant(roof):
    """Blur sideways over flat ground: the same angle upwards."""
    lines = _advice(roof(), roof().setting(4, 0, 8))
    line = next(line for line in lines if "so that blur follows the slant" in line.text)

    assert line.text.startswith("lens up 8°, lens not swung")
    assert line.part == "agreement"
    assert line.after > line.before + 30


def test_climbing_comes_out_as_computed_and_only_a_demo_scene_can_test_it(roof):
    """45 mm, f/4, lens up 8: from 6 m to 8.5 m for a subject 20 m off (computed)."""
    here = roof(height_m=6.0, pitch_deg=math.degrees(math.atan(6 / 20)), focal_mm=45.0)
    photo = _starting(_advice(here, here.setting(4)), "climb to 8.5")

    def rebuild(vantage):
        return dataclasses.replace(
            here, height_m=vantage.height_m, pitch_deg=vantage.pitch_deg
        ).scene()

    there = Elsewhere(rebuild)
    demo = _starting(_advice(here, here.setting(4), there=there), "climb to 8.5")

    assert photo.after is None
    assert photo.setting is None
    assert "cannot test" in photo.line
    assert demo.after > demo.before
    assert demo.tested == "run on the same place, seen from there"


def test_pitching_down_is_run_on_the_part_of_the_frame_that_is_shown(roof):
    """The steeper frame is re-judged where the picture shows it, and says how much that is."""
    here = roof(height_m=6.0, pitch_deg=16.7, focal_mm=45.0)
    line = _starting(_advice(here, here.setting(4)), "pitch down")

    assert line.vantage.pitch_deg > 17
    assert "of the new frame that the picture shows" in line.tested


def test_scale_on_demand(roof):
    """1:87 at a focus distance of 58 m asks for f/7.6 (computed)."""
    here = roof()
    found = assess(look(here.scene()), here.setting(4))
    wanted = f_number_for_scale(found, here.setting(4), 87)

    assert wanted == pytest.approx(CHECKS["inverse"]["N_for_S_87"], rel=1e-4)
    assert judge(here.scene(), here.setting(wanted)).reads_as.denominator == pytest.approx(87)


@pytest.mark.parametrize("scale", [0.0, -87.0, math.nan, math.inf])
def test_a_scale_that_is_none_is_refused(roof, scale):
    """Zero, negative and no number."""
    here = roof()
    with pytest.raises(SettingError, match="no scale"):
        f_number_for_scale(assess(look(here.scene()), here.setting(4)), here.setting(4), scale)


def test_usual_limits_suit_any_focal_length():
    """Short and long lenses get limits that can exist."""
    for focal_mm in (17.0, 90.0, 300.0):
        assert usual_limits(focal_mm).tilt_limit_deg == 8.0


def test_a_place_that_no_closed_form_names_is_found_by_the_search(roof, front, monkeypatch):
    """Another focus alone is a proposal where it is the search that finds it."""
    for name in ("lens_proposals", "frame_proposals"):
        monkeypatch.setattr(f"render.judge.advising.advice.{name}", lambda *_: ())
    here = roof(pitch_deg=12.0, focal_mm=45.0)
    scene = here.scene([front(here.foot_m, 18.0, -9.5, -5.0)])
    case = look(scene)
    low = 0.4 * case.samples.slope_height
    spot = FocusSpot(0.0, low, case.samples.depth_towards(0.0, low))
    setting = dataclasses.replace(here.setting(2.8, -8.0), focus=spot)
    line = next(iter(advise(scene, case, setting)))

    assert (line.text[:10], line.part) == ("focused at", "agreement")
    assert (line.setting.tilt_deg, line.setting.f_number) == (-8.0, 2.8)
    assert line.after > line.before + 3
