"""The scene looked at once."""

import pytest

from render.judge.case import Marks, assess, look
from render.judge.verdict import judge


def test_looking_once_and_assessing_gives_what_judging_gives(roof):
    """The split into scene and setting changes nothing."""
    here = roof()
    case = look(here.scene())
    for f_number in (2.8, 8.0):
        whole = judge(here.scene(), here.setting(f_number))

        assert assess(case, here.setting(f_number)).score == whole.score


def test_circle_of_confusion_is_the_diagonal_over_1500_unless_given(roof):
    """0.0288 mm on 36 x 24 mm, common practice."""
    here = roof()
    scene = here.scene()

    assert look(scene).coc_for(here.setting(4)) == pytest.approx(0.0288, rel=0.02)
    assert look(scene, coc_mm=0.02).coc_for(here.setting(4)) == 0.02


def test_the_weakest_part_is_the_one_that_costs_most():
    """A low mark of large weight costs more than a lower one of small weight."""
    assert Marks(0.5, 1, 1, 1, 0.4).weakest == "nearness"
    assert Marks(1, 1, 1, 0.1, 0.7).weakest == "viewpoint"
