"""What the answer says to programs."""

import json

import pytest

from render.jobs.solve import find_answer
from render.load.progress import silent
from render.shot.shot import Shot, merged
from render.tell.solve_record import answer_record


def test_the_record_holds_the_same_numbers() -> None:
    """The record is plain JSON with the numbers of the lines; no NaN and no infinity."""
    shot = merged(Shot(), {"height": "1.6", "lens-file": "long 90"}, "{name}")
    pair = [("point", "pond=3 m, 0 m"), ("point", "far=60 m, 0.6 m")]
    answer = find_answer(shot, pair, [], progress=silent)
    record = json.loads(json.dumps(answer_record(answer), allow_nan=False))

    assert record["tilted"]["tilt_deg"] == pytest.approx(3.25)
    assert record["tilted"]["exact"]["tilt_deg"] == pytest.approx(3.16, abs=0.005)
    assert record["tilted"]["exact"]["through_every_point"] is True
    assert record["tilt_pays"] is True
    assert record["gain_stops"] == pytest.approx(8, abs=0.1)
    assert record["straight"]["enough"] is False
    assert {point["name"] for point in record["straight"]["points"]} == {"pond", "far"}
    sides = {point["name"]: point["side"] for point in record["straight"]["points"]}
    assert sides == {"pond": "near", "far": "far"}
