"""From marks to score, range and word, against the computed examples."""

import json
import math
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from render.judge.score import (
    Word,
    agreement_mark,
    nearness_mark,
    score_of,
    viewpoint_mark,
    visibility_mark,
    word_of,
)

CHECKS = json.loads((Path(__file__).parents[1] / "data" / "miniature_checks.json").read_text())
WORDS = {"reads": Word.READS, "might": Word.MIGHT, "won't": Word.WONT}


@pytest.mark.parametrize("row", CHECKS["score_examples"], ids=lambda r: f"{r['case']} f/{r['N']}")
def test_computed_examples(row):
    """Marks, score and range of every computed example (ranges to 1.5: other random draws)."""
    marks = (
        nearness_mark(row["Dp"]),
        row["parts"][1],
        visibility_mark(row["B95"], 0.03 / 24, row["w"]),
        row["parts"][3],
        row["parts"][4],
    )
    found = score_of(marks, row["Dp"])

    assert marks == pytest.approx(row["parts"], abs=0.006)
    assert found.value == pytest.approx(row["score"], abs=0.3)
    assert (found.low, found.high) == pytest.approx((row["lo10"], row["hi90"]), abs=1.5)
    assert found.word is WORDS[row["verdict"]]
    assert found.agreement == pytest.approx(row["share_same"], abs=0.03)


def test_nearness_is_full_at_thirty_centimetres_and_gone_at_three_metres():
    """1 at 0.3 m, 0.48 at 1 m, 0 at 3 m and at infinity."""
    assert [nearness_mark(d) for d in (0.1, 0.3, 1.0, 3.0, math.inf)] == pytest.approx(
        [1, 1, 0.477, 0, 0], abs=1e-3
    )


def test_agreement_keeps_a_tenth():
    """From 0.1 at C = 0.2 to 1 at C = 0.9; no correlation is no veto."""
    assert [agreement_mark(c) for c in (math.nan, -1, 0.2, 0.55, 0.9, 1)] == pytest.approx(
        [0.1, 0.1, 0.1, 0.55, 1, 1]
    )


def test_visibility_wants_blur_and_a_band():
    """No blur above the circle of confusion, a hair-thin band, or all sharp: 0."""
    assert visibility_mark(0.001, 0.00125, 0.1) == 0
    assert visibility_mark(0.02, 0.00125, 0.005) == 0
    assert visibility_mark(0.02, 0.00125, 0.8) == 0
    assert visibility_mark(0.02, 0.00125, math.inf) == 0
    assert visibility_mark(0.02, 0.00125, 0.1) == 1


def test_viewpoint_wants_a_look_down_and_no_sky():
    """Full from 20 to 55 degrees, none at 5 and below, half straight down; sky takes its share."""
    angles = (-10, 5, 12.5, 20, 55, 90)
    assert [viewpoint_mark(a, 0) for a in angles] == pytest.approx([0, 0, 0.5, 1, 1, 0.5])
    assert viewpoint_mark(30, 0.125) == pytest.approx(0.65)
    assert viewpoint_mark(30, 0.5) == pytest.approx(0.3)
    assert viewpoint_mark(math.nan, 0) == pytest.approx(0.7)


@given(marks=st.tuples(*[st.floats(0, 1)] * 5), apparent=st.floats(0.05, 50))
def test_scores_stay_within_their_bounds(marks, apparent):
    """0 to 100, low below high, and the same marks give the same draws."""
    found = score_of(marks, apparent)

    assert 0 < found.value <= 100 + 1e-9
    assert found.low <= found.high
    assert found == score_of(marks, apparent)


def test_an_override_wins_over_any_score():
    """With a reason against, the word is "won't" and no draw disputes it."""
    found = score_of((1, 1, 1, 1, 1), 0.2, ("everything is sharp",))

    assert found.word is Word.WONT
    assert found.agreement == 1.0
    assert word_of(found.value) is Word.READS


def test_what_was_not_said_widens_the_range_by_its_points() -> None:
    """Unsaid points lie beyond the range of the same marks, and the agreement never rises."""
    marks = (0.9, 0.9, 0.9, 0.9, 0.7)
    sure, open_ = score_of(marks, 0.4), score_of(marks, 0.4, unsaid_points=(15.0, 10.0))

    assert open_.value == sure.value
    assert open_.low < sure.low - 5
    assert open_.high > sure.high
    assert open_.agreement <= sure.agreement
