"""`Verdict`: will this setting read as a scale model, how surely, and what betrays it."""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from render.errors import SettingError
from render.judge import score as scoring
from render.judge.cues import Picture, picture_cues
from render.judge.measures import Measures, measure
from render.judge.samples import Samples, sample
from render.judge.scale import ReadsAs, reads_as
from render.judge.score import Score, Word
from render.judge.telltales import Telltale, TelltaleMap, find_telltales
from render.judge.viewpoint import Stance, stance
from render.judge.weights import OURS, RULES
from render.optics.camera import Vantage
from render.optics.lens import LensSetting
from render.optics.plane import focus_lens
from render.scene.scene import Scene
from render.words import metres

__all__ = ["Marks", "Verdict", "coc_for", "judge", "judge_samples"]


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
class Verdict:
    """The judgement of one lens setting on one scene.

    Attributes
    ----------
    setting : LensSetting
    score : Score
        0 to 100 with its range, the word, and how many draws agree.
    marks : Marks
        The five parts, 0 to 1.
    apparent_m : float
        D_p: how far away the scene seems to stand; ``inf`` where blur says nothing.
    reads_as : ReadsAs or None
        The scale, or None where blur and depth do not agree on one.
    measures : Measures
        What was measured: correlation, spread, edge blur, band.
    stance : Stance
        Depression of the band, sky, vantage as given or found.
    picture : Picture
        Colour, contrast and the like.
    telltales : tuple of Telltale
        Worst first.
    telltale_map : TelltaleMap
        For outlines.
    coc_mm : float
        Circle of confusion used, on the sensor.
    remarks : tuple of str
        What had to be assumed.
    """

    setting: LensSetting
    score: Score
    marks: Marks
    apparent_m: float
    reads_as: ReadsAs | None
    measures: Measures
    stance: Stance
    picture: Picture
    telltales: tuple[Telltale, ...]
    telltale_map: TelltaleMap
    coc_mm: float
    remarks: tuple[str, ...]

    @property
    def word(self) -> Word:
        """The verdict in words."""
        return self.score.word

    @property
    def on_the_border(self) -> bool:
        """True where fewer than 60 % of the weightings give the same word."""
        return self.score.agreement < RULES.border_below

    @property
    def strength(self) -> str:
        """Strength of the effect: "strong", "fair", "faint" or "none"; no finer is known."""
        for limit, word in ((RULES.near_m, "strong"), (1.0, "fair"), (RULES.far_m, "faint")):
            if self.apparent_m <= limit:
                return word
        return "none"

    @property
    def headline(self) -> str:
        """The verdict with its doubt: "Reads as a model (93; 82 to 95; 99 % of ...)"."""
        word = f"on the border: {self.word}" if self.on_the_border else str(self.word)
        s = self.score
        return (
            f"{word[0].upper()}{word[1:]} ({s.value:.0f} of 100; {s.low:.0f} to {s.high:.0f}; "
            f"{100 * s.agreement:.0f} % of weightings agree)"
        )

    @property
    def sentence(self) -> str:
        """Headline, apparent distance and scale in one line."""
        if self.score.overrides:
            return f"{self.headline}: {self.score.overrides[0]}."
        scale = self.reads_as.words if self.reads_as else "no single scale"
        return f"{self.headline}: seems to stand at {metres(self.apparent_m)}, {scale}."

    @property
    def small_print(self) -> str:
        """What these numbers do not claim."""
        return OURS


def coc_for(scene: Scene, setting: LensSetting) -> float:
    """Circle of confusion by common practice: diagonal of the sensor over 1500, mm."""
    return scene.frame_camera.sensor(setting.focal_mm).diagonal_mm / 1500.0


