"""From five marks to a score with its range, and to a word."""

import enum
import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from render.judge.weights import RULES

__all__ = [
    "Score",
    "Word",
    "agreement_mark",
    "nearness_mark",
    "score_of",
    "viewpoint_mark",
    "visibility_mark",
    "word_of",
]

Floats = NDArray[np.float64]

_SEED = 20251
_DECILE = 1.2816  # of a normal distribution, in standard deviations


class Word(enum.StrEnum):
    """The verdict in words."""

    READS = "reads as a model"
    MIGHT = "might read as a model"
    WONT = "won't read as a model"


@dataclass(frozen=True, slots=True)
class Score:
    """A score from 0 to 100 with our doubt about it.

    Attributes
    ----------
    value : float
    low, high : float
        10 and 90 % of the draws.
    word : Word
    agreement : float
        Share of the draws that give the same word.
    overrides : tuple of str
        Reasons why the word is "won't" whatever the score.
    """

    value: float
    low: float
    high: float
    word: Word
    agreement: float
    overrides: tuple[str, ...]


def nearness_mark(apparent_m: float) -> float:
    """1 at 0.3 m and nearer, 0 at 3 m and farther, even in the logarithm between."""
    return float(_nearness(np.array([apparent_m]), RULES.near_m, RULES.far_m)[0])


def agreement_mark(correlation: float) -> float:
    """From the floor at C = 0.2 to 1 at C = 0.9; no correlation (NaN) earns the floor."""
    share = (correlation - RULES.agreement_none) / (RULES.agreement_full - RULES.agreement_none)
    share = min(1.0, share) if share > 0 else 0.0
    return RULES.agreement_floor + (1.0 - RULES.agreement_floor) * share


def visibility_mark(edge_blur: float, coc_fraction: float, band_fraction: float) -> float:
    """The lesser of two marks: is blur seen at the edges, is the band neither thin nor all."""
    seen = 0.0 if edge_blur <= coc_fraction else math.log10(edge_blur / coc_fraction)
    if not RULES.band_none < band_fraction < RULES.band_all:
        band = 0.0
    elif band_fraction < RULES.band_low:
        band = math.log(band_fraction / RULES.band_none) / math.log(
            RULES.band_low / RULES.band_none
        )
    else:
        band = math.log(RULES.band_all / band_fraction) / math.log(RULES.band_all / RULES.band_high)
    return min(1.0, seen, band)


def viewpoint_mark(depression_deg: float, sky_share: float) -> float:
    """Steepness times freedom from sky; an unknown steepness (NaN) earns 0.7."""
    if math.isnan(depression_deg):
        steep = RULES.unknown_phi_mark
    else:
        steep = float(
            np.interp(
                depression_deg,
                [RULES.phi_none_deg, RULES.phi_low_deg, RULES.phi_high_deg, 90.0],
                [0.0, 1.0, 1.0, RULES.phi_plan_mark],
            )
        )
    return steep * (1.0 - RULES.sky_loss * min(1.0, sky_share / RULES.sky_full_loss))


def word_of(score: float) -> Word:
    """The word for a score, before any override."""
    if score >= RULES.reads_from:
        return Word.READS
    return Word.MIGHT if score >= RULES.might_from else Word.WONT


def score_of(
    marks: tuple[float, float, float, float, float],
    apparent_m: float,
    overrides: tuple[str, ...] = (),
    depth_error: float = 0.0,
    unsaid_points: tuple[float, float] = (0.0, 0.0),
) -> Score:
    """Score five marks (nearness first) and draw its range.

    Draws: each weight times U(0.5, 1.5), the viewer's pupil log-uniform from 3 to 9 mm, both ends
    of nearness together times a lognormal(0.3); the seed is fixed.

    Parameters
    ----------
    marks : tuple of 5 floats
        Nearness, agreement, visibility, viewpoint, picture; 0 to 1.
    apparent_m : float
        D_p, the distance the scene seems to stand at; ``inf`` allowed.
    overrides : tuple of str
        Reasons for "won't" that no weighting can lift.
    depth_error : float
        Relative error of the depth's scale, one sigma.
    unsaid_points : tuple of 2 floats
        How far the score would fall, or rise, in one case of ten by what the depth does not know.
    """
    weights = np.asarray(RULES.weights)
    value = float(_weighted(np.asarray(marks)[None], weights[None])[0])
    rng = np.random.default_rng(_SEED)
    count = RULES.draws
    spread = 1.0 + RULES.weight_spread * (2.0 * rng.random((count, 5)) - 1.0)
    low, high = math.log(RULES.pupil_low_mm), math.log(RULES.pupil_high_mm)
    pupil = np.exp(low + (high - low) * rng.random(count))
    ends = np.exp(RULES.near_spread * rng.standard_normal(count))
    scale = np.exp(depth_error * rng.standard_normal(count))
    apparent = apparent_m * pupil / RULES.pupil_mm * scale
    drawn = np.tile(np.asarray(marks, float), (count, 1))
    drawn[:, 0] = _nearness(apparent, RULES.near_m * ends, RULES.far_m * ends)
    scores = _weighted(drawn, weights * spread) + _unsaid(rng, count, unsaid_points)
    word = Word.WONT if overrides else word_of(value)
    edges = {
        Word.READS: (RULES.reads_from, math.inf),
        Word.MIGHT: (RULES.might_from, RULES.reads_from),
        Word.WONT: (-math.inf, RULES.might_from),
    }
    least, most = edges[word]
    same = 1.0 if overrides else float(np.mean((scores >= least) & (scores < most)))
    bottom, top = np.quantile(scores, (0.1, 0.9))
    return Score(value, max(0.0, float(bottom)), min(100.0, float(top)), word, same, overrides)


def _unsaid(rng: np.random.Generator, count: int, points: tuple[float, float]) -> Floats:
    """Two halves of normal distributions whose 10 and 90 % lie at the given points."""
    drawn = rng.standard_normal(count) / _DECILE
    return np.where(drawn < 0, points[0] * drawn, points[1] * drawn)


def _weighted(marks: Floats, weights: Floats) -> Floats:
    """100 times the weighted geometric mean over the last axis."""
    logs = np.log(np.maximum(marks, RULES.mark_floor))
    return np.asarray(100.0 * np.exp((logs * weights).sum(-1) / weights.sum(-1)))


def _nearness(apparent: Floats, near: Floats | float, far: Floats | float) -> Floats:
    with np.errstate(divide="ignore"):
        share = np.log(far / apparent) / np.log(np.asarray(far) / near)
    return np.asarray(np.clip(share, 0.0, 1.0))
