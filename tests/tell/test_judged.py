"""A prepared shot judged the same way for every command and the page."""

from dataclasses import replace

import numpy as np
import pytest

from render.load.prepared import Notes, Prepared
from render.optics.camera import Camera, Sensor, Vantage
from render.optics.lens import FocusDistance, LensSetting
from render.scene.scene import Scene
from render.shot.shot import Shot
from render.shot.wishes import JudgeWishes
from render.tell.judged import judge_prepared, judged_lines, judged_record


@pytest.fixture(scope="module")
def prepared() -> Prepared:
    """Level ground from 12 m, in noise."""
    camera = Camera(90, 60, 120.0)
    vantage = Vantage(12.0, 25.0)
    fall = np.sin(np.radians(25)) + camera.grid()[1] * np.cos(np.radians(25))
    depth = np.repeat((12.0 / fall)[:, None], 90, axis=1).astype(np.float32)
    light = np.random.default_rng(3).random((60, 90, 3), np.float32)
    return Prepared(
        shot=Shot(picture="a.jpg"),
        scene=Scene(light, depth, camera, vantage=vantage),
        setting=LensSetting(focal_mm=45, f_number=2.8, tilt_deg=-8, focus=FocusDistance(25)),
        sensor=Sensor(),
        file=None,
        depth_how="made up",
        assumed=Notes(place=("nothing was assumed",)),
        depth_unsure=0.1,
    )


def test_lines_and_record_hold_the_same_verdict(prepared: Prepared) -> None:
    """Verdict first, small print last, what was assumed in between; a scale only if asked for."""
    judged = judge_prepared(prepared, JudgeWishes(scale=87.0))
    lines, record = judged_lines(judged), judged_record(judged)

    assert lines[0] == record["sentence"]
    assert lines[1].startswith("To do: ")
    assert lines[2].startswith("Setting: 45 mm, f/2.8, lens up 8°")
    assert "Note: nothing was assumed" in lines
    assert "The ranges count with the depth being off by about 10 %" in lines
    asked = next(line for line in lines if line.startswith("To read as 1:87: f/"))
    assert asked.endswith(f"at that stop it {record['word_at_that_f_number']}")
    assert record["f_number_for_scale"] == judged.wanted_f_number
    assert lines[-1] == record["small_print"]
    assert judge_prepared(prepared).wanted_f_number is None


def test_a_credit_is_said_in_both(prepared: Prepared) -> None:
    """Map data names its makers wherever a verdict is printed."""
    credited = replace(prepared, credit="the Marrow surveyors", map_record={"buildings": 3})
    judged = judge_prepared(credited)

    assert "Map data: the Marrow surveyors" in judged_lines(judged)
    assert judged_record(judged)["credit"] == "the Marrow surveyors"
    assert judged_record(judged)["map"] == {"buildings": 3}


def test_the_best_setting_is_searched_for_and_offered(prepared: Prepared) -> None:
    """It says what it gained, in options to type and in the record; only if asked for."""
    weak = replace(prepared, setting=replace(prepared.setting, f_number=11.0, tilt_deg=0.0))
    judged = judge_prepared(weak, JudgeWishes(best=True))
    line = next(line for line in judged_lines(judged) if line.startswith("To do, for the best"))
    best = judged_record(judged)["best"]

    assert f"{judged.verdict.score.value:.0f} → {best['after']:.0f}" in line
    assert best["after"] > best["before"]
    assert best["values"]["tilt"].startswith("up")
    assert any(line.startswith('As options: --tilt "up') for line in judged_lines(judged))
    assert judged_record(judge_prepared(weak))["best"] is None


def test_nothing_better_is_said_so(prepared: Prepared) -> None:
    """A setting that the search cannot beat is the best there is."""
    found = judge_prepared(prepared, JudgeWishes(best=True)).best
    assert found is not None
    again = judge_prepared(replace(prepared, setting=found.found.setting), JudgeWishes(best=True))

    assert judged_lines(again)[1].endswith(
        "the best setting of this lens from here is the one it has"
    )


def test_the_page_asks_for_no_other_place_to_stand(
    prepared: Prepared, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Beside a hand nothing is traced; a command traces the scene from elsewhere."""
    ways: list[object] = []
    monkeypatch.setattr(
        "render.tell.judged.advise", lambda *_, **how: ways.append(how["there"].rebuild) or ()
    )
    scene = replace(prepared, shot=Shot(scene="corner"))
    for elsewhere in (False, True):
        judge_prepared(scene, elsewhere=elsewhere)

    assert ways[0] is None
    assert callable(ways[1])
