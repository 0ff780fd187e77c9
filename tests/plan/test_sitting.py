"""What people are told where the shutter is slow."""

from dataclasses import replace

import numpy as np
import pytest

from render.judge.case import look
from render.judge.verdict import judge_case
from render.optics.camera import Camera
from render.optics.lens import FocusSpot, LensSetting
from render.optics.solving.targets import Target
from render.plan.card import plan_card
from render.plan.exposure import brightness_from_weather
from render.plan.sitting import Sitters
from render.scene.scene import Scene


def test_people_are_told_to_hold_still_where_the_shutter_is_slow():
    """At 1.5 m a head may sway by the depth of field; 1/125 s takes more light or ISO."""
    u, f, n, c = 1500.0, 90.0, 2.8, 0.03
    light = np.full((80, 120, 3), 0.2, np.float32)
    case = look(Scene(light, np.full((80, 120), 1.5, np.float32), Camera(120, 80, 300)), coc_mm=c)
    setting = LensSetting(focal_mm=f, f_number=n, focus=FocusSpot(0.0, 0.0, 1.5))
    verdict, eye = judge_case(case, setting), Target(0.0, 0.0, 1.5, name="left eye")
    sitter = Sitters((eye,))
    lamp, sun = map(brightness_from_weather, ("lamplight", "sun"))
    told = plan_card(case, verdict, light, lamp, people=sitter).sitting
    grows = f * f / (n * (u - f))  # blur of what stands at d: that times |u - d| / d (textbooks)

    assert 1000 * told.nearer_m == pytest.approx(u - grows * u / (grows + c), rel=1e-3)
    assert 1000 * told.back_m == pytest.approx(grows * u / (grows - c) - u, rel=1e-3)
    assert told.sentence.startswith("hold still: 1/6 s is slow for people; a head may sway ")
    assert "; 1/125 s takes ISO 2000, or 4.4 stops more light" in told.sentence
    assert plan_card(case, verdict, light, sun, people=sitter).sitting is None
    assert plan_card(case, verdict, light, lamp).sitting is None
    called = Sitters((replace(eye, name="Ann"), replace(eye, name="Ben")), supposed=True)
    supposed = plan_card(case, verdict, light, lamp, people=called).sitting
    assert supposed.sentence == f"if Ann and Ben are people, {told.sentence}"
