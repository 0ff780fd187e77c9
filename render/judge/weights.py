"""The one table of weights, curves and thresholds behind the verdict, each with its standing.

Geometry decides how blurred a picture gets. Whether that reads as a scale model is a matter of
judgement. Each number here is marked

- *published*: a study names it, or bounds it (which, is said);
- *derived*: it follows from geometry or from another number here;
- *practice*: common practice, no source;
- *ours*: a judgement call that no experiment gives, kept here so that a later one can replace it.

Beside each stands how far it is drawn for the range of a score (`render.judge.rule`).
"""

import math
from dataclasses import dataclass, field
from typing import Any

__all__ = ["OURS", "RULES", "STANDINGS", "Rules"]

#: What a number of the table can rest on.
STANDINGS = ("published", "derived", "practice", "ours")

#: Said in the help and in the small print of every verdict.
OURS = (
    "The order of settings is firm, the level is not: no study says from which score on viewers "
    "take a picture for a model, so weights, curves and levels are drawn as far as the published "
    "findings leave them open, and the word says what most draws say. It is not the chance that a "
    "viewer agrees."
)


def _number(value: Any, standing: str, why: str, spread: float = 0.0) -> Any:
    """One row of the table; `spread` is the sd of ln(value) in the draws, unless it says else."""
    assert standing in STANDINGS, standing
    return field(default=value, metadata={"standing": standing, "why": why, "spread": spread})


