"""A picture on a sheet, with what a verdict found of it underneath."""

from PIL import Image

from render.judge.sharpness import Sharpness
from render.judge.verdict import Verdict
from render.judge.verdict_words import IF_OPEN_SHORT, if_guessed, if_open
from render.sheets.close_ups import CloseUps
from render.sheets.compare import Cell
from render.words import percent

__all__ = ["verdict_cell"]


def verdict_cell(
    picture: Image.Image,
    words: str,
    verdict: Verdict,
    *,
    suggested: bool = False,
    for_sharpness: bool = False,
    guessed: bool = False,
    asked: Sharpness | None = None,
    close: CloseUps | None = None,
) -> Cell:
    """Return a cell whose caption says what a verdict found.

    Where the setting is for sharpness, how far it makes a model is not said, but how much of what
    was asked for is sharp; where something that it stands on is only guessed, that is.
    """
    for_sharpness = for_sharpness or asked is not None
    word = str(verdict.word)
    if verdict.built_over is not None:
        word = if_open(word, verdict.word, IF_OPEN_SHORT)
    word = if_guessed(word) if guessed else word
    measures = verdict.measures
    figures = (
        f"band {percent(min(measures.band.height_fraction, 1.0))} · "
        f"softest {percent(measures.edge_blur)}"
    )
    return Cell(
        picture=picture,
        setting=words if words.startswith("f/") else words[:1].upper() + words[1:],
        scale="for sharpness, not for a model" if for_sharpness else _scale_words(verdict),
        figures=figures if for_sharpness else f"{figures} · score {verdict.score.value:.0f}",
        verdict=_asked_words(asked) if for_sharpness else word,
        suggested=suggested,
        close=close,
    )


def _asked_words(asked: Sharpness | None) -> str:
    """How much of what was asked for is sharp, and of the rest soft."""
    if asked is None or not asked.count:
        return ""
    return f"{asked.count}, {asked.rest}" if asked.as_asked else asked.count


def _scale_words(verdict: Verdict) -> str:
    if not verdict.word.of_a_model:
        return "no model scale"
    return f"reads as {verdict.reads_as.ratio}" if verdict.reads_as else "no single scale"
