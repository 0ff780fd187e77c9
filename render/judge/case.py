"""A scene looked at once, and what any setting makes of it: the part that advice re-runs."""

import math
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from render.depth.depthmap import ALL_SAID, Unsaid
from render.errors import SettingError
from render.judge.cues import Colour, Picture, colour_of, picture_cues
from render.judge.measures import Measures, measure
from render.judge.rule import Doubt, Evidence
from render.judge.samples import Samples, sample
from render.judge.score import Gates, Marks, Score, credited, score_of
from render.judge.viewpoint import (
    Stance,
    crowded,
    known_vantage,
    stance,
    stand_m,
    stands,
)
from render.judge.weights import RULES
from render.optics.band import GroundBand, ground_band
from render.optics.camera import Vantage
from render.optics.depth_of_field import USUAL_COC, circle_of_confusion_mm
from render.optics.lens import FocusDistance, FocusSpot, LensSetting
from render.optics.plane import focus_lens
from render.optics.viewing import VIEWINGS, Viewing
from render.scene.scene import Scene

__all__ = ["Assessment", "Case", "assess", "look", "near_points", "seen_band", "without_near"]

_SCREEN = VIEWINGS["screen"]


@dataclass(frozen=True, slots=True, eq=False)
class Case:
    """Everything about a scene that does not depend on the lens setting.

    Attributes
    ----------
    samples : Samples
    vantage : Vantage or None
        As given, or as found from the depth of the ground.
    vantage_found : bool
        True where it was found from the depth.
    underfoot : Vantage or None
        Over one's own roof, where that is most of the picture: the ground that is looked at.
    crowded_share : float
        Share of the picture that shows what stands within reach, such as one's own roof.
    colour : Colour
    coc_mm : float or None
        Circle of confusion; the sensor's diagonal / 1500 where None.
    reference_pupil_mm : float
    visual_range_m : float or None
    small_things : int or None
    depth_error : float
    viewing : Viewing
        How large the picture is seen.
    unsaid : Unsaid
        What may stand there without being in the depth.
    few : Samples
        The samples, thinned for sums.
    standing : ndarray, shape (len(few),), or None
        True for those of `few` that stand on the ground; None where nobody knows the vantage.
    stand_m : float
        How high the lens stands over the ground in view, metres; NaN where nobody knows.
    """

    samples: Samples
    vantage: Vantage | None
    vantage_found: bool
    colour: Colour
    underfoot: Vantage | None = None
    crowded_share: float = 0.0
    coc_mm: float | None = None
    reference_pupil_mm: float = RULES.pupil_mm
    visual_range_m: float | None = None
    small_things: int | None = None
    depth_error: float = 0.0
    unsaid: Unsaid = ALL_SAID
    viewing: Viewing = _SCREEN
    few: Samples = field(init=False)
    standing: NDArray[np.bool_] | None = field(init=False)
    stand_m: float = field(init=False)

    @property
    def just_seen(self) -> float:
        """Blur diameter that the picture's viewer just sees, fraction of picture height."""
        camera = self.samples.camera
        return self.viewing.just_seen(camera.width_px, camera.height_px)

    def __post_init__(self) -> None:
        for name, value in (
            ("circle of confusion", self.coc_mm),
            ("reference pupil", self.reference_pupil_mm),
        ):
            if value is not None and not (math.isfinite(value) and value > 0):
                raise SettingError(f"the {name} must be a number of mm above 0, not {value!r}")
        if self.visual_range_m is not None and not self.visual_range_m > 0:
            raise SettingError(f"the visual range must be above 0 m, not {self.visual_range_m!r}")
        if self.small_things is not None and self.small_things < 0:
            raise SettingError(f"small things must be 0 or more, not {self.small_things!r}")
        if not (math.isfinite(self.depth_error) and self.depth_error >= 0):
            raise SettingError(f"the depth's error must be 0 or more, not {self.depth_error!r}")
        over, few = self.over, self.samples.thinned()
        object.__setattr__(self, "few", few)
        object.__setattr__(self, "standing", stands(few, over) if over else None)
        object.__setattr__(self, "stand_m", stand_m(self.samples, over) if over else math.nan)

    @property
    def over(self) -> Vantage | None:
        """The vantage over the ground that is looked at."""
        return self.underfoot or self.vantage

    @property
    def unsaid_shares(self) -> tuple[float, float]:
        """How far the score may fall and rise by what was not said, as shares of it."""
        parts = [
            shares
            for missing, shares in (
                (self.unsaid.near, RULES.unsaid_near),
                (self.unsaid.standing, RULES.unsaid_standing),
                (self.unsaid.view, RULES.unsaid_view),
            )
            if missing
        ]
        return math.hypot(*(low for low, _ in parts)), math.hypot(*(high for _, high in parts))

    def at(self, scene: Scene) -> "Case":
        """Look at another scene with the same wishes and doubts."""
        return look(
            scene,
            coc_mm=self.coc_mm,
            reference_pupil_mm=self.reference_pupil_mm,
            visual_range_m=self.visual_range_m,
            small_things=self.small_things,
            depth_error=self.depth_error,
            unsaid=self.unsaid,
            viewing=self.viewing,
        )

    def reframed(self, samples: Samples, vantage: Vantage) -> "Case":
        """The same place as another pitch frames it."""
        own_roof, share = crowded(samples, vantage, vantage)
        return replace(
            self, samples=samples, vantage=vantage, underfoot=own_roof, crowded_share=share
        )

    def coc_for(self, setting: LensSetting) -> float:
        """Circle of confusion for the sensor behind this lens, mm."""
        if self.coc_mm is not None:
            return self.coc_mm
        sensor = self.samples.camera.sensor(setting.focal_mm)
        return circle_of_confusion_mm(USUAL_COC, sensor)


