"""From evidence to score, range and word."""

import dataclasses
import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from render.judge.rule import Doubt, Evidence
from render.judge.score import Word, score_of

#: A town from a roof, wide open.
ROOF = Evidence(0.25, 0.83, 12.0, 0.08, 237.0, 22.0, height_m=20.0, standing_share=0.02)
CLOSE = dataclasses.replace(ROOF, apparent_m=0.2, correlation=1.0, scale=7.8, sharp_m=1.6)


def evidence(**more) -> Evidence:
    """A roof, but for what is said."""
    return dataclasses.replace(ROOF, **more)


@given(
    apparent=st.floats(0.05, 50),
    correlation=st.floats(-1, 1),
    seen=st.floats(0.01, 50),
    share=st.floats(0, 1),
    scale=st.floats(0.1, 5000),
    above=st.floats(0, 1),
)
def test_scores_stay_within_their_bounds(apparent, correlation, seen, share, scale, above):
    """0 to 100, low below high, and the word is never one that most draws reject."""
    found, marks, gates = score_of(
        Evidence(apparent, correlation, seen, share, scale, 20.0, above, 5.0, 0.01)
    )

    assert 0 <= found.low <= found.value <= found.high <= 100
    assert found.agreement >= 0.5 or found.word is Word.MIGHT
    assert all(0 <= part <= 1 for part in (*marks.as_tuple(), *dataclasses.astuple(gates)))


def test_the_same_evidence_gives_the_same_draws():
    """The seed is fixed."""
    assert score_of(ROOF)[0] == score_of(ROOF)[0]


def test_a_word_is_what_most_draws_say():
    """Three quarters for or against; between them it might."""
    reads, might, wont = (
        score_of(evidence(apparent_m=0.25 * k, seen=12.0 / k, scale=237.0 / k))[0]
        for k in (1.0, 3.0, 6.0)
    )

    assert (reads.word, might.word, wont.word) == (Word.READS, Word.MIGHT, Word.WONT)
    assert reads.reads_share >= 0.75 > might.reads_share > 0.25 >= wont.reads_share
    assert wont.agreement == 1.0 - wont.reads_share
    assert might.agreement == might.reads_share


def test_an_ordinary_lens_s_blur_is_a_close_photograph():
    """At 1:7.8 shallow focus explains the picture; at 1:237 nothing else does."""
    assert score_of(CLOSE)[0].word is Word.CLOSE
    assert score_of(ROOF)[0].word is Word.READS


def test_a_near_rail_before_a_far_view_is_no_close_photograph():
    """It bends the fitted lens to a small scale, while the camera is focused far behind it."""
    railed = dataclasses.replace(CLOSE, sharp_m=60.0)

    assert score_of(railed)[0].word is Word.WONT


@pytest.mark.parametrize(
    "against",
    [
        {"seen": 1.4},
        {"above_share": 0.5},
        {"above_share": 0.06, "height_m": 1.7},
        {"scale": 5.0},
    ],
)
def test_each_gate_can_end_the_matter(against):
    """Whatever else is at its best."""
    found, _, gates = score_of(evidence(**against))

    assert found.reads_share == 0
    assert min(dataclasses.astuple(gates)) < 0.2


def test_nothing_in_the_band_keeps_it_from_reading():
    """On bare ground it might at most; where things were not said, less is lost."""
    bare = score_of(evidence(standing_share=0.0, correlation=1.0))[0]
    unsaid = score_of(evidence(standing_share=0.0, correlation=1.0), Doubt(standing=True))[0]

    assert bare.word is Word.MIGHT
    assert bare.value < unsaid.value < score_of(evidence(correlation=1.0))[0].value
    assert score_of(evidence(standing_share=math.nan))[0].word is Word.READS


def test_what_was_not_said_widens_the_range_and_hardly_moves_it():
    """A score near the top can fall further than it can rise."""
    said, unsaid = score_of(ROOF)[0], score_of(ROOF, Doubt(falls=0.15, rises=0.1))[0]

    assert unsaid.value == pytest.approx(said.value, abs=2.5)
    assert unsaid.high - unsaid.low > said.high - said.low


def test_order_is_firm_where_level_is_open():
    """Nearly every draw puts f/4 before f/5.6, though their ranges overlap."""
    wide, narrow = (
        score_of(evidence(apparent_m=0.25 * k, seen=12.0 / k, scale=237.0 / k))[0]
        for k in (1.4, 2.0)
    )

    assert narrow.high > wide.low
    assert wide.beats(narrow) > 0.95
    assert wide.beats(wide) == 0.5


def test_two_of_the_four_words_are_of_a_model() -> None:
    """A close photograph is none."""
    assert [word for word in Word if word.of_a_model] == [Word.READS, Word.MIGHT]
