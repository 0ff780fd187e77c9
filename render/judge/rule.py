"""The rule: evidence to marks, gates and score, and all the rules that the findings leave open.

A score is 100 times a weighted geometric mean of five marks, times five gates. A mark that fails
pulls the score down; a gate that fails ends the matter. No experiment gives the numbers, so the
rule is drawn `Rules.draws` times, and only draws that keep to the *published orders* count
(`_keeps_the_orders`). What most draws say is said; how far they part is the range.
"""

import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from render.judge.weights import RULES, Rules

__all__ = [
    "EXACT",
    "GATES",
    "PARTS",
    "Doubt",
    "Evidence",
    "Ruling",
    "drawn_rules",
    "rule_on",
]

Floats = NDArray[np.float64]

PARTS = ("nearness", "agreement", "visibility", "viewpoint", "picture")
GATES = ("seen", "eye level", "close", "empty band", "plan")

_SEED = 20251
_TINY = 1e-30  # stands for 0 in a logarithm
_DECILE = 1.2816  # of a normal distribution, in standard deviations
_TRIED = 3  # draws made for each that is wanted; about half keep to the orders


@dataclass(frozen=True, slots=True)
class Evidence:
    """What the rule looks at; NaN where it is not known.

    Attributes
    ----------
    apparent_m : float
        D_p: how far away the scene seems to stand; ``inf`` where blur brings nothing near. Like
        `seen` and `scale` it counts only as much of the blur as C vouches for, so that a chance
        slope through a cloud of points is no strength.
    correlation : float
        C: of blur with depth.
    seen : float
        Blur at the edges over the blur that is just seen, as far as it follows depth.
    sharp_share : float
        Share of the detail that looks sharp at the viewing size, by the blur that follows depth.
    scale : float
        S of 1:S, seen by the eye.
    depression_deg : float
        The band below eye level.
    above_share : float
        Share of the picture above eye level; sky or not.
    height_m : float
        Of the camera above the ground.
    standing_share : float
        Share of the picture that stands on the ground inside the sharp band.
    picture : float
        Mark of the picture's own cues, 0 to 1.
    sharp_m : float
        How far away what is sharp is.
    """

    apparent_m: float
    correlation: float
    seen: float
    sharp_share: float
    scale: float
    depression_deg: float = math.nan
    above_share: float = 0.0
    height_m: float = math.nan
    standing_share: float = math.nan
    picture: float = RULES.picture_unknown
    sharp_m: float = math.nan


@dataclass(frozen=True, slots=True)
class Doubt:
    """What is not known of the depth.

    Attributes
    ----------
    depth_error : float
        Relative error of the depth's scale, one sigma: it moves distance and scale.
    falls, rises : float
        Shares by which the score may fall or rise, in one case of ten, by what was not said.
    standing : bool
        Whether things may stand where the depth shows none.
    """

    depth_error: float = 0.0
    falls: float = 0.0
    rises: float = 0.0
    standing: bool = False


#: The depth is exact and everything is in it.
EXACT = Doubt()


@dataclass(frozen=True, slots=True, eq=False)
class Ruling:
    """What some rules make of one piece of evidence.

    Attributes
    ----------
    marks : ndarray, shape (K, 5)
        Of `PARTS`, 0 to 1.
    gates : ndarray, shape (K, 5)
        Of `GATES`, 0 to 1.
    score : ndarray, shape (K,)
        0 to 100.
    """

    marks: Floats
    gates: Floats
    score: Floats