@dataclass(frozen=True, slots=True)
class Assessment:
    """What one setting makes of a case: measured, marked and scored.

    Attributes
    ----------
    across_cost : float
        Points that swing across the slope of the scene was not credited with.
    """

    measures: Measures
    stance: Stance
    picture: Picture
    evidence: Evidence
    marks: Marks
    gates: Gates
    apparent_m: float
    score: Score
    across_cost: float = 0.0


def look(
    scene: Scene,
    *,
    coc_mm: float | None = None,
    reference_pupil_mm: float = RULES.pupil_mm,
    rendered: NDArray[np.float32] | None = None,
    visual_range_m: float | None = None,
    small_things: int | None = None,
    depth_error: float = 0.0,
    viewing: Viewing = _SCREEN,
    unsaid: Unsaid = ALL_SAID,
) -> Case:
    """Look at a scene's planned frame; the parameters are those of `render.judge.verdict.judge`."""
    samples = sample(scene)
    vantage, found = known_vantage(samples, scene.vantage)
    own_roof, share = crowded(samples, scene.vantage, vantage)
    return Case(
        samples=samples,
        vantage=vantage,
        vantage_found=found,
        colour=colour_of(scene, samples, rendered),
        underfoot=own_roof,
        crowded_share=share,
        coc_mm=coc_mm,
        reference_pupil_mm=reference_pupil_mm,
        visual_range_m=visual_range_m,
        small_things=small_things,
        depth_error=depth_error,
        viewing=viewing,
        unsaid=unsaid,
    )


def assess(case: Case, setting: LensSetting) -> Assessment:
    """Measure, mark and score a setting.

    The direction of blur is crucial and its rate is not (Meese et al. 2023): swing that makes blur
    follow depth less well than the lens without it is not credited with what it adds.
    """
    found = _assess(case, setting)
    if setting.swing_deg == 0:
        return found
    try:
        straight = _assess(case, replace(setting, swing_deg=0.0))
    except SettingError:  # only swung can it be focused there
        return found
    gained = found.measures.correlation - straight.measures.correlation
    credit = min(1.0, max(0.0, gained / RULES.swing_credited))
    score = credited(found.score, straight.score, credit, found.evidence)
    lost = found.score.value - score.value
    return replace(found, score=score, across_cost=lost)


