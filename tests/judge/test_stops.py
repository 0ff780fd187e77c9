"""Where stopping down weakens it."""

import json
import math
from dataclasses import replace
from pathlib import Path

import pytest

from render.judge.case import look
from render.judge.score import Word
from render.judge.verdict import judge, judge_case
from render.optics.solving.limits import usual_limits
from render.words import spell_f_number

CHECKS = json.loads((Path(__file__).parents[1] / "data" / "miniature_checks.json").read_text())


@pytest.mark.parametrize("f_number", [2.8, 8.0])
def test_limits_are_the_computed_ones_from_any_stop(roof, f_number):
    """Strong to f/3.4, fading at f/11, band over half from f/29; edges lost near f/14."""
    here = roof(size_px=(480, 320))
    found = judge(here.scene(), here.setting(f_number), coc_mm=0.03).stops

    assert found.strong_to == pytest.approx(CHECKS["inverse"]["N_for_Dp_0p3"], rel=1e-3)
    assert found.fading_from == pytest.approx(CHECKS["inverse"]["N_for_Dp_1m"], rel=1e-3)
    assert found.band_lost_from == pytest.approx(CHECKS["inverse"]["N_for_w_0p5"], rel=1e-3)
    assert found.edge_lost_from == pytest.approx(0.95 * 14.34, rel=0.01)


def test_the_sentence_says_what_judging_each_stop_says(roof, front):
    """Read to, might to and gone from agree with the verdicts at those stops."""
    here = roof()
    scene = here.scene([front(here.foot_m, 2.0, -3.0, 3.0)])
    found = judge(scene, here.setting(4)).stops
    gone = next(n for n in (5.6, 8.0, 11.0, 16.0) if n > found.might_to)

    assert judge(scene, here.setting(found.reads_to)).word is Word.READS
    assert judge(scene, here.setting(gone)).word is Word.WONT
    assert f"reads to {spell_f_number(found.reads_to)}" in found.sentence
    assert f"gone from {spell_f_number(gone)}" in found.sentence


def test_an_effect_that_never_was_has_no_stop(roof):
    """Without tilt the scene is far off at every real stop."""
    found = judge(roof().scene(), roof().setting(2.8, 0.0)).stops

    assert found.reads_to == found.might_to == 0
    assert "reads at no stop" in found.sentence


def test_stops_that_the_lens_does_not_have_are_not_named(roof, front):
    """A slow lens reads to none of what only wider ones do, and is gone from none beyond it."""
    here = roof()
    case = look(here.scene([front(here.foot_m, 2.0, -3.0, 3.0)]))
    lens = replace(usual_limits(90.0), widest_f_number=9.0, smallest_f_number=9.5)
    any_lens, own = (judge_case(case, here.setting(9.5), limits).stops for limits in (None, lens))

    assert any_lens.reads_to == 8.0
    assert any_lens.gone_from > 9.5
    assert own.reads_to == 0
    assert own.gone_from == math.inf
    assert "gone" not in own.sentence


def test_where_only_narrower_stops_read_the_first_of_them_is_named(roof, front):
    """Focused below the frame nothing is sharp wide open; stopped down the band reaches into it."""
    here = roof()
    scene = here.scene([front(here.foot_m, 2.0, -3.0, 3.0)])
    below = replace(here.setting(2.8).focus, slope_y=0.14, depth_m=42.2)  # 5 % below the frame
    setting = replace(here.setting(2.8), focus=below)
    found = judge(scene, setting).stops

    assert found.sentence.startswith("Stopping down: reads from f/8 to f/11, ")
    words = [judge(scene, replace(setting, f_number=n)).word is Word.READS for n in (2.8, 4, 8, 11)]
    assert words == [False, False, True, True]
