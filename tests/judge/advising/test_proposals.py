"""Proposals for the lens: solved from flat ground, before they are judged."""

import math

import pytest

from render.judge.advising.proposals import Situation, lens_proposals
from render.judge.case import assess, look
from render.optics.solving.limits import usual_limits


def _now(here, setting, fronts=()):
    scene = here.scene(fronts)
    case = look(scene)
    return Situation(scene, case, setting, assess(case, setting), usual_limits(setting.focal_mm))


def test_tilt_strength_is_that_of_the_closed_form(roof):
    """``M = |f cos p / h - sin t|``, and the M that 0.3 m asks for is ``A_ref N / (D* tan p)``."""
    now = _now(roof(), roof().setting(5.6))

    assert now.strength == pytest.approx(0.143402, rel=1e-5)
    assert now.wanted_strength == pytest.approx(
        0.0046 * 5.6 / (0.3 * math.tan(math.radians(20))), rel=1e-6
    )


def test_nothing_is_proposed_for_a_stop_that_is_wide_enough(roof):
    """At f/2.8 the band stands at 0.25 m: no wider stop, no more tilt."""
    texts = [trial.text for trial in lens_proposals(_now(roof(), roof().setting(2.8)))]

    assert not any(text.startswith(("open", "lens")) for text in texts)


def test_too_thin_a_band_asks_to_stop_down(roof):
    """At f/1.4 the band is under 3 % of the picture: the next marked stop that reaches it."""
    trials = {trial.text: trial for trial in lens_proposals(_now(roof(), roof().setting(1.4)))}

    assert trials["stop down to f/2"].part == "visibility"


def test_the_band_is_never_laid_where_a_front_hides_the_ground(roof, front):
    """On open ground it is tried at four heights; on a terrace and behind it there is no ground."""
    here = roof()

    def laid(*fronts):
        trials = lens_proposals(_now(here, here.setting(4), fronts))
        return [t.setting.focus.slope_y for t in trials if "band at the ground" in t.text]

    assert len(open_ground := laid()) == 4
    hidden = laid(front(here.foot_m, 18.0, -100.0, 100.0))
    assert hidden == pytest.approx([y for y in open_ground if y > 0])


def test_unknown_ground_proposes_from_the_depth_s_own_slant(roof):
    """Without a vantage the slant of the depth stands for cos p / h."""
    here = roof()
    scene = here.scene(known=False)
    case = look(scene)
    setting = here.setting(5.6)
    now = Situation(scene, case, setting, assess(case, setting), usual_limits(90))

    assert now.ground_slope == pytest.approx(math.cos(math.radians(20)) / 20, rel=1e-3)
