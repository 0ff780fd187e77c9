"""What the judgement looks at."""

from dataclasses import replace

from render.load.case import case_of
from render.load.prepare import prepare
from render.load.progress import silent
from render.shot.shot import Shot, merged
from render.shot.wishes import JudgeWishes


def test_the_depths_own_doubt_counts_unless_another_is_said() -> None:
    """A scene is known exactly; an unsure depth is as unsure as it says, and half at the most."""
    shot = merged(Shot(scene="bench"), {"width": "96"}, "{name}")
    exact = prepare(shot, silent, for_render=False)

    assert case_of(exact).depth_error == 0
    assert case_of(replace(exact, depth_unsure=0.2)).depth_error == 0.2
    assert case_of(replace(exact, depth_unsure=3.0)).depth_error == 0.5
    assert case_of(exact, JudgeWishes(depth_error=0.1)).depth_error == 0.1
