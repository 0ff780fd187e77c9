"""`Verdict`: will this setting read as a scale model, how surely, and what betrays it."""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from render.depth.depthmap import ALL_SAID
from render.judge.built_over import built_over_score
from render.judge.case import Assessment, Case, assess, look, near_points
from render.judge.cues import Picture
from render.judge.measures import Measures
from render.judge.scale import ReadsAs, reads_as
from render.judge.score import Gates, Marks, Score, Word
from render.judge.stops import StopLimits, stop_limits
from render.judge.telltales import Telltale, TelltaleMap, find_telltales
from render.judge.verdict_words import (
    COSTS_POINTS,
    apparent_words,
    crowds,
    headline,
    reasons,
    sure_words,
    top_line,
)
from render.judge.viewpoint import Stance, is_bare_ground, roof_in_view
from render.judge.weights import OURS, RULES
from render.optics.diffraction import airy_diameter_mm
from render.optics.lens import LensSetting
from render.optics.plane import focus_lens
from render.optics.solving.limits import LensLimits
from render.optics.viewing import VIEWINGS, Viewing
from render.scene.scene import Scene
from render.words import length_words, percent

__all__ = ["Verdict", "judge", "judge_case"]

_LEAST_POINTS = 0.5  # fewer are nothing
_NEARLY_ALL = 0.97  # of the agreement left by what stands near: it costs nothing to speak of


@dataclass(frozen=True, slots=True, eq=False, repr=False)
class Verdict:
    """The judgement of one lens setting on one scene.

    Attributes
    ----------
    setting : LensSetting
    score : Score
        0 to 100 with its range, the word, and how many draws agree.
    marks : Marks
        The five parts, 0 to 1.
    gates : Gates
        What can end the matter, 0 to 1.
    reasons : tuple of str
        What stands against it, worst first.
    apparent_m : float
        D_p: how far away the scene seems to stand; ``inf`` where blur says nothing.
    reads_as : ReadsAs or None
        The scale, or None where blur and depth do not agree on one.
    measures : Measures
        What was measured: correlation, spread, edge blur, band.
    stance : Stance
        Depression of the band, what rises above eye level, vantage as given or found.
    picture : Picture
        Colour, contrast and the like.
    stops : StopLimits
        Where stopping down ends it.
    telltales : tuple of Telltale
        Worst first.
    telltale_map : TelltaleMap
        For outlines.
    coc_mm : float
        Circle of confusion used, on the sensor.
    viewing : Viewing
        How large the picture is seen.
    just_seen : float
        Blur diameter that is just seen so, fraction of picture height.
    bare_ground : bool
        Whether the depth is level ground alone, so that what stands on it was not judged.
    built_over : float or None
        Score to which houses and trees that fill the frame can take it, where nobody said what
        stands on the ground; None where that is known.
    empty : bool
        Whether nothing stands in the frame, of a place of which all is known.
    crowded_share : float
        Share of the picture that shows what stands within reach, such as one's own roof.
    near_spoils : bool
        Whether what stands near the lens, one's own roof too, costs enough to be kept out of it.
    remarks : tuple of str
        What had to be assumed.
    """

    setting: LensSetting
    score: Score
    marks: Marks
    gates: Gates
    reasons: tuple[str, ...]
    apparent_m: float
    reads_as: ReadsAs | None
    measures: Measures
    stance: Stance
    picture: Picture
    stops: StopLimits
    telltales: tuple[Telltale, ...]
    telltale_map: TelltaleMap
    coc_mm: float
    viewing: Viewing
    just_seen: float
    bare_ground: bool
    built_over: float | None
    empty: bool
    crowded_share: float
    near_spoils: bool
    remarks: tuple[str, ...]

    def __repr__(self) -> str:
        """The verdict in one sentence."""
        return f"Verdict({self.sentence!r})"

    @property
    def word(self) -> Word:
        """The verdict in words."""
        return self.score.word

    @property
    def strength(self) -> str:
        """Strength of the effect: "strong", "fair", "faint" or "none"; no finer is known."""
        limits = ((RULES.near_m, "strong"), (RULES.fading_m, "fair"), (RULES.far_m, "faint"))
        for limit, word in limits:
            if self.apparent_m <= limit:
                return word
        return "none"

    @property
    def headline(self) -> str:
        """The word with its scale: "Reads as a model, about 1:240"."""
        return headline(self.word, self.reads_as, self.built_over is not None)

    @property
    def sure(self) -> str:
        """How sure that is, in words."""
        return sure_words(self.score, self.built_over is not None)

    @property
    def sentence(self) -> str:
        """Word, scale, main reason against it, and how sure, in one line."""
        return top_line(self.score, self.reads_as, self.reasons, self.built_over)

    @property
    def small_print(self) -> str:
        """What these numbers do not claim."""
        return OURS


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
    viewing: Viewing = VIEWINGS["screen"],
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
    viewing : Viewing
        How large the picture is seen.

    Raises
    ------
    InputError
        If the frame shows nothing but sky.
    SettingError
        If a number is out of range, or the setting cannot be focused.
    """
    case = look(
        scene,
        coc_mm=coc_mm,
        reference_pupil_mm=reference_pupil_mm,
        rendered=rendered,
        visual_range_m=visual_range_m,
        small_things=small_things,
        depth_error=depth_error,
        viewing=viewing,
    )
    return judge_case(case, setting)


def judge_case(case: Case, setting: LensSetting, limits: LensLimits | None = None) -> Verdict:
    """Judge a setting on a scene that was looked at before, and the other stops of its lens."""
    lens = focus_lens(setting)
    found = assess(case, setting)
    points = _near_cost(case, setting, found)
    telltales, telltale_map = find_telltales(
        case.samples, lens, found.measures, case.just_seen, case.vantage
    )
    stood = found.stance.vantage
    bare = stood is not None and is_bare_ground(case.samples, stood)
    empty = bare and case.unsaid == ALL_SAID
    return Verdict(
        setting=setting,
        score=found.score,
        marks=found.marks,
        gates=found.gates,
        reasons=reasons(case, setting, found, points),
        apparent_m=found.apparent_m,
        reads_as=_scale(found, case),
        measures=found.measures,
        stance=found.stance,
        picture=found.picture,
        stops=stop_limits(case, setting, found, limits),
        telltales=telltales,
        telltale_map=telltale_map,
        coc_mm=case.coc_for(setting),
        viewing=case.viewing,
        just_seen=case.just_seen,
        bare_ground=bare and not empty,
        built_over=built_over_score(case, setting, found),
        empty=empty,
        crowded_share=case.crowded_share,
        near_spoils=points > COSTS_POINTS or crowds(case, found),
        remarks=_remarks(case, found, setting, bare, points),
    )


def _scale(found: Assessment, case: Case) -> ReadsAs | None:
    """The scale, unless none is single; an error of the depth's scale widens its range."""
    measures = found.measures
    if not (measures.follows >= RULES.single_scale_from and measures.pupil_m > 0):
        return None
    if found.apparent_m < RULES.nearest_m:
        return None
    votes = 0.0 if math.isnan(measures.spread_ln) else measures.spread_ln
    spread = math.hypot(votes, case.depth_error)
    return reads_as(measures.pupil_m, spread, case.reference_pupil_mm)


