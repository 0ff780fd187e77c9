"""The verdict as JSON."""

import json

from render.judge.advising.advice import advise
from render.judge.case import look
from render.judge.notes import trade_notes
from render.judge.verdict import judge_case
from render.tell.verdict_record import verdict_record


def test_the_record_is_plain_json_and_says_what_is_ours(roof, front):
    """Every part with its own number, telltales in words, small print; no NaN, no infinity."""
    here = roof()
    scene = here.scene([front(here.foot_m, 18.0, -9.5, -5.0)])
    case = look(scene)
    verdict = judge_case(case, here.setting(4))
    advice = advise(scene, case, here.setting(4))
    record = verdict_record(verdict, advice, trade_notes(case, verdict))
    again = json.loads(json.dumps(record, allow_nan=False))

    assert again == record
    assert set(record["parts"]) == {
        "nearness",
        "agreement",
        "visibility",
        "viewpoint",
        "picture",
    }
    assert record["parts"]["picture"]["chroma"] is None
    place = record["parts"]["picture"]["band_from_top"]
    assert record["parts"]["visibility"]["band_from_top_fraction"] == place
    assert record["telltales"][0]["sentence"] == verdict.telltales[0].sentence
    assert [line["line"] for line in record["advice"]] == [line.line for line in advice]
    assert record["practice"][0]["source"] == "common practice, no source"
    assert "not the chance" in record["small_print"]
    assert sum(record["score"]["shares"].values()) == 1
    assert record["viewing"]["words"] == "on a screen (30 cm from 60 cm)"
    assert record["setting"]["words"] == "f/4, lens up 8°"
    assert json.dumps(record).count("NaN") == 0