@dataclass(frozen=True, slots=True, eq=False)
class RuleSet:
    """K rules: every number of `Rules` that is drawn, as an array of shape (K,) or (K, 5)."""

    weights: Floats
    mark_floor: Floats
    pupil_over_usual: Floats
    near_m: Floats
    far_m: Floats
    agreement_none: Floats
    agreement_shape: Floats
    agreement_floor: Floats
    seen_none: Floats
    seen_gate: Floats
    seen_full: Floats
    sharp_none: Floats
    sharp_low: Floats
    sharp_high: Floats
    sharp_all: Floats
    phi_none_deg: Floats
    phi_low_deg: Floats
    phi_high_deg: Floats
    plan_left: Floats
    above_full_loss: Floats
    above_loss: Floats
    above_gate: Floats
    above_gone: Floats
    low_stand_m: Floats
    low_horizon: Floats
    unknown_phi_mark: Floats
    close_scale: Floats
    lens_scale: Floats
    empty_band: Floats
    level: Floats
    depth_normal: Floats  # standard normal: times the depth's relative error
    unsaid_normal: Floats  # standard normal: what was not said makes it fall or rise
    standing_chance: Floats  # 0 to 1: how much of what stands there was not said

    def taken(self, which: NDArray[np.bool_]) -> "RuleSet":
        """Those of them."""
        return RuleSet(**{name: getattr(self, name)[which] for name in RuleSet.__slots__})


@lru_cache(maxsize=1)
def drawn_rules() -> RuleSet:
    """Draws of the table that keep to the published orders; the seed is fixed."""
    tried = _drawn(_TRIED * RULES.draws, spread=1.0)
    kept = tried.taken(_keeps_the_orders(tried))
    first = np.zeros(len(kept.level), bool)
    first[: RULES.draws] = True
    return kept.taken(first)


def rule_on(evidence: Evidence, rules: RuleSet, doubt: Doubt = EXACT) -> Ruling:
    """Marks, gates and scores of some rules."""
    off = np.exp(doubt.depth_error * rules.depth_normal)
    apparent = evidence.apparent_m * rules.pupil_over_usual * off
    steep = _steepness(evidence, rules)
    above = np.clip(evidence.above_share / rules.above_full_loss, 0.0, 1.0)
    marks = np.stack(
        [
            _falling(apparent, rules.near_m, rules.far_m),
            _agreement(evidence.correlation, rules),
            np.minimum(
                _rising(evidence.seen, rules.seen_none, rules.seen_full), _band(evidence, rules)
            ),
            steep * (1.0 - rules.above_loss * above),
            np.full(rules.level.shape, evidence.picture),
        ],
        axis=-1,
    )
    gates = np.stack(
        [
            _rising(evidence.seen, rules.seen_none, rules.seen_gate),
            _eye_level(evidence, rules),
            _rising(evidence.scale * off, rules.close_scale, rules.lens_scale),
            _occupied(evidence, rules, doubt.standing),
            _from_above(evidence, rules),
        ],
        axis=-1,
    )
    logs = np.log(np.maximum(marks, rules.mark_floor[:, None]))
    mean = (logs * rules.weights).sum(-1) / rules.weights.sum(-1)
    share = np.where(rules.unsaid_normal < 0, doubt.falls, doubt.rises) * rules.unsaid_normal
    score = 100.0 * np.exp(mean) * gates.prod(-1) * np.maximum(1.0 + share / _DECILE, 0.0)
    return Ruling(marks, gates, np.minimum(score, 100.0))


def _steepness(evidence: Evidence, rules: RuleSet) -> Floats:
    phi = evidence.depression_deg
    if math.isnan(phi):
        return rules.unknown_phi_mark
    up = (phi - rules.phi_none_deg) / (rules.phi_low_deg - rules.phi_none_deg)
    return np.asarray(np.clip(up, 0.0, 1.0))


def _from_above(evidence: Evidence, rules: RuleSet) -> Floats:
    """What is left where one looks down so steeply that the sides of things hardly show."""
    if math.isnan(evidence.depression_deg):
        return np.ones(rules.level.shape)
    whole = np.cos(np.radians(rules.phi_high_deg))
    sides = np.minimum(1.0, math.cos(math.radians(evidence.depression_deg)) / whole)
    return np.asarray(rules.plan_left + (1.0 - rules.plan_left) * sides)


