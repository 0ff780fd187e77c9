"""The table of judgement calls."""

import dataclasses

import pytest

from render.judge.weights import OURS, RULES, STANDINGS, Rules


def test_the_table_is_frozen_and_its_weights_add_to_one():
    """Nothing can change a weight while the program runs."""
    with pytest.raises(dataclasses.FrozenInstanceError):
        RULES.far_m = 9.0  # type: ignore[misc]

    assert sum(RULES.weights) == pytest.approx(1)
    assert "not the chance" in OURS


def test_every_number_says_what_it_rests_on():
    """Published, derived, practice or ours, and why."""
    for row in dataclasses.fields(Rules):
        assert row.metadata["standing"] in STANDINGS
        assert len(row.metadata["why"]) > 8


def test_weights_that_do_not_add_up_are_a_bug():
    """The table checks itself where it is made."""
    with pytest.raises(AssertionError):
        Rules(weights=(0.3, 0.3, 0.3, 0.3, 0.3))