def judge(
    scene: Scene,
    setting: LensSetting,
    *,
    coc_mm: float | None = None,
    reference_pupil_mm: float = RULES.pupil_mm,
    rendered: NDArray[np.float32] | None = None,
    visual_range_m: float | None = None,
    small_things: int | None = None,
    depth_error: float = 0.0,
) -> Verdict:
    """Judge a setting from depth, camera and setting; nothing is rendered.

    Parameters
    ----------
    scene : Scene
        Its planned frame is judged; the vantage is found from the depth of the ground if unknown.
    setting : LensSetting
    coc_mm : float, optional
        Circle of confusion; the sensor's diagonal / 1500 by default.
    reference_pupil_mm : float
        Pupil through which the model is thought to be seen, for the scale only.
    rendered : ndarray, shape (h, w, 3), optional
        The photograph as it will be shown (linear light): its colour and contrast are measured
        in place of the sharp picture's.
    visual_range_m : float, optional
        Meteorological visual range; haze is not marked without it.
    small_things : int, optional
        Small known things in the sharp band, if somebody counted them.
    depth_error : float
        Relative error of the depth's scale, one sigma.

    Raises
    ------
    InputError
        If the frame shows nothing but sky.
    SettingError
        If a number is out of range, or the setting cannot be focused.
    """
    samples = sample(scene)
    coc = coc_for(scene, setting) if coc_mm is None else coc_mm
    _check(coc, reference_pupil_mm, visual_range_m, small_things, depth_error)
    lens = focus_lens(setting)
    measures = measure(samples, lens, coc)
    picture = picture_cues(
        scene,
        samples,
        measures.band,
        rendered=rendered,
        visual_range_m=visual_range_m,
        small_things=small_things,
    )
    telltales, telltale_map = find_telltales(samples, lens, measures)
    stood, marks, apparent, total = judge_samples(
        samples, measures, scene.vantage, picture.mark, depth_error
    )
    single = not measures.correlation < RULES.single_scale_from and measures.pupil_m > 0
    return Verdict(
        setting=setting,
        score=total,
        marks=marks,
        apparent_m=apparent,
        reads_as=reads_as(measures.pupil_m, measures.spread_ln, reference_pupil_mm)
        if single
        else None,
        measures=measures,
        stance=stood,
        picture=picture,
        telltales=telltales,
        telltale_map=telltale_map,
        coc_mm=coc,
        remarks=_remarks(samples, stood, measures),
    )


def judge_samples(
    samples: Samples,
    measures: Measures,
    vantage: Vantage | None,
    picture_mark: float,
    depth_error: float = 0.0,
) -> tuple[Stance, Marks, float, Score]:
    """Stance, marks, apparent distance and score of measures; the part that advice re-runs."""
    band = measures.band
    stood = stance(samples, vantage, (band.centre_x, band.centre_y), measures.focus_inverse)
    apparent = _apparent_m(measures)
    marks = Marks(
        nearness=scoring.nearness_mark(apparent),
        agreement=scoring.agreement_mark(measures.correlation),
        visibility=scoring.visibility_mark(
            measures.edge_blur, measures.coc_fraction, band.height_fraction
        ),
        viewpoint=scoring.viewpoint_mark(stood.depression_deg, stood.sky_share),
        picture=picture_mark,
    )
    overrides = _overrides(apparent, measures)
    return (
        stood,
        marks,
        apparent,
        scoring.score_of(marks.as_tuple(), apparent, overrides, depth_error),
    )


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


def _remarks(samples: Samples, stood: Stance, measures: Measures) -> tuple[str, ...]:
    remarks = []
    if stood.found and stood.vantage:
        remarks.append(
            f"height {metres(stood.vantage.height_m)} and pitch {stood.vantage.pitch_deg:.1f}° "
            "were found from the depth of the ground"
        )
    if stood.vantage is None:
        remarks.append("height and pitch are unknown, so the steepness of the look is not judged")
    if samples.blank:
        remarks.append("the picture shows no detail, so every part of it counts the same")
    if measures.correlation < RULES.single_scale_from:
        remarks.append("no single scale: the blur does not follow the scene's depth")
    if stood.foreground_share > RULES.foreground_share:
        remarks.append(
            f"{100 * stood.foreground_share:.0f} % of the picture is nearer than a quarter of the "
            "focus distance: a railing, wire or branch there breaks the spell"
        )
    return tuple(remarks)


def _check(
    coc_mm: float,
    reference_pupil_mm: float,
    visual_range_m: float | None,
    small_things: int | None,
    depth_error: float,
) -> None:
    for name, value in (("circle of confusion", coc_mm), ("reference pupil", reference_pupil_mm)):
        if not (math.isfinite(value) and value > 0):
            raise SettingError(f"the {name} must be a number of mm above 0, not {value!r}")
    if visual_range_m is not None and not visual_range_m > 0:
        raise SettingError(f"the visual range must be above 0 m, not {visual_range_m!r}")
    if small_things is not None and small_things < 0:
        raise SettingError(f"the number of small things must be 0 or more, not {small_things!r}")
    if not (math.isfinite(depth_error) and depth_error >= 0):
        raise SettingError(f"the depth's error must be 0 or more, not {depth_error!r}")
