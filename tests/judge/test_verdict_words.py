"""The verdict in sentences."""

import dataclasses
import math
import re

import numpy as np
import pytest

from render.judge.score import Word
from render.judge.verdict import judge
from render.judge.verdict_words import apparent_words, stands_words
from render.optics.lens import FocusDistance


def test_one_line_says_what_it_reads_as_and_how_sure(roof, front):
    """Word, scale, sureness and score, in a sentence a photographer cannot misread."""
    here = roof()
    found = judge(here.scene([front(here.foot_m, 2.0, -3.0, 3.0)]), here.setting(2.8))

    assert found.word is Word.READS
    assert found.sentence.startswith("Reads as a model, about 1:240. Firm: ")
    assert "of 100 ways of weighing it agree (score " in found.sentence


def test_a_picture_that_wont_names_no_scale_and_says_why(roof, front):
    """It used to say: won't read as a model, about 1:29."""
    here = roof()
    found = judge(here.scene([front(here.foot_m, 2.0, -3.0, 3.0)]), here.setting(22))

    assert found.word is Word.WONT
    assert "1:" not in found.sentence
    assert "hardly seen on a screen (30 cm from 60 cm)" in found.sentence


def test_each_kind_of_no_has_its_own_reason(roof, front):
    """All sharp, across, eye level, a plain lens close by, an empty band."""
    here, low = roof(), roof(height_m=1.7, pitch_deg=8.0, focal_mm=24.0)
    close = roof(height_m=0.5, pitch_deg=30.0, focal_mm=50.0)
    found = {
        "everything is sharp": judge(here.scene(), here.setting(16, 0.0)),
        "does not follow the scene's depth": judge(here.scene(), here.setting(4, 0, 8)),
        "rises above eye level": judge(low.scene(), low.setting(2.8)),
        "a plain lens's at this distance": judge(close.scene(), close.setting(1.4, 0.0)),
        "nothing stands in the sharp band": judge(here.scene(), here.setting(4)),
    }

    for text, verdict in found.items():
        assert text in verdict.sentence


@pytest.mark.parametrize(
    ("metres", "said"), [(0.016, "1.6 cm"), (0.346, "35 cm"), (0.997, "1 m"), (2.14, "2.1 m")]
)
def test_apparent_distances_have_two_digits(metres, said):
    """The same wherever they are said; where blur brings nothing near, none is."""
    assert apparent_words(metres) == said
    assert stands_words(metres) == f"seems to stand {said} away"
    assert stands_words(math.inf) == "is brought no nearer by its blur"


def test_the_first_line_holds_what_is_known_of_a_near_thing(roof, front):
    """It reads though a rail lacks a model's blur, and the remark says how many points that is."""
    here = roof()
    scene = here.scene([front(here.foot_m, 2.0, -3.0, 3.0)])
    depth = scene.depth_m.copy()
    depth[-4:] = 6.0
    found = judge(dataclasses.replace(scene, depth_m=depth), here.setting(2.8))
    plain = judge(scene, here.setting(2.8))
    remark = next(line for line in found.remarks if "nearer than a quarter" in line)
    points = int(re.search(r"would be (\d+) higher", remark)[1])

    assert found.word is Word.READS
    assert ", though what stands near the lens (2.5 % of the frame) lacks" in found.sentence
    assert points == pytest.approx(plain.score.value - found.score.value, abs=2)
    assert plain.sentence.startswith("Reads as a model, about 1:")
    assert "though" not in plain.sentence


def test_ones_own_roof_is_named_and_no_model(roof):
    """Most of the picture is it: nothing of the place is seen."""
    here = roof(pitch_deg=8.0)
    own = dataclasses.replace(here, height_m=1.6).inverse()
    inverse = here.inverse()
    inverse[16:] = own[16:]
    scene = dataclasses.replace(here.scene(), depth_m=(1.0 / inverse).astype(np.float32))
    found = judge(scene, dataclasses.replace(here.setting(2.8), focus=FocusDistance(10.0)))

    assert found.word is not Word.READS
    assert "one's own roof" in found.sentence
    assert found.crowded_share == pytest.approx(0.9, abs=0.02)


def test_far_off_nothing_is_a_close_photograph(roof):
    """From a roof a fast lens's blur makes no model, and that is all; by a bench it is close."""
    far, near = roof(focal_mm=200.0), roof(height_m=0.5, focal_mm=50.0)

    assert judge(far.scene(), far.setting(4.0, 0.0)).word is Word.WONT
    assert judge(near.scene(), near.setting(1.4, 0.0)).word is Word.CLOSE
