"""The rule and its draws: curves, and the orders that studies found."""

import dataclasses

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from render.judge.rule import Evidence, _drawn, drawn_rules, rule_on
from render.judge.weights import RULES

ROOF = Evidence(0.35, 0.83, 9.0, 0.08, 166.0, 25.0, height_m=20.0, standing_share=0.02)


def scores(**more):
    """Of every rule drawn."""
    return rule_on(dataclasses.replace(ROOF, **more), drawn_rules()).score


def marks(**more):
    """By the table itself."""
    return rule_on(dataclasses.replace(ROOF, **more), _drawn(1, spread=0.0)).marks[0]


def test_as_many_rules_as_wanted_keep_to_the_orders():
    """None is missing, none is the same twice."""
    assert len(np.unique(drawn_rules().level)) == RULES.draws


def test_right_way_blur_and_bands_fool_and_blur_across_does_not():
    """Held et al. 2010 and Meese et al. 2023, in every draw."""
    level = drawn_rules().level

    assert np.all(scores(apparent_m=0.3) >= level)
    assert np.all(scores(apparent_m=0.3, correlation=0.65) >= level)
    assert np.all(scores(apparent_m=0.3, correlation=0.1) < level)


def test_direction_matters_more_than_rate():
    """Turning the blur costs more than halving it (Meese, Baker & Summers 2023), in every draw."""
    turned = scores(apparent_m=0.3) - scores(apparent_m=0.3, correlation=0.1)
    halved = scores(apparent_m=0.3) - scores(apparent_m=0.6, seen=4.5, scale=83.0, sharp_share=0.16)

    assert np.all(turned > halved)


def test_nearness_is_full_at_thirty_centimetres_and_gone_at_three_metres():
    """1 at 0.3 m, 0.48 at 1 m, 0 at 3 m and at infinity."""
    found = [marks(apparent_m=away)[0] for away in (0.1, 0.3, 1.0, 3.0, np.inf)]

    assert found == pytest.approx([1, 1, 0.477, 0, 0], abs=1e-3)


def test_every_loss_of_agreement_costs():
    """The mark rises strictly from a floor to 1 at C = 1; NaN earns the floor."""
    found = [marks(correlation=c)[1] for c in (0.15, 0.4, 0.6, 0.8, 0.9, 1.0)]

    assert np.all(np.diff(found) > 0.02)
    assert found[-1] == 1
    assert marks(correlation=np.nan)[1] == marks(correlation=-0.5)[1] == RULES.agreement_floor


def test_viewpoint_wants_a_look_down_and_nothing_above():
    """Full from 20 degrees, none at 5 and below."""
    found = [marks(depression_deg=angle)[3] for angle in (-10, 5, 12.5, 20, 55, 90)]

    assert found == pytest.approx([0, 0, 0.5, 1, 1, 1])
    assert marks(above_share=0.125)[3] == pytest.approx(0.65)
    assert marks(depression_deg=np.nan)[3] == pytest.approx(RULES.unknown_phi_mark)


def test_from_above_the_sides_of_things_go_and_with_them_the_score():
    """Whole to 55 degrees, 0.6 of it left straight down, the cosine between."""
    found = [
        rule_on(dataclasses.replace(ROOF, depression_deg=angle), _drawn(1, spread=0.0)).gates[0, 4]
        for angle in (20, 55, 75, 90, np.nan)
    ]

    half = np.cos(np.radians(75)) / np.cos(np.radians(55))
    assert found == pytest.approx([1, 1, 0.6 + 0.4 * half, 0.6, 1])


def test_a_hair_of_sharpness_and_sharpness_all_over_earn_nothing():
    """The full mark lies between."""
    found = [marks(sharp_share=share)[2] for share in (0.0, 0.006, 0.1, 0.7, 1.0)]

    assert found == pytest.approx([0, 0, 1, 0, 0])


@given(
    st.floats(-1, 1), st.floats(0, 1), st.floats(0.05, 5), st.floats(0.5, 30), st.floats(10, 500)
)
def test_no_loss_of_agreement_raises_any_draw(correlation, lost, apparent, seen, scale):
    """All else kept."""
    kept = {"apparent_m": apparent, "seen": seen, "scale": scale}

    assert np.all(
        scores(correlation=correlation - lost, **kept)
        <= scores(correlation=correlation, **kept) + 1e-9
    )


@given(st.floats(1.0, 8.0), st.floats(0.34, 1.0), st.floats(0.1, 3), st.floats(0.5, 30))
def test_stopping_down_raises_nothing_once_the_band_is_wide(k, share, apparent, seen):
    """Past a third, k times the f-number: farther, less seen, more sharp, a smaller scale."""
    wide = scores(apparent_m=apparent, seen=seen, sharp_share=share, scale=150.0)
    narrow = scores(
        apparent_m=k * apparent, seen=seen / k, sharp_share=min(1.0, k * share), scale=150.0 / k
    )

    assert np.all(narrow <= wide + 1e-9)