@dataclass(frozen=True, slots=True)
class Rules:
    """Every number of the judgement that optics does not give; `fields(Rules)` has the reasons."""

    # ---- weights of the parts -----------------------------------------------------------------
    weights: tuple[float, float, float, float, float] = _number(
        (0.32, 0.27, 0.21, 0.15, 0.05),
        "ours",
        "exponents of nearness, agreement, visibility, viewpoint and picture; the order is that of "
        "the evidence. Drawn times U(0.5, 1.5)",
        0.5,
    )
    mark_floor: float = _number(
        0.02, "ours", "the least a part may count: one failing part is no veto, gates are", 0.5
    )
    # ---- nearness -----------------------------------------------------------------------------
    pupil_mm: float = _number(
        4.6,
        "published",
        "mean pupil in room light: Held et al. 2010 after Spring & Stiles 1948 (from memory)",
    )
    pupil_low_mm: float = _number(3.0, "derived", "a telephone's lens: f 6 mm at f/1.8")
    pupil_high_mm: float = _number(9.0, "derived", "a close-up lens: 100 mm at f/11")
    near_m: float = _number(
        0.3, "published", "blur is strong at 10 to 30 cm: Vishwanath 2007 (abstract)", 0.3
    )
    fading_m: float = _number(
        1.0, "published", "blur fades by about a metre: Vishwanath 2007 (abstract)"
    )
    far_m: float = _number(3.0, "ours", "no mark from here on; drawn with `near_m`", 0.3)
    distance_spread: float = _number(
        0.25,
        "published",
        "ln of the viewing distance over the picture's own: people see long lenses from too near "
        "and short ones from too far, Cooper, Piazza & Banks 2012 (abstract); the sd is ours",
    )
    # ---- agreement ----------------------------------------------------------------------------
    agreement_none: float = _number(
        0.15, "ours", "correlation of blur with depth that earns the floor. Drawn +- 0.08", 0.08
    )
    agreement_shape: float = _number(
        0.7, "ours", "exponent up to the full mark at 1: every loss of agreement costs", 0.2
    )
    agreement_floor: float = _number(
        0.08,
        "published",
        "between veto (Meese et al. 2023: direction is crucial) and hardly any effect (Vishwanath "
        "& Blaser 2010), abstracts; the number is ours",
        0.5,
    )
    blur_noise: float = _number(
        0.5,
        "derived",
        "noise of seeing a diameter of blur, in blurs just seen: it attenuates the correlation "
        "(Spearman 1904, from memory), so that blur nobody sees agrees with nothing",
    )
    depth_seen: float = _number(
        0.02,
        "ours",
        "relative change of distance that is just told in a picture; like `blur_noise` it "
        "attenuates the correlation, so that ground seen squarely from above, which lies all at "
        "one distance, agrees with nothing. A slant below some 10 degrees is hardly told from none "
        "(Knill 1998, from memory)",
    )
    swing_credited: float = _number(
        0.05,
        "ours",
        "what swing adds counts as far as it raises C, in full from here (direction before rate: "
        "Meese et al. 2023, abstract)",
    )
    near_cost: float = _number(
        7.0,
        "ours",
        "exponent: of C, (1 - share)^this is left by what stands nearer than a quarter of the "
        "focus distance without a model's blur",
    )
    vouched_from: float = _number(
        0.85, "ours", "below this correlation only C over it of the blur counts as strength"
    )
    single_scale_from: float = _number(0.4, "ours", "below this correlation no scale is named")
    nearest_m: float = _number(
        0.036,
        "derived",
        "where it seems to stand nearer no scale is named: even through a close-up lens's pupil "
        "(`pupil_high_mm`) that is nearer than 7 cm, where the youngest eyes cease to focus "
        "(14 dioptres: Duane 1912, from memory)",
    )
    # ---- visibility ---------------------------------------------------------------------------
    seen_none: float = _number(
        1.5,
        "derived",
        "blur at the edges over the blur just seen: half of the picture shows less than half of it",
        0.15,
    )
    seen_gate: float = _number(
        3.5,
        "ours",
        "below this many times the blur just seen the effect goes, to nothing at `seen_none`",
        0.2,
    )
    seen_full: float = _number(
        8.0,
        "published",
        "four levels of blur are told apart (Taylor & Bex 2015, abstract): 8 is three doublings",
        0.2,
    )
    sharp_none: float = _number(0.006, "ours", "share that looks sharp: too thin a band", 0.2)
    sharp_low: float = _number(0.03, "ours", "the full mark from here", 0.2)
    sharp_high: float = _number(0.25, "ours", "the full mark to here", 0.2)
    sharp_all: float = _number(0.70, "ours", "too little is soft", 0.1)
    # ---- viewpoint ----------------------------------------------------------------------------
    phi_none_deg: float = _number(5.0, "ours", "depression of the band: none. Drawn +- 2", 2.0)
    phi_low_deg: float = _number(
        20.0,
        "derived",
        "from here to 55 degrees people look down at models on tables, by the "
        "heights of bodies and tables. Drawn +- 3",
        3.0,
    )
    phi_high_deg: float = _number(55.0, "derived", "see above. Drawn +- 3", 3.0)
    plan_left: float = _number(
        0.6,
        "practice",
        "from straight above a place reads as a map: what is left where no side of a thing is "
        "seen; it falls with the share of the sides that shows (cos phi over that at "
        "`phi_high_deg`, derived). Drawn +- 0.1",
        0.1,
    )
    above_full_loss: float = _number(
        0.25, "ours", "share above eye level from which `above_loss` of the mark is lost", 0.2
    )
    above_loss: float = _number(0.7, "ours", "see above", 0.1)
    above_gate: float = _number(
        0.03, "practice", "keep the horizon out: more than this above eye level counts", 0.4
    )
    above_gone: float = _number(0.45, "ours", "with so much above eye level nothing is left", 0.2)
    low_stand_m: float = _number(
        2.0,
        "published",
        "with the horizon in view, eye height gives sizes away (horizon ratio: Sedgwick 1986, from "
        "memory); a standing person's, with something to spare",
        0.2,
    )
    high_stand_m: float = _number(6.0, "ours", "two storeys up that no longer ends it", 0.2)
    high_sky: float = _number(
        0.4,
        "practice",
        "from a high roof a strip of sky over the square is forgiven: so much of the sky counts "
        "as above eye level from `forgiven_m` up, all of it to `high_stand_m`",
    )
    forgiven_m: float = _number(30.0, "ours", "ten storeys: see above")
    low_horizon: float = _number(0.05, "ours", "share above eye level that shows a horizon", 0.3)
    unknown_phi_mark: float = _number(0.7, "ours", "where height and pitch are unknown", 0.2)
    # ---- what an ordinary lens does as well -----------------------------------------------------
    close_scale: float = _number(
        8.0,
        "derived",
        "a scale that asks for a pupil of 37 mm, such as 50 mm at f/1.4: ordinary shallow focus",
        0.15,
    )
    lens_scale: float = _number(
        16.0, "derived", "74 mm, such as 135 mm at f/1.8: few lenses reach that", 0.15
    )
    close_below: float = _number(12.0, "ours", "below this scale the word is a close photograph")
    close_to_m: float = _number(
        5.0,
        "ours",
        "focused farther away than this nothing is a close photograph: blur of an ordinary fast "
        "lens makes no model there, and that is all",
    )
    # ---- picture ------------------------------------------------------------------------------
    empty_band: float = _number(
        0.72,
        "practice",
        "what is left where nothing stands in the sharp band: the eye rests on things; a bare rock "
        "face fooled too (Vishwanath & Blaser 2010). Drawn +- 0.12",
        0.12,
    )
    standing_unsaid: float = _number(
        1.3,
        "derived",
        "how much of that stands in the band of a photo whose depth says nothing of it: enough did "
        "in 53 of 54 settings with exact depth (render/depth/README.md), and does in five draws of "
        "six. Drawn +- 0.3",
        0.3,
    )
    standing_full: float = _number(
        0.001,
        "ours",
        "share of the picture that stands in the band and is enough: a person a twentieth of its "
        "height tall",
    )
    haze_none: float = _number(0.5, "ours", "transmission to the far tenth: none")
    haze_full: float = _number(0.9, "ours", "transmission to the far tenth: full")
    place_low: float = _number(0.35, "practice", "band's centre from the top: full from here")
    place_high: float = _number(0.70, "practice", "full to here")
    things_full: int = _number(3, "practice", "small known things counted in the band: full")
    picture_unknown: float = _number(0.7, "ours", "where nothing of it can be measured")
    # ---- what the depth does not know ----
    unsaid_near: tuple[float, float] = _number(
        (0.18, 0.035),
        "derived",
        "share by which the score falls or rises in one case of ten where something near the lens "
        "was not said: measured on scenes with exact depth (render/depth/README.md)",
    )
    unsaid_standing: tuple[float, float] = _number(
        (0.06, 0.06), "derived", "the same for what stands on the ground"
    )
    unsaid_view: tuple[float, float] = _number(
        (0.10, 0.10), "derived", "the same where height and pitch are a guess"
    )
    # ---- words --------------------------------------------------------------------------------
    level: float = _number(
        65.0,
        "ours",
        "score from which a draw says that it reads; drawn U(level - spread, level + spread), as "
        "no forced-choice data could be found",
        7.0,
    )
    reads_share: float = _number(
        0.75, "ours", 'share of draws for "reads", and against it for "won\'t"'
    )
    # ---- telltales and other things that are said, not scored -----------------------------------
    telltale_residual: float = _number(
        0.005, "ours", "blur off a model's that starts a telltale, fraction of picture height"
    )
    telltale_least_area: float = _number(0.0002, "ours", "smallest share of the picture")
    foreground_ratio: float = _number(0.25, "ours", "nearer than this share of z_f is too near")
    foreground_share: float = _number(0.01, "ours", "on more than this share of the picture")
    subject_band_heights: float = _number(1.5, "ours", "a subject may be so many bands tall")
    band_high: float = _number(0.25, "ours", "a band that is called broad")
    draws: int = _number(1500, "ours", "rules drawn that keep to the published orders")

    def __post_init__(self) -> None:
        assert abs(math.fsum(self.weights) - 1.0) < 1e-9, self.weights


RULES = Rules()
