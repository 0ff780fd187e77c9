"""A scene looked at once, and what any setting makes of it: the part that advice re-runs."""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from render.depth.depthmap import ALL_SAID, Unsaid
from render.errors import SettingError
from render.judge import score as scoring
from render.judge.cues import Colour, Picture, colour_of, picture_cues
from render.judge.measures import Measures, measure
from render.judge.samples import Samples, sample
from render.judge.score import Score
from render.judge.viewpoint import Stance, known_vantage, stance
from render.judge.weights import RULES
from render.optics.camera import Vantage
from render.optics.depth_of_field import circle_of_confusion_mm
from render.optics.lens import LensSetting
from render.optics.plane import focus_lens
from render.scene.scene import Scene
from render.words import metres

__all__ = ["Assessment", "Case", "Marks", "assess", "look"]


@dataclass(frozen=True, slots=True)
class Marks:
    """The five parts, each 0 to 1."""

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
        names = ("nearness", "agreement", "visibility", "viewpoint", "picture")
        costs = [
            -weight * math.log(max(mark, RULES.mark_floor))
            for weight, mark in zip(RULES.weights, self.as_tuple(), strict=True)
        ]
        return names[int(np.argmax(costs))]


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
    colour : Colour
    coc_mm : float or None
        Circle of confusion; the sensor's diagonal / 1500 where None.
    reference_pupil_mm : float
    visual_range_m : float or None
    small_things : int or None
    depth_error : float
    unsaid : Unsaid
        What may stand there without being in the depth.
    """

    samples: Samples
    vantage: Vantage | None
    vantage_found: bool
    colour: Colour
    coc_mm: float | None = None
    reference_pupil_mm: float = RULES.pupil_mm
    visual_range_m: float | None = None
    small_things: int | None = None
    depth_error: float = 0.0
    unsaid: Unsaid = ALL_SAID

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

    @property
    def unsaid_points(self) -> tuple[float, float]:
        """How far the score may fall and rise by what was not said, independent of each other."""
        parts = [
            points
            for missing, points in (
                (self.unsaid.near, RULES.unsaid_near),
                (self.unsaid.standing, RULES.unsaid_standing),
                (self.unsaid.view, RULES.unsaid_view),
            )
            if missing
        ]
        return math.hypot(*(low for low, _ in parts)), math.hypot(*(high for _, high in parts))

    def coc_for(self, setting: LensSetting) -> float:
        """Circle of confusion for the sensor behind this lens, mm."""
        if self.coc_mm is not None:
            return self.coc_mm
        sensor = self.samples.camera.sensor(setting.focal_mm)
        return circle_of_confusion_mm("diagonal/1500", sensor)


@dataclass(frozen=True, slots=True)
class Assessment:
    """What one setting makes of a case: measured, marked and scored."""

    measures: Measures
    stance: Stance
    picture: Picture
    marks: Marks
    apparent_m: float
    score: Score


def look(
    scene: Scene,
    *,
    coc_mm: float | None = None,
    reference_pupil_mm: float = RULES.pupil_mm,
    rendered: NDArray[np.float32] | None = None,
    visual_range_m: float | None = None,
    small_things: int | None = None,
    depth_error: float = 0.0,
    unsaid: Unsaid = ALL_SAID,
) -> Case:
    """Look at a scene's planned frame; the parameters are those of `render.judge.verdict.judge`."""
    samples = sample(scene)
    vantage, found = known_vantage(samples, scene.vantage)
    return Case(
        samples=samples,
        vantage=vantage,
        vantage_found=found,
        colour=colour_of(scene, samples, rendered),
        coc_mm=coc_mm,
        reference_pupil_mm=reference_pupil_mm,
        visual_range_m=visual_range_m,
        small_things=small_things,
        depth_error=depth_error,
        unsaid=unsaid,
    )


def assess(case: Case, setting: LensSetting) -> Assessment:
    """Measure, mark and score a setting."""
    measures = measure(case.samples, focus_lens(setting), case.coc_for(setting))
    band = measures.band
    stood = stance(
        case.samples,
        case.vantage,
        case.vantage_found,
        (band.centre_x, band.centre_y),
        measures.focus_inverse,
    )
    picture = picture_cues(case.samples, case.colour, band, case.visual_range_m, case.small_things)
    apparent = _apparent_m(measures)
    marks = Marks(
        nearness=scoring.nearness_mark(apparent),
        agreement=scoring.agreement_mark(measures.correlation),
        visibility=scoring.visibility_mark(
            measures.edge_blur, measures.coc_fraction, band.height_fraction
        ),
        viewpoint=scoring.viewpoint_mark(stood.depression_deg, stood.sky_share),
        picture=picture.mark,
    )
    total = scoring.score_of(
        marks.as_tuple(),
        apparent,
        _overrides(apparent, measures),
        case.depth_error,
        case.unsaid_points,
    )
    return Assessment(measures, stood, picture, marks, apparent, total)


def _apparent_m(measures: Measures) -> float:
    """D_p = z_f A_ref / A_eq.

    Where blur does not follow depth the fitted slope says nothing of the blur's strength, so the
    median of the single points' votes stands in for A_eq.
    """
    pupil = measures.pupil_m
    if measures.correlation < RULES.single_scale_from and not math.isnan(measures.vote_pupil_m):
        pupil = measures.vote_pupil_m
    if not (pupil > 0 and measures.focus_inverse > 0):
        return math.inf
    return RULES.pupil_mm / 1000.0 / (pupil * measures.focus_inverse)


def _overrides(apparent_m: float, measures: Measures) -> tuple[str, ...]:
    reasons = []
    if measures.edge_blur < measures.coc_fraction:
        reasons.append("everything is sharp, no blur shows above the circle of confusion")
    if apparent_m > RULES.far_m:
        reasons.append(
            f"the blur puts the scene {metres(apparent_m)} away, too far to look small"
            if math.isfinite(apparent_m)
            else "the blur does not bring the scene near"
        )
    return tuple(reasons)
