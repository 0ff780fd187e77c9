"""The order of setting up."""

import dataclasses
from typing import Any

from render.judge.case import Case, look
from render.judge.verdict import Verdict, judge_case
from render.optics.lens import FocusDistance
from render.optics.solving.limits import usual_limits
from render.optics.solving.targets import Target
from render.plan.focusing import nothing_sharp
from render.plan.setting_up import setting_up


def _steps(case: Case, verdict: Verdict, *rest: Any, **more: Any) -> tuple[str, ...]:
    return setting_up(case, verdict, *rest, blind=nothing_sharp(case, verdict), **more)


def test_the_order_meters_before_tilting_and_names_what_to_dial_in(roof):
    """Meter, tilt, focus, stop: in that order, with the scale's mark and the ring's distance."""
    here = roof()
    case = look(here.scene())
    verdict = judge_case(case, dataclasses.replace(here.setting(4), rise_mm=-5.0))
    halves = dataclasses.replace(usual_limits(90), marks_per_degree=2.0)
    text = "\n".join(_steps(case, verdict, halves))
    order = [text.index(word) for word in ("fall 5 mm", "Meter", "lens up 8°", "ring", "Set f/4")]

    assert order == sorted(order)
    assert "mark 16" in text
    assert "one straight frame at f/8" in text


def test_a_lens_that_turns_behind_its_centre_is_framed_again(roof):
    """40 mm behind: tilting up by 8 degrees carries the view up by 5.8 mm."""
    here = roof()
    case = look(here.scene())
    verdict = judge_case(case, here.setting(4))
    pivoted = dataclasses.replace(usual_limits(90), pivot_behind_mm=40.0)

    assert any("The view moves 5.8 mm up" in step for step in _steps(case, verdict, pivoted))
    assert not any("frame again" in step for step in _steps(case, verdict, usual_limits(90)))


def test_a_ring_that_does_not_reach_is_said(roof):
    """A pivot far in front asks for a ring past its infinity mark."""
    here = roof()
    case = look(here.scene())
    verdict = judge_case(case, here.setting(4))
    short = dataclasses.replace(usual_limits(90), pivot_behind_mm=-200.0)

    assert any("short of what is needed" in step for step in _steps(case, verdict, short))


def test_a_straight_lens_is_focused_between_two_things(roof):
    """Focused on the first it would lose the other; where it is set on one, that one is named."""
    here = roof()
    case = look(here.scene())
    on_gate = here.setting(8, 0.0)
    between = dataclasses.replace(on_gate, focus=FocusDistance(0.7 * here.focus_m))
    things = (
        Target(0.0, 0.0, here.focus_m, name="gate"),
        Target(0.05, 0.05, 0.5 * here.focus_m, name="well"),
    )
    both, level = (
        "\n".join(_steps(case, judge_case(case, setting), usual_limits(90), things))
        for setting in (between, on_gate)
    )

    assert "Focus on well, then on gate, each at full aperture" in both
    assert "leave the ring between the two" in both
    assert "full aperture on gate, 50 % across" not in both
    assert "full aperture on gate, 50 % across" in level
    assert "Look at well; check." in level


def test_a_straight_lens_is_not_told_to_tilt(roof):
    """Without a lean there is no step of tilting, and no straight frame beside it."""
    here = roof()
    case = look(here.scene())
    steps = "\n".join(_steps(case, judge_case(case, here.setting(4, 0.0)), usual_limits(90)))

    assert "Tilt" not in steps
    assert "straight frame" not in steps


def test_a_swing_is_told_for_the_mount_and_sideways(roof):
    """A lens swung left is a quarter turn of the axis, and its view moves left with it."""
    here = roof()
    case = look(here.scene())
    pivoted = dataclasses.replace(usual_limits(90), pivot_behind_mm=40.0)
    steps = _steps(case, judge_case(case, here.setting(4, 0.0, -3.0)), pivoted)
    (swing,) = (step for step in steps if step.startswith("Swing"))

    assert "axis 90° clockwise seen from behind, then down 3°" in swing
    assert "mm left with the lens" in swing
