"""Reads as 1:N."""

import json
import math
from pathlib import Path

import pytest

from render.judge.scale import REFERENCE_PUPILS_MM, froude_speedup, reads_as

CHECKS = json.loads((Path(__file__).parents[1] / "data" / "miniature_checks.json").read_text())


def test_scale_has_a_range_of_a_factor_of_two():
    """A pupil of 0.763 m reads as 1:166, from 1:85 to 1:254, nearest the 1:160 of railways."""
    scale = reads_as(0.763025, 0.0)

    assert scale.denominator == pytest.approx(165.875, rel=1e-5)
    assert (scale.low, scale.high) == pytest.approx((84.8, 254.3), abs=0.1)
    assert scale.customary == 160
    assert scale.words.startswith("about 1:170 (1:85 to 1:250)")


def test_spread_of_the_votes_widens_the_range():
    """The range grows by exp(s) on both sides; no votes add nothing."""
    plain, spread = reads_as(0.5, math.nan), reads_as(0.5, 0.4)

    assert plain.low / spread.low == pytest.approx(math.exp(0.4))
    assert spread.high / plain.high == pytest.approx(math.exp(0.4))


def test_the_viewer_s_pupil_divides_the_scale():
    """Seen through a telephone's pupil the same picture reads as a smaller model."""
    phone = reads_as(0.38, 0.0, REFERENCE_PUPILS_MM["telephone"])

    assert phone.denominator == pytest.approx(114, abs=1)
    assert phone.denominator > reads_as(0.38, 0.0).denominator


@pytest.mark.parametrize("row", CHECKS["froude"], ids=lambda row: f"1:{row['S']}")
def test_models_move_faster_by_the_square_root_of_their_scale(row):
    """Froude scaling of time; film makers shoot a 1:16 model at 96 frames a second for 24."""
    assert froude_speedup(row["S"]) == pytest.approx(row["speedup"], rel=1e-5)
