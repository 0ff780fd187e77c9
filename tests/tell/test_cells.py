"""A cell of a sheet says what its verdict found."""

from PIL import Image

from render.judge.score import Word
from render.judge.sharpness import Asked, Sharpness
from render.judge.verdict import judge
from render.tell.cells import verdict_cell


def test_a_cell_says_scale_figures_and_word(roof) -> None:
    """Capital at the start, but an f-number as it is engraved; the suggested one is marked."""
    here, paper = roof(), Image.new("RGB", (6, 4))
    good = judge(here.scene(), here.setting(2.8, -8.0))
    bad = judge(here.scene(), here.setting(22.0, 0.0))
    cell = verdict_cell(paper, "lens up 8°", good, suggested=True)

    assert cell.setting == "Lens up 8°"
    assert verdict_cell(paper, "f/5.6", good).setting == "f/5.6"
    assert cell.suggested
    assert f"score {good.score.value:.0f}" in cell.figures
    assert good.reads_as is not None
    assert cell.scale == f"reads as {good.reads_as.ratio}"
    assert bad.word is Word.WONT
    assert verdict_cell(paper, "f/22", bad).scale == "no model scale"


def test_a_cell_for_sharpness_says_how_much_of_what_was_asked_for_is_sharp(roof) -> None:
    """No model's word and no score where two things were to be sharp."""
    here, paper = roof(), Image.new("RGB", (6, 4))
    found = judge(here.scene(), here.setting(2.8, -8.0))

    def said(*sharp: bool) -> str:
        things = tuple(Asked(f"thing {k}", 0.001, each) for k, each in enumerate(sharp))
        cell = verdict_cell(paper, "f/4", found, asked=Sharpness(things, 0.42, 0.0012, 0.002, 4.0))
        assert cell.scale == "for sharpness, not for a model"
        assert "score" not in cell.figures
        return cell.verdict

    assert said(True, True) == "both sharp, 42 % soft"
    assert said(True, False) == "1 of 2 sharp"
    assert said(True, True, True) == "all 3 sharp, 42 % soft"
    assert said(True) == "thing 0 sharp, 42 % soft"