def without_near(case: Case, found: Assessment) -> Case | None:
    """The same without what stands near the lens, none of it weighed; None where that is all."""
    samples = case.samples
    near = samples.inverse > found.measures.focus_inverse / RULES.foreground_ratio
    detail = np.where(near, 0.0, samples.detail)
    if not np.any(detail[samples.seen] > 0):
        return None
    return replace(case, samples=replace(samples, detail=detail))


def near_points(case: Case, setting: LensSetting) -> float:
    """Points of score that what stands near the lens costs."""
    found = _assess(case, setting)
    if not found.stance.foreground_share > RULES.foreground_share:
        return 0.0
    rest = without_near(case, found)
    return 0.0 if rest is None else _assess(rest, setting).score.value - found.score.value


def _assess(case: Case, setting: LensSetting) -> Assessment:
    samples, lens = case.few, focus_lens(setting)
    measures = measure(samples, lens, case.coc_for(setting), case.just_seen)
    stood = stance(
        samples,
        case.over,
        case.vantage_found,
        case.standing,
        (measures.sharp_x, measures.sharp_y),
        _focused_inverse(measures, setting),
        measures.sharpness(samples, case.just_seen),
    )
    band = measures.band
    from_top = band.from_top if band.inside else samples.from_top(measures.sharp_y)
    picture = picture_cues(samples, case.colour, from_top, case.visual_range_m, case.small_things)
    apparent = _apparent_m(measures)
    # a slope through points that scatter is no strength: C vouches for a share of it
    vouched = min(1.0, max(measures.correlation, 1e-6) / RULES.vouched_from)
    evidence = Evidence(
        apparent_m=apparent / vouched,
        correlation=measures.correlation,
        seen=vouched * measures.following_blur / case.just_seen,
        sharp_share=measures.looks_sharp,
        scale=vouched * 1000.0 * measures.pupil_m / RULES.pupil_mm,
        depression_deg=stood.depression_deg,
        above_share=_counted_above(stood, case.stand_m),
        height_m=case.stand_m,
        standing_share=stood.standing_share,
        picture=picture.mark,
        sharp_m=measures.sharp_m,
    )
    doubt = Doubt(case.depth_error, *case.unsaid_shares, case.unsaid.standing)
    score, marks, gates = score_of(evidence, doubt)
    return Assessment(measures, stood, picture, evidence, marks, gates, apparent, score)


def _counted_above(stood: Stance, stand_m: float) -> float:
    """What counts as risen above eye level: of the sky the less, the higher one stands."""
    if not stand_m > RULES.high_stand_m:
        return stood.above_share
    climbed = math.log(stand_m / RULES.high_stand_m)
    high = min(1.0, climbed / math.log(RULES.forgiven_m / RULES.high_stand_m))
    return stood.above_share - (1.0 - RULES.high_sky) * high * stood.sky_share


def _focused_inverse(measures: Measures, setting: LensSetting) -> float:
    """1/m of what is focused on: one near thing can bend the fitted lens past infinity."""
    if measures.focus_inverse > 0 or not isinstance(setting.focus, FocusSpot | FocusDistance):
        return measures.focus_inverse
    return 1.0 / setting.focus.depth_m


def _apparent_m(measures: Measures) -> float:
    """D_p = z_f A_ref / A_eq; ``inf`` where the fitted lens is focused beyond infinity."""
    if not (measures.pupil_m > 0 and measures.focus_inverse > 0):
        return math.inf
    return RULES.pupil_mm / 1000.0 / (measures.pupil_m * measures.focus_inverse)


def seen_band(case: Case, setting: LensSetting, coc_mm: float) -> GroundBand | None:
    """The sharp band of the ground down the middle, as far as something seen there shows it."""
    samples, vantage = case.samples, case.vantage
    if vantage is None:
        return None
    camera, seen = samples.camera, None
    if not samples.scattered:
        seen = samples.inverse.reshape(samples.shape)[:, samples.shape[1] // 2]
    return ground_band(focus_lens(setting), camera, vantage, coc_mm, camera.width_px / 2, seen)
