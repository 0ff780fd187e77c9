"""From evidence to a score with its range, and to a word."""

import enum
import math
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from render.judge.rule import EXACT, PARTS, Doubt, Evidence, drawn_rules, rule_on
from render.judge.weights import RULES

__all__ = ["Gates", "Marks", "Score", "Word", "credited", "score_of"]

Floats = NDArray[np.float64]


class Word(enum.StrEnum):
    """The verdict in words."""

    READS = "reads as a model"
    MIGHT = "might read as a model"
    WONT = "won't read as a model"
    CLOSE = "reads as a close photograph"

    @property
    def of_a_model(self) -> bool:
        """Whether it reads as a model, or might."""
        return self in (Word.READS, Word.MIGHT)


@dataclass(frozen=True, slots=True)
class Marks:
    """The five parts, each 0 to 1: the median of the draws."""

    nearness: float
    agreement: float
    visibility: float
    viewpoint: float
    picture: float

    def as_tuple(self) -> tuple[float, float, float, float, float]:
        """In the order of `Rules.weights`."""
        return self.nearness, self.agreement, self.visibility, self.viewpoint, self.picture

    @property
    def weakest(self) -> str:
        """Name of the part that costs the score most: the largest weight times -ln(mark)."""
        costs = [
            -weight * math.log(max(mark, RULES.mark_floor))
            for weight, mark in zip(RULES.weights, self.as_tuple(), strict=True)
        ]
        return PARTS[int(np.argmax(costs))]


@dataclass(frozen=True, slots=True)
class Gates:
    """What can end the matter, each 0 to 1: the median of the draws.

    Attributes
    ----------
    seen : float
        Whether the blur is seen at the viewing size.
    eye_level : float
        What rises above eye level, and a low stand.
    close : float
        Whether more is asked for than an ordinary lens's shallow focus.
    empty_band : float
        Whether something stands in the sharp band.
    plan : float
        Whether the sides of things show, seen from so high above.
    """

    seen: float
    eye_level: float
    close: float
    empty_band: float
    plan: float


@dataclass(frozen=True, slots=True)
class Score:
    """A score from 0 to 100 with our doubt about it.

    Attributes
    ----------
    value : float
        Median of the draws.
    low, high : float
        10 and 90 % of the draws.
    word : Word
    reads_share : float
        Share of the draws in which it reads as a model.
    agreement : float
        Share of the draws that the sentence counts: on the word's side; for "might", which takes
        no side, those in which it reads.
    draws : ndarray, shape (K,)
        Every draw's score: draw k of two scores is the same rule.
    """

    value: float
    low: float
    high: float
    word: Word
    reads_share: float
    agreement: float
    draws: Floats = field(repr=False, compare=False)

    def beats(self, other: "Score") -> float:
        """Share of the draws that put this one before the other; a tie is half."""
        before = np.mean(self.draws > other.draws) + 0.5 * np.mean(self.draws == other.draws)
        return float(before)


def score_of(evidence: Evidence, doubt: Doubt = EXACT) -> tuple[Score, Marks, Gates]:
    """Score one piece of evidence under every rule drawn.

    Parameters
    ----------
    evidence : Evidence
    doubt : Doubt
        About the depth that the evidence rests on.
    """
    ruling = rule_on(evidence, drawn_rules(), doubt)
    marks = Marks(*(float(m) for m in np.median(ruling.marks, axis=0)))
    gates = Gates(*(float(g) for g in np.median(ruling.gates, axis=0)))
    return _of_draws(ruling.score, evidence), marks, gates


def credited(score: Score, without: Score, credit: float, evidence: Evidence) -> Score:
    """What a score gains over another one counts only by a share of 0 to 1, draw by draw."""
    gained = np.maximum(score.draws - without.draws, 0.0)
    return _of_draws(score.draws - (1.0 - credit) * gained, evidence)


def _of_draws(draws: Floats, evidence: Evidence) -> Score:
    low, value, high = (float(q) for q in np.quantile(draws, (0.1, 0.5, 0.9)))
    reads = float(np.mean(draws >= drawn_rules().level))
    word = _word(reads, evidence)
    agreement = reads if word in (Word.READS, Word.MIGHT) else 1.0 - reads
    return Score(value, low, high, word, reads, agreement, draws)


def _word(reads_share: float, evidence: Evidence) -> Word:
    """Reads if most draws say so, won't if most say not; a close photograph where that explains."""
    if reads_share >= RULES.reads_share:
        return Word.READS
    shallow = (
        0 < evidence.scale < RULES.close_below
        and evidence.sharp_m < RULES.close_to_m  # not where the fit is focused: a rail bends it
        and evidence.correlation >= RULES.single_scale_from
        and evidence.seen >= RULES.seen_gate
    )
    if shallow:
        return Word.CLOSE
    return Word.MIGHT if reads_share > 1.0 - RULES.reads_share else Word.WONT