def _remarks(
    case: Case, found: Assessment, setting: LensSetting, bare: bool, points: float
) -> tuple[str, ...]:
    remarks = []
    stood = found.stance
    if stood.found and stood.vantage:
        remarks.append(
            f"height {length_words(stood.vantage.height_m)} and pitch "
            f"{stood.vantage.pitch_deg:.1f}° "
            "were found from the depth of the ground"
        )
    if stood.vantage is None:
        remarks.append("height and pitch are unknown, so the steepness of the look is not judged")
    if bare and case.unsaid == ALL_SAID:
        remarks.append(
            "nothing stands in the frame, and on bare ground nothing is sure to read: go, or turn, "
            "to where things stand"
        )
    elif bare:
        remarks.append(
            "the depth is level ground alone, and on bare ground nothing is sure to read: say what "
            "stands in the sharp band, and it is judged too"
        )
    airy_mm = airy_diameter_mm(setting.f_number)
    if airy_mm > case.coc_for(setting):
        remarks.append(
            f"diffraction spreads every point over {1000 * airy_mm:.0f} µm at this stop, more than "
            "the circle of confusion: nothing is quite sharp"
        )
    if case.samples.blank:
        remarks.append("the picture shows no detail, so every part of it counts the same")
    if found.measures.follows < RULES.single_scale_from:
        remarks.append("no single scale: the blur does not follow the scene's depth")
    elif found.apparent_m < RULES.nearest_m:
        remarks.append(
            f"no scale is named: it would stand {apparent_words(found.apparent_m)} away, nearer "
            "than any eye focuses"
        )
    if stood.foreground_share > RULES.foreground_share:
        remarks.append(_near_words(found, points))
    roof, share = roof_in_view(case.samples.thinned(), stood.vantage)
    if roof is not None and case.underfoot is None:
        remarks.append(
            f"a roof or deck {length_words(roof.height_m)} below the lens fills "
            f"{percent(share)} of the "
            "frame, and only what stands on it or beyond it can read as a model: frame past its "
            "edge, or choose a place from which less of it shows"
        )
    return tuple(remarks)


def _near_cost(case: Case, setting: LensSetting, found: Assessment) -> float:
    """Points that what stands near the lens costs; ``inf`` where it outweighs the rest."""
    if not found.stance.foreground_share > RULES.foreground_share:
        return 0.0
    if math.isinf(found.apparent_m):
        return math.inf
    if found.measures.near_left > _NEARLY_ALL:  # it blurs as a model's foreground would
        return 0.0
    points = near_points(case, setting)
    return points if points >= _LEAST_POINTS else 0.0


def _near_words(found: Assessment, cost: float) -> str:
    """What stands near the lens, and what it does to the score."""
    share = percent(found.stance.foreground_share)
    focus = length_words(found.measures.focus_m)
    text = (
        f"{share} of the frame is nearer than a quarter of the {focus} that the blur as a whole "
        "reads as focused at"
    )
    if math.isinf(cost):
        return f"{text} and outweighs the rest, so that the blur brings nothing near"
    if found.measures.near_left > _NEARLY_ALL:
        return f"{text}; it blurs as a model's foreground would, so it costs nothing"
    text += " without the blur of a model's foreground"
    if cost == 0:
        return f"{text}; here that costs nothing"
    return f"{text}: that is counted above, and without it the score would be {cost:.0f} higher"
