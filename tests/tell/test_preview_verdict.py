"""The verdict beside the picture, and advice as values of a shot."""

import pytest

from render.load.prepare import prepare
from render.load.prepared import Prepared
from render.load.progress import silent
from render.shot.shot import Shot, merged
from render.tell.judged import judge_prepared, to_do_lines
from render.tell.preview_verdict import preview_verdict, stop_strip
from tests.places import noise


@pytest.fixture(scope="module")
def prepared(tmp_path_factory: pytest.TempPathFactory) -> Prepared:
    """Noise on level ground, faintly tilted."""
    return prepare(noise(tmp_path_factory.mktemp("noise")), silent)


def _applied(prepared: Prepared, values: dict[str, str | None]) -> Prepared:
    given = {**dict(prepared.shot.written), **{k: v for k, v in values.items() if v}}
    return prepare(merged(Shot(picture=prepared.shot.picture), given, "{name}"), silent)


def test_it_is_words_and_shares_that_json_can_hold(prepared: Prepared) -> None:
    """Five marks from 0 to 1, one of them the weakest; places inside the frame."""
    said = preview_verdict(prepared)

    assert [0 <= part["mark"] <= 1 for part in said["parts"]] == [True] * 5
    assert sum(part["weakest"] for part in said["parts"]) == 1
    assert all(0 <= tale["x"] <= 1 and 0 <= tale["y"] <= 1 for tale in said["telltales"])
    assert "of 100" in said["short"]


def test_what_the_command_says_first_the_page_says_first(prepared: Prepared) -> None:
    """What stands there is told by clicks, in place of a box to type."""
    bare = _applied(prepared, {"tilt": "up 8", "f": "2.8"})
    first, to_do = preview_verdict(bare)["first"], to_do_lines(judge_prepared(bare))[0]

    assert first["tool"] == "thing"
    assert to_do.lower().startswith(f"to do: {first['sentence']}, each by a box".lower())


def test_advice_carries_the_values_that_turn_it(prepared: Prepared) -> None:
    """Applied, it brings the score that was shown beside it."""
    line = next(line for line in preview_verdict(prepared)["advice"] if line["values"])
    promised = float(line["gain"].split("→")[1])
    after = preview_verdict(_applied(prepared, line["values"]))

    assert float(after["short"].split("·")[1].split()[0]) == pytest.approx(promised, abs=2)


def test_of_a_shot_for_sharp_things_head_and_stops_speak_of_those(prepared: Prepared) -> None:
    """The page says what `judge` says first, and a stop is no model that is none."""
    sharp = prepare(
        merged(
            prepared.shot, {"tilt": "0", "check": ("post=50%,60%",), "focus": "50%,60%"}, "{name}"
        ),
        silent,
    )
    said, strip = preview_verdict(sharp), stop_strip(sharp)
    asked = judge_prepared(sharp).sharpness

    assert asked is not None
    assert said["sentence"] == "Post sharp"
    assert said["short"] == f"Post sharp · {asked.rest}"
    assert asked.sentence in said["why"]
    assert not said["parts"]
    assert {stop["word"] for stop in strip} <= {"sharp", "soft"}
    now = next(stop for stop in strip if stop["now"])
    assert now["words"] == f"post sharp, {asked.rest}"
    assert sum(stop["best"] for stop in strip) == 1


def test_the_strip_of_stops_is_the_verdict_at_each(prepared: Prepared) -> None:
    """Word and score of the stop that is set are those of the verdict."""
    tilted = _applied(prepared, {"tilt": "up 8", "f": "4"})
    strip = stop_strip(tilted)
    stopped = _applied(prepared, {"tilt": "up 8", "f": "11"})
    verdict = judge_prepared(stopped).verdict

    assert next(stop for stop in strip if stop["now"])["f"] == "4"
    assert [stop["words"] for stop in strip] == [stop["words"] for stop in stop_strip(stopped)]
    shown = next(stop for stop in strip if stop["f"] == "11")  # as engraved, as `judge --f 11`
    assert shown["words"] == f"{verdict.word}, {verdict.score.value:.0f} of 100"
    marked = stop_strip(_applied(prepared, {"tilt": "up 8", "f": "11.31"}))
    assert [stop["f"] for stop in marked if stop["now"]] == ["11.31"]
    assert "11" not in {stop["f"] for stop in marked}