def _agreement(correlation: float, rules: RuleSet) -> Floats:
    """Strictly rising to 1 at C = 1: nothing that lowers agreement is free."""
    share = (correlation - rules.agreement_none) / (1.0 - rules.agreement_none)
    share = np.clip(share if correlation == correlation else 0.0, 0.0, 1.0)
    curve = share**rules.agreement_shape
    return np.asarray(rules.agreement_floor + (1.0 - rules.agreement_floor) * curve)


def _band(evidence: Evidence, rules: RuleSet) -> Floats:
    """Neither a hair of sharpness nor sharpness all over."""
    share = evidence.sharp_share
    return np.minimum(
        _rising(share, rules.sharp_none, rules.sharp_low),
        _falling(np.full(rules.level.shape, share), rules.sharp_high, rules.sharp_all),
    )


def _eye_level(evidence: Evidence, rules: RuleSet) -> Floats:
    """What rises above eye level, sky or wall; and a person's stand with the horizon in view."""
    over = (evidence.above_share - rules.above_gate) / (rules.above_gone - rules.above_gate)
    gate = 1.0 - np.clip(over, 0.0, 1.0)
    if math.isnan(evidence.height_m):
        return np.asarray(gate)
    high = rules.low_stand_m * (RULES.high_stand_m / RULES.low_stand_m)
    low = 1.0 - _rising(evidence.height_m, rules.low_stand_m, high)
    horizon = np.clip(evidence.above_share / rules.low_horizon, 0.0, 1.0)
    return np.asarray(gate * (1.0 - low * horizon))


def _occupied(evidence: Evidence, rules: RuleSet, unsaid: bool) -> Floats:
    """What is left where nothing stands in the band; 1 where nobody knows what stands."""
    if math.isnan(evidence.standing_share):
        return np.ones(rules.level.shape)
    share = np.minimum(1.0, evidence.standing_share / RULES.standing_full)
    if unsaid:
        share = np.maximum(share, rules.standing_chance)
    return np.asarray(rules.empty_band + (1.0 - rules.empty_band) * share)


def _rising(value: float | Floats, none: Floats, full: Floats) -> Floats:
    """0 at `none`, 1 at `full`, even in the logarithm between."""
    share = (np.log(np.maximum(value, _TINY)) - np.log(none)) / np.log(full / none)
    return np.clip(share, 0.0, 1.0)


def _falling(value: Floats, full: Floats, none: Floats) -> Floats:
    """1 at `full`, 0 at `none`, even in the logarithm between."""
    share = (np.log(none) - np.log(np.maximum(value, _TINY))) / np.log(none / full)
    return np.clip(share, 0.0, 1.0)


