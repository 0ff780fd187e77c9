"""The verdict in sentences."""

from render.judge.score import Word
from render.judge.verdict import judge


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
