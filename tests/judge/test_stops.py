"""Where stopping down weakens it."""

import json
import math
from pathlib import Path

import pytest

from render.judge.stops import StopLimits
from render.judge.verdict import judge

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
    assert found.sentence.startswith("Stopping down: strong to f/3.5, fading by f/11;")


def test_an_effect_that_never_was_has_no_stop(roof):
    """Without tilt the scene is far off at every real stop."""
    found = judge(roof().scene(), roof().setting(2.8, 0.0)).stops

    assert "strong to no stop" in found.sentence


def test_infinite_distances_and_empty_bands_are_said_without_infinities():
    """What cannot be is said in words."""
    text = StopLimits(0.0, 0.0, 3.0, math.inf, math.inf).sentence

    assert "inf" not in text
    assert "no stop there is" in text
