"""A cell of a sheet says what its verdict found."""

from PIL import Image

from render.judge.score import Word
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
