"""What a verdict over level ground can fall to where the frame is built over."""

from dataclasses import replace

import numpy as np

from render.depth.depthmap import ALL_SAID, Unsaid
from render.judge.built_over import built_over_score
from render.judge.case import assess, look
from render.optics.lens import FocusDistance


def test_a_front_that_nobody_named_is_within_the_bound(roof, front) -> None:
    """A front through the focus scores above it; it is told until things cover enough ground."""
    here = roof()
    setting = here.setting(2.8, -8.0)
    unsaid = Unsaid(standing=True)
    flat = look(here.scene(), unsaid=unsaid)
    lowest = built_over_score(flat, setting, assess(flat, setting))
    tall = here.scene([front(here.foot_m, 9.0, -30.0, 30.0)])

    assert lowest is not None
    assert lowest <= assess(look(tall), setting).score.value
    assert lowest < assess(flat, setting).score.value - 3
    said, known = look(tall, unsaid=unsaid), look(here.scene(), unsaid=ALL_SAID)
    assert np.mean(said.standing) > 0.1
    assert built_over_score(said, setting, assess(said, setting)) is None
    assert built_over_score(known, setting, assess(known, setting)) is None
    for named_share, told in ((0.05, True), (0.2, False)):  # what marks raise was not said
        marked = look(tall, unsaid=replace(unsaid, named_share=named_share))
        bound = built_over_score(marked, setting, assess(marked, setting))
        assert (bound is not None) is told


def test_the_bound_moves_no_more_than_the_focus_does(roof) -> None:
    """A lens set a little farther meets the same streets and blocks somewhere else."""
    here = roof()
    setting = here.setting(2.8, -8.0)
    flat = look(here.scene(), unsaid=Unsaid(standing=True))
    bounds = []
    for depth_m in here.foot_m * np.linspace(0.9, 1.1, 5):
        set_there = replace(setting, focus=FocusDistance(float(depth_m)))
        bound = built_over_score(flat, set_there, assess(flat, set_there))
        assert bound is not None
        bounds.append(bound)

    assert max(bounds) - min(bounds) < 5.0
