"""The card as JSON."""

import json

import numpy as np

from render.judge.case import look
from render.judge.verdict import judge_case
from render.plan.card import plan_card
from render.plan.exposure import brightness_from_weather
from render.shot.wishes import DayWishes
from render.tell.card_record import card_record


def test_every_part_of_the_card_is_plain_json(roof):
    """Numbers and the sentences printed from them, cautions included; no NaN, no infinity."""
    here = roof(height_m=3.0, pitch_deg=4.0, focal_mm=24.0)  # with sky and a band to the horizon
    light = np.full((160, 240, 3), 0.5, np.float32)
    case = look(here.scene(picture=light))
    sky = brightness_from_weather("overcast")
    wishes = DayWishes(interval_s=2.0)
    card = plan_card(case, judge_case(case, here.setting(11, -1.0)), light, sky, wishes)
    record = card_record(card)

    assert json.loads(json.dumps(record, allow_nan=False)) == record
    assert record["cautions"] == list(card.cautions)
    assert record["tolerances"][0]["sentence"] == card.tolerances[0].sentence
    assert record["checks"][0]["name"] == "in focus"
    assert record["exposure"]["brightness"]["source"] == "overcast, by sunny 16"
    assert record["smears"][0]["mover"] == "car at 30 km/h"
