"""What photographers do: common practice, no source. The judgement should fall where they do."""

import math

import pytest

from render.judge.score import Word
from render.judge.verdict import judge

STOPS = (2.8, 4.0, 5.6, 8.0, 11.0, 16.0)
STOREY_M = 3.0


def _street(roof, front, storeys, pitch_deg):
    """A walker and a parked car on the street, from so many storeys up, with a 45 mm lens."""
    here = roof(height_m=storeys * STOREY_M, pitch_deg=pitch_deg, focal_mm=45.0)
    walker = front(1.15 * here.foot_m, 1.7, -1.0, -0.6)
    car = front(here.foot_m, 1.5, 1.0, 3.0)
    return here, [judge(here.scene([walker, car]), here.setting(stop)) for stop in STOPS]


@pytest.mark.parametrize("storeys", [1, 2, 3, 4])
@pytest.mark.parametrize("pitch_deg", [15.0, 20.0, 30.0])
def test_one_to_four_storeys_up_read_wide_open_and_weaken_stop_by_stop(
    roof, front, storeys, pitch_deg
):
    """Wide open or one stop down reads as a model; f/8, f/11 and f/16 weaken it step by step."""
    _, verdicts = _street(roof, front, storeys, pitch_deg)
    scores = [verdict.score.value for verdict in verdicts]

    assert verdicts[0].word is verdicts[1].word is Word.READS
    assert scores[1] > scores[3] > scores[4] > scores[5]
    assert scores[1] - scores[5] > 20


def test_giving_up_by_f_11(roof, front):
    """From two storeys, looking 20 degrees down: f/8 is a near thing, f/16 is gone."""
    _, verdicts = _street(roof, front, 2, 20.0)

    assert verdicts[2].word is Word.READS
    assert verdicts[3].word in (Word.READS, Word.MIGHT)
    assert verdicts[4].word in (Word.MIGHT, Word.WONT)
    assert verdicts[5].word is Word.WONT


def test_eye_height_never_reads(roof, front):
    """From the pavement, looking along the street, no stop makes a model of it."""
    here = roof(height_m=1.6, pitch_deg=3.0, focal_mm=45.0)
    facade = front(1.2 * here.foot_m, 9.0, -100.0, 100.0)

    for stop in STOPS:
        assert judge(here.scene([facade]), here.setting(stop)).score.reads_share < 0.05


@pytest.mark.parametrize("height_m", [20.0, 30.0, 100.0])
def test_from_a_high_roof_a_strip_of_sky_is_forgiven(roof, front, height_m):
    """A tenth of the frame above the horizon reads wide open; a third does not."""
    found = []
    for share in (0.0, 0.1, 0.3):
        pitch_deg = math.degrees(math.atan((0.5 - share) * 24.0 / 45.0))
        here = roof(height_m=height_m, pitch_deg=pitch_deg, focal_mm=45.0)
        house = front(here.foot_m, 0.1 * height_m, -0.2 * here.foot_m, 0.1 * here.foot_m)
        found.append(judge(here.scene([house]), here.setting(2.8)))
    none, strip, third = found

    assert strip.stance.sky_share == pytest.approx(0.1, abs=0.02)
    assert none.word is strip.word is Word.READS
    assert third.word is not Word.READS
    assert none.score.value > strip.score.value > third.score.value + 10
