"""The answer's own measures and words."""

from dataclasses import replace

import pytest

from render.jobs.solve import find_answer
from render.load.progress import silent
from render.shot.shot import Shot, merged
from render.tell.solve_answer import Answer, chosen_words


def _answer(*sharp: tuple[str, str], soft: tuple[str, ...] = ()) -> Answer:
    shot = merged(Shot(), {"height": "1.6", "lens-file": "long 90"}, "{name}")
    return find_answer(shot, list(sharp), list(soft), progress=silent)


def test_the_best_position_in_the_words_of_a_shot() -> None:
    """Where tilting pays, the words are the tilted position's, and they read back as it."""
    answer = _answer(("point", "pond=3 m, 0 m"), ("point", "far=60 m, 0.6 m"))
    words = chosen_words(answer)
    lens = merged(Shot(), words, "{name}").lens

    assert answer.serving is not None
    assert answer.serving.tilted is not None
    assert (
        words["tilt"] == "down 3.25"
    )  # the mark by asin(0.09 (1/3 - 1/60) / (1.6/3 - 1/60)), 3.16
    assert words["swing"] == "0"
    assert lens.tilt_deg == pytest.approx(answer.serving.tilted.solution.tilt_deg, abs=5e-5)
    assert lens.f_number == 2.8


def test_a_straight_lens_is_chosen_where_tilting_gains_nothing() -> None:
    """For one thing the chosen position is not tilted; its stop is one that is engraved."""
    words = chosen_words(_answer(("point", "far=60 m, 0.6 m")))
    stopped = _answer(("point", "a=5 m, 1.6 m, left 1 m"), ("point", "b=6.5 m, 1.6 m, left 1 m"))
    assert stopped.serving is not None

    assert words["tilt"] == words["swing"] == "0"
    straight = replace(stopped, serving=replace(stopped.serving, tilted=None))
    assert straight.serving.straight.f_number == pytest.approx(2 ** (19 / 6))
    assert chosen_words(straight)["f"] == "9"


def test_the_best_leaning_is_chosen_for_only_this_sharp() -> None:
    """With something to go soft, the words are those of the best way to lean."""
    answer = _answer(("point", "eyes=1.2 m, 1.6 m"), soft=("1.2 m, 1.5 m", "1.2 m, 1.72 m"))
    words = chosen_words(answer)

    assert answer.leanings[0].way in ("up", "down")
    assert words["tilt"].startswith(answer.leanings[0].way)


def test_without_a_picture_blur_is_a_share_of_the_sensor() -> None:
    """No picture, no pixels: per cent are of the sensor's height."""
    answer = _answer(("point", "far=60 m, 0.6 m"))

    assert answer.px_per_mm(90) is None
    assert answer.percent(0.24, 90) == pytest.approx(1)
