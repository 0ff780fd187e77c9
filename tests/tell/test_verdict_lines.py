"""A verdict in words."""

import dataclasses

import pytest

from render.depth.depthmap import Unsaid
from render.judge.case import look
from render.judge.score import Word
from render.judge.verdict import judge, judge_case
from render.judge.verdict_words import IF_OPEN
from render.judge.weights import RULES
from render.optics.lens import FocusDistance
from render.sheets.client_words import client_sentences
from render.tell.verdict_lines import first_words, parts_of, reason_lines, to_do_words
from render.words import length_words, percent


def test_the_parts_are_those_of_the_score(roof) -> None:
    """Five names in the order of their weights; marks times weights give the score."""
    here = roof()
    verdict = judge(here.scene(), here.setting(11, -1.0))
    parts = parts_of(verdict)

    assert [p.name for p in parts] == [
        "nearness",
        "agreement",
        "visibility",
        "viewpoint",
        "picture",
    ]
    assert [p.weight for p in parts] == list(RULES.weights)
    assert [p.mark for p in parts] == list(verdict.marks.as_tuple())
    assert all(f"{p.mark:.2f} x {p.weight:.2f}" in "\n".join(reason_lines(verdict)) for p in parts)


@pytest.mark.parametrize("f_number", [2.8, 16.0])
def test_without_advice_it_says_so(roof, front, f_number: float) -> None:
    """The line is there whether the verdict is good or bad."""
    here = roof()
    scene = here.scene([front(here.foot_m, 2.0, -3.0, 3.0)])
    verdict = judge(scene, here.setting(f_number, -8.0))

    assert to_do_words(verdict, ()).startswith("nothing")


def test_on_bare_ground_the_first_thing_is_to_say_what_stands(roof) -> None:
    """Nobody knows what a photo shows there; where all is known one must go elsewhere."""
    here = roof()
    photo = judge_case(look(here.scene(), unsaid=Unsaid(standing=True)), here.setting(2.8))
    known = judge(here.scene(), here.setting(2.8))

    assert (photo.bare_ground, photo.empty) == (True, False)
    assert photo.built_over is not None
    assert 0 <= photo.built_over < photo.score.value - 3
    first, to_do = photo.sentence, to_do_words(photo, ())
    assert "irm" not in first
    assert f"{IF_OPEN}" in first
    assert (
        f"houses and trees that fill the frame can take it to about {photo.built_over:.0f}" in first
    )
    assert '--thing "box' in to_do
    assert "(a sample: each thing has corners of its own)" in to_do
    assert to_do.startswith(f"{first_words(photo)}, each by a box")
    named = to_do_words(dataclasses.replace(photo, bare_ground=False), ())
    assert named.startswith("say what else stands, if anything does")
    assert (known.built_over, IF_OPEN in known.sentence) == (None, False)
    assert IF_OPEN in client_sentences(photo, None)[0]
    might = dataclasses.replace(known, bare_ground=True, empty=False)
    assert to_do_words(might, ()).startswith("say what stands, the largest first")
    assert to_do_words(known, ()).startswith("go, or turn, to where things stand")
    assert not any(
        "--thing" in line for line in (to_do_words(known, ()), *reason_lines(known), *known.remarks)
    )


@pytest.mark.parametrize("focus_m", [None, 1.0])
def test_visibility_says_the_two_quantities_that_are_marked(roof, focus_m: float | None) -> None:
    """Its words hold what JSON holds, and a mark of 0 says which of them takes it away."""
    here = roof()
    setting = here.setting(2.8)
    if focus_m:
        setting = dataclasses.replace(setting, focus=FocusDistance(focus_m), tilt_deg=0.0)
    verdict = judge(here.scene(), setting)
    part = parts_of(verdict)[2]
    assert f"takes {percent(verdict.measures.following_blur)} of the height" in part.words
    if focus_m:
        assert (part.mark, verdict.measures.looks_sharp) == (0.0, 0.0)
        assert part.words.endswith(
            "nothing of it looks sharp by that on a screen, which is no band"
        )
    else:
        assert f"{percent(verdict.measures.looks_sharp)} of it looks sharp" in part.words


def test_what_stands_near_the_lens_is_named_as_what_to_mend(roof) -> None:
    """A rail at 0.5 m along the lower edge ends the matter, and the first lines say so."""
    here = roof()
    scene = here.scene()
    depth_m = scene.depth_m.copy()
    depth_m[-16:] = 0.5
    railed = judge(dataclasses.replace(scene, depth_m=depth_m), here.setting(2.8))
    lines = reason_lines(railed)

    assert railed.stance.foreground_share == pytest.approx(0.1, abs=0.01)
    assert railed.word is Word.WONT
    blur = railed.measures  # what sheets call the softest is said beside what follows depth
    assert percent(blur.edge_blur) != percent(blur.following_blur)
    assert any(f"blur takes {percent(blur.edge_blur)} of the height" in line for line in lines)
    assert "near the lens stays out of the picture" in to_do_words(railed, ())
    focus = length_words(blur.focus_m)
    assert any(f"nearer than a quarter of the {focus} that the blur" in line for line in lines)