def _drawn(count: int, spread: float) -> RuleSet:
    """Draw rules; `spread` 0 gives the table itself."""
    rng = np.random.default_rng(_SEED)
    sds = {name: row.metadata["spread"] for name, row in Rules.__dataclass_fields__.items()}

    def normal() -> Floats:
        return spread * rng.standard_normal(count)

    def scaled(name: str) -> Floats:
        return np.asarray(getattr(RULES, name) * np.exp(sds[name] * normal()))

    def moved(name: str) -> Floats:
        return np.asarray(getattr(RULES, name) + sds[name] * normal())

    weights = 1.0 + sds["weights"] * spread * (2.0 * rng.random((count, 5)) - 1.0)
    # the viewer's pupil lies evenly (in the logarithm) between both ends, around the usual one
    below, above = (
        math.log(end / RULES.pupil_mm) for end in (RULES.pupil_low_mm, RULES.pupil_high_mm)
    )
    side = 2.0 * rng.random(count) - 1.0
    pupil = spread * np.where(side < 0, -side * below, side * above)
    ends = np.exp(sds["near_m"] * normal())
    stretch = np.exp(0.5 * sds["near_m"] * normal())
    return RuleSet(
        weights=np.asarray(RULES.weights) * weights,
        mark_floor=scaled("mark_floor"),
        pupil_over_usual=np.exp(pupil + RULES.distance_spread * normal()),
        near_m=RULES.near_m * ends,
        far_m=RULES.far_m * ends * stretch,
        agreement_none=np.clip(moved("agreement_none"), 0.0, 0.35),
        agreement_shape=scaled("agreement_shape"),
        agreement_floor=np.minimum(scaled("agreement_floor"), 0.4),
        seen_none=scaled("seen_none"),
        seen_gate=scaled("seen_gate"),
        seen_full=scaled("seen_full"),
        sharp_none=scaled("sharp_none"),
        sharp_low=scaled("sharp_low"),
        sharp_high=scaled("sharp_high"),
        sharp_all=np.minimum(scaled("sharp_all"), 0.95),
        phi_none_deg=moved("phi_none_deg"),
        phi_low_deg=moved("phi_low_deg"),
        phi_high_deg=moved("phi_high_deg"),
        plan_left=np.clip(moved("plan_left"), 0.2, 0.95),
        above_full_loss=scaled("above_full_loss"),
        above_loss=np.minimum(scaled("above_loss"), 1.0),
        above_gate=scaled("above_gate"),
        above_gone=scaled("above_gone"),
        low_stand_m=scaled("low_stand_m"),
        low_horizon=scaled("low_horizon"),
        unknown_phi_mark=np.minimum(scaled("unknown_phi_mark"), 1.0),
        close_scale=scaled("close_scale"),
        lens_scale=scaled("lens_scale"),
        empty_band=np.clip(moved("empty_band"), 0.3, 0.95),
        level=RULES.level + sds["level"] * spread * (2.0 * rng.random(count) - 1.0),
        depth_normal=normal(),
        unsaid_normal=normal(),
        standing_chance=np.clip(moved("standing_unsaid"), 0.0, 1.0),
    )


#: A picture as in the studies: from above, low things, wide open; and what was changed there.
_RIGHT_WAY = Evidence(0.3, 0.83, 9.0, 0.08, 170.0, 25.0, standing_share=0.02)
_ORDERED = {
    "right way": _RIGHT_WAY,
    # a band over things that stand through it: bands fooled too (Held et al. 2010, Fig. 9;
    # Vishwanath & Blaser 2010: regardless of agreement with the slant)
    "band": Evidence(0.3, 0.65, 9.0, 0.08, 170.0, 25.0, standing_share=0.02),
    # blur across the ground: direction is crucial (Meese, Baker & Summers 2023)
    "across": Evidence(0.3, 0.10, 9.0, 0.08, 170.0, 25.0, standing_share=0.02),
    # half and twice the rate of change: it matters less (same)
    "half rate": Evidence(0.6, 0.83, 4.5, 0.16, 85.0, 25.0, standing_share=0.02),
    "twice": Evidence(0.15, 0.83, 18.0, 0.04, 340.0, 25.0, standing_share=0.02),
    # stronger is nearer (Held et al. 2010); far beyond a metre little is left (Vishwanath 2007)
    "faint": Evidence(2.0, 0.83, 2.0, 0.4, 40.0, 25.0, standing_share=0.02),
}


def _keeps_the_orders(rules: RuleSet) -> NDArray[np.bool_]:
    """True for draws that order the studies' kinds of picture as their viewers did."""
    score = {name: rule_on(evidence, rules).score for name, evidence in _ORDERED.items()}
    right, level = score["right way"], rules.level
    lost = right - score["across"]
    return np.asarray(
        (right >= level)
        & (score["band"] >= level)
        & (score["across"] < level)
        & (score["faint"] < level)
        & (right - score["half rate"] < lost)
        & (np.abs(score["twice"] - right) < lost)
        & (right > score["half rate"])
        & (score["half rate"] > score["faint"])
    )
