"""Which stop survives at the size it is shown."""

import dataclasses

import pytest

from render.judge.case import look
from render.judge.score import Word
from render.judge.verdict import judge, judge_case
from render.optics.viewing import VIEWINGS
from render.plan.shown import shown_at
from tests.lenses import LONG_ABOUT_ITS_CENTRE as LENS


def _shown(here, stop, named=(), **more):
    case = look(here.scene())
    return shown_at(case, judge_case(case, here.setting(stop)), LENS, named, **more)


def test_a_stop_survives_where_it_still_reads_as_a_model(roof):
    """At each size the last stop said reads, and the next does not: judged anew by itself."""
    here = roof()
    for name, shown in zip(VIEWINGS, _shown(here, 4.0), strict=True):
        viewing = VIEWINGS[name]
        last = judge(here.scene(), here.setting(shown.reads_to or 2.8), viewing=viewing)
        after = judge(here.scene(), here.setting(1.42 * shown.might_to), viewing=viewing)

        assert (last.word is Word.READS) is (shown.reads_to > 0)
        assert not after.word.of_a_model
        assert "to f/" in shown.sentence(LENS)


def test_a_larger_showing_keeps_the_model_and_the_blur_for_more_stops(roof):
    """Seen on paper for longer than on a telephone; what is just seen goes as 1/N."""
    here = roof()
    phone, screen, paper = _shown(here, 4.0)
    edge = judge(here.scene(), here.setting(4.0)).measures.edge_blur
    frame = here.size_px

    assert phone.might_to < paper.might_to
    assert phone.soft_to < screen.soft_to < paper.soft_to
    assert screen.soft_to == pytest.approx(4 * edge / screen.viewing.just_seen(*frame))
    assert screen.sharp_from is None


def test_stops_that_the_lens_has_not_are_none_of_its(roof):
    """A lens of f/11 and smaller: reads at no stop."""
    slow = dataclasses.replace(LENS, name="slow", widest_f_number=16)
    here = roof()
    case = look(here.scene())
    phone = shown_at(case, judge_case(case, here.setting(16)), slow)[0]

    assert phone.sentence(slow).endswith("reads as a model at no stop")


def test_what_is_named_looks_sharp_from_a_stop(roof):
    """Named things blurred by twice what is seen look sharp one stop and more farther down."""
    seen = VIEWINGS["screen"].just_seen(*roof().size_px)
    screen = _shown(roof(), 4.0, [0.2 * seen, 2 * seen], as_model=False)[1]

    assert screen.reads_to is None
    assert screen.sharp_from == pytest.approx(8)
    assert "the blur is seen up to f/" in screen.sentence(LENS)
    assert screen.sentence(LENS).endswith("looks sharp from f/8")


def test_what_no_stop_shows_is_said(roof):
    """Blur too small to be seen wide open, and things too soft for the last stop."""
    here = roof(height_m=2000.0)
    seen = VIEWINGS["screen"].just_seen(*here.size_px)
    case = look(here.scene())
    plain = judge_case(case, here.setting(2.8, 0.0))
    none = shown_at(case, plain, LENS, [20 * seen], as_model=False)[1].sentence(LENS)
    every = shown_at(case, plain, LENS, [0.5 * seen], as_model=False)[1].sentence(LENS)

    assert "no blur is seen, even wide open" in none
    assert "not look so at any stop" in none
    assert "at every stop" in every
