"""Every record that --json prints, declared once: who makes one is checked against it.

A number that is endless or unknown is null, in every place where a float is declared. What is
printed begins with its format, and names the files that were written, if any.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Annotated, Any, TypedDict

from render.judge.cues import Picture
from render.judge.notes import Note
from render.judge.scale import ReadsAs
from render.judge.score import Gates, Word
from render.judge.sharpness import Sharpness
from render.judge.stops import StopLimits
from render.judge.telltales import Telltale
from render.optics.camera import Vantage
from render.optics.lens import LensSetting
from render.optics.viewing import Viewing
from render.plan.exposure import ExposurePlan, Histogram, Shutter
from render.plan.focusing import FocusCheck
from render.plan.motion import Smear, Step
from render.plan.shown import Shown
from render.plan.stand import Stand
from render.plan.timelapse import TimeLapse, Video
from render.plan.tolerance import Slack, Tolerance
from render.sheets.loupe import LoupeSpot
from render.shot.declaring import Words


@dataclass(frozen=True, slots=True, eq=False)
class Fields:
    """Marks an object that holds the fields of a dataclass, as `dataclasses.asdict` gives them.

    Attributes
    ----------
    of : type
    more : mapping of name to type
        What it holds besides, or in place of a field.
    """

    of: type
    more: Mapping[str, Any] = field(default_factory=dict)


_Object = dict[str, Any]


class NamedThing(TypedDict):
    """A thing that the shot names."""

    name: str
    depth_m: float


class SettingRecord(TypedDict):
    """The planned setting, and what hands find on the lens."""

    focal_mm: float
    f_number: float
    tilt_deg: float
    swing_deg: float
    rise_mm: float
    lateral_mm: float
    extension_mm: float
    coc_mm: float
    hinge_distance_m: float
    plane_angle_deg: float
    lens: str | None
    focus_ring_m: float | None
    focus_ring_words: str | None
    named: list[NamedThing]
    words: str
    from_defaults: Mapping[str, Words]


class BandRecord(TypedDict):
    """The sharp band down one column of the planned frame."""

    column_px: float
    runs: list[dict[str, float]]
    ground_near_m: float | None
    ground_sharpest_m: float | None
    ground_far_m: float | None


class AcrossRecord(TypedDict):
    """The sharp band across one row of the planned frame."""

    row_px: float
    runs: list[dict[str, float]]


class BlurRecord(TypedDict):
    """Blur in one row of the planned frame."""

    diameter_px: float
    percent_of_height: float


class SummaryRecord(TypedDict):
    """A planned photograph in numbers."""

    setting: SettingRecord
    frame_px: list[int]
    sensor_mm: list[float]
    depth: str
    coc_mm: float
    coc_px: float
    band: dict[str, BandRecord]
    band_across: dict[str, AcrossRecord]
    blur: dict[str, BlurRecord]
    sharp_percent: float
    hinge_distance_m: float
    hinge_m: tuple[float, float, float]
    plane_angle_deg: float
    scheimpflug_distance_mm: float
    notes: list[str]
    guessed: list[str]
    credit: str | None
    map: _Object | None


class RenderRecord(SummaryRecord):
    """What `render` says of one photograph."""

    remarks: list[str]


class RefusedRecord(TypedDict):
    """One of many that could not be done, and why."""

    picture: str
    sentence: str


class RenderedRecord(RenderRecord):
    """One of many photographs."""

    picture: str
    files: list[str]


class RenderManyRecord(TypedDict):
    """What `render` says of many."""

    pictures: list[RenderedRecord]
    there_already: list[str]
    refused: list[RefusedRecord]
    remarks: list[str]


class SharesRecord(TypedDict):
    """Shares of the ways of weighing it."""

    reads: float
    does_not: float


class ScoreRecord(TypedDict):
    """The score, 0 to 100, and how firm it is."""

    value: float
    low: float
    high: float
    agreement: float
    shares: SharesRecord


class NearnessRecord(TypedDict):
    """How near the scene seems to stand."""

    mark: float
    seems_to_stand_at_m: float
    equivalent_pupil_m: float
    equivalent_focus_m: float


class AgreementRecord(TypedDict):
    """Whether blur follows depth."""

    mark: float
    correlation: float
    spread_ln: float
    orientation_error_deg: float


class VisibilityRecord(TypedDict):
    """Whether blur and band are seen."""

    mark: float
    edge_blur_fraction: float
    following_blur_fraction: float
    looks_sharp_share: float
    band_height_fraction: float
    band_from_top_fraction: float
    sharp_share: float
    coc_mm: float


class ViewpointRecord(TypedDict):
    """From where one looks."""

    mark: float
    depression_deg: float
    sky_share: float
    above_eye_level_share: float
    standing_in_band_share: float
    vantage: Annotated[_Object, Fields(Vantage)] | None
    vantage_found_from_depth: bool
    foreground_share: float


class PartsRecord(TypedDict):
    """The five parts of a score."""

    nearness: NearnessRecord
    agreement: AgreementRecord
    visibility: VisibilityRecord
    viewpoint: ViewpointRecord
    picture: Annotated[_Object, Fields(Picture)]


class AdviceRecord(TypedDict):
    """One thing that would help, judged anew."""

    line: str
    text: str
    part: str
    before: float
    after: float | None
    word: Word | None
    tested: str
    cost: str
    setting: Annotated[_Object, Fields(LensSetting)] | None
    vantage: Annotated[_Object, Fields(Vantage)] | None


class VerdictBase(TypedDict):
    """What every verdict says."""

    word: str
    sentence: str
    on_the_border: bool
    sure: str
    reasons: list[str]
    score: ScoreRecord
    gates: Annotated[_Object, Fields(Gates)]
    viewing: Annotated[_Object, Fields(Viewing, {"words": str, "just_seen_fraction": float})]
    strength: str
    reads_as: Annotated[_Object, Fields(ReadsAs)] | None
    parts: PartsRecord
    stops: Annotated[_Object, Fields(StopLimits, {"sentence": str})]
    weights: list[float]
    telltales: list[Annotated[_Object, Fields(Telltale, {"sentence": str})]]
    advice: list[AdviceRecord]
    notes: list[Annotated[_Object, Fields(Note)]]
    remarks: list[str]
    small_print: str


class JudgedSetting(TypedDict):
    """The setting that a verdict is of."""

    focal_mm: float
    f_number: float
    tilt_deg: float
    swing_deg: float
    words: str


class VerdictRecord(VerdictBase):
    """A verdict among others."""

    setting: JudgedSetting


class NearRecord(TypedDict):
    """The question about near things, until it is answered."""

    words: str
    limit_m: float | None
    place: str
    box: list[float]


class BestRecord(TypedDict):
    """The best setting of this lens from here."""

    values: dict[str, str | None]
    before: float
    after: float
    word: str


class JudgedRecord(VerdictBase):
    """What `judge` says: a planned photograph judged."""

    setting: SettingRecord
    headline: str
    to_do: str
    depth: str
    assumed: list[str]
    guessed: list[str]
    f_number_for_scale: float | None
    word_at_that_f_number: str | None
    near_question: NearRecord | None
    best: BestRecord | None
    sharpness: Annotated[_Object, Fields(Sharpness, {"sentence": str, "to_do": str})] | None
    credit: str | None
    map: _Object | None


class RankedRecord(JudgedRecord):
    """One of many verdicts; the best has rank 1."""

    rank: int
    picture: str
    files: list[str]


class JudgeManyRecord(TypedDict):
    """What `judge` says of many, best first."""

    pictures: list[RankedRecord]
    refused: list[RefusedRecord]
    remarks: list[str]


class CellRecord(VerdictRecord):
    """One picture of a comparison."""

    words: str
    suggested: bool


class CompareRecord(TypedDict):
    """What `compare` says."""

    setting: SettingRecord
    axes: dict[str, list[str]]
    cells: list[CellRecord]
    notes: list[str]
    credit: str | None


class BoardRecord(TypedDict):
    """What `board` says."""

    setting: SettingRecord
    sentences: list[str]
    captions: list[str]
    picture_px: list[int]
    dpi: float
    notes: list[str]
    credit: str | None


class SectionRecord(TypedDict):
    """What `section` says."""

    setting: SettingRecord
    notes: list[str]
    credit: str | None


class LoupeRecord(TypedDict):
    """What `loupe` says."""

    setting: SettingRecord
    spots: list[Annotated[_Object, Fields(LoupeSpot)]]
    notes: list[str]
    credit: str | None


class MarkRecord(TypedDict):
    """A mark, and what the depth says there."""

    x_px: float
    y_px: float
    depth_m: float
    map_m: float
    others_m: float | None


class DepthRecord(TypedDict):
    """What `depth` says of what it wrote."""

    how: str
    range: str
    uncertainty: float
    sky_share: float
    marks: list[MarkRecord]
    notes: list[str]


class ProposalRecord(TypedDict):
    """A pitch and roll that the picture's own lines suggest."""

    source: str
    pitch_deg: float
    pitch_doubt_deg: float
    roll_deg: float
    roll_doubt_deg: float
    lines: int


class ProposeRecord(TypedDict):
    """What `depth --propose` says."""

    proposals: list[ProposalRecord]
    notes: list[str]


class CardThing(TypedDict):
    """A named thing, as it lies from the camera."""

    name: str
    slope_x: float
    slope_y: float
    depth_m: float


_Shutter = Annotated[_Object, Fields(Shutter, {"sentence": str})]


class CardPlan(TypedDict):
    """The plan for the day."""

    stand: Annotated[_Object, Fields(Stand, {"words": str})]
    named: list[CardThing]
    light: list[str] | None
    exposure: Annotated[
        _Object, Fields(ExposurePlan, {"metered": _Shutter, "choices": list[_Shutter]})
    ]
    histogram: Annotated[_Object, Fields(Histogram)]
    bracket: list[Annotated[_Object, Fields(Histogram, {"time_s": float})]]
    smears: list[Annotated[_Object, Fields(Smear, {"mover": str})]]
    timelapse: Annotated[_Object, Fields(TimeLapse)] | None
    steps: list[Annotated[_Object, Fields(Step)]]
    video: Annotated[_Object, Fields(Video)] | None
    setting_up: list[str]
    checks: list[Annotated[_Object, Fields(FocusCheck, {"sentence": str})]]
    tolerances: list[Annotated[_Object, Fields(Tolerance, {"sentence": str})]]
    slack: Annotated[_Object, Fields(Slack, {"sentence": str})]
    shown: list[Annotated[_Object, Fields(Shown, {"sentence": str})]]
    vary: list[str]
    bring: list[str]
    caveats: list[str]
    cautions: list[str]


class CardRecord(CardPlan):
    """What `card` says."""

    setting: SettingRecord
    verdict: JudgedRecord


class SolveLens(TypedDict):
    """The lens that was solved for."""

    name: str
    focal_mm: float
    widest_f_number: float
    smallest_f_number: float
    tilt_limit_deg: float


class ExactRecord(TypedDict):
    """The plane through the points, before it is rounded to marks that hands can dial."""

    tilt_deg: float
    swing_deg: float
    extension_mm: float
    through_every_point: bool
    f_number_needed: float


class PointRecord(TypedDict):
    """A thing that should be sharp, and how sharp it is."""

    name: str
    depth_m: float
    blur_mm: float
    blur_px: float | None
    blur_percent: float | None
    side: str


class OptionRecord(TypedDict):
    """A lens position, and what it costs."""

    tilt_deg: float
    swing_deg: float
    total_tilt_deg: float
    extension_mm: float
    focus_ring_m: float
    focus_ring_turn_deg: float | None
    past_infinity_mm: float
    too_near_mm: float
    exact: ExactRecord
    shortfall: str
    f_number_needed: float
    f_number: float
    enough: bool
    worst_blur_mm: float
    view_moves_down_mm: float
    view_moves_right_mm: float
    diffraction_mm: float
    hinge_distance_m: float
    plane_angle_deg: float
    points: list[PointRecord]


class LeaningRecord(TypedDict):
    """A lens position that keeps one thing sharp and the rest soft."""

    way: str
    tilt_deg: float
    swing_deg: float
    extension_mm: float
    focus_ring_m: float
    f_number: float
    sharp_percent: float
    sharp_blur_mm: float
    soft_percent: float
    soft_blur_mm: float
    soft_blur_px: float | None
    marks: float


class BandChoiceRecord(TypedDict):
    """The sharp band laid on one thing."""

    on: str
    tilt_deg: float
    swing_deg: float
    f_number: float
    top_px: float | None
    bottom_px: float | None
    ground_near_m: float | None
    ground_far_m: float | None
    sharp_percent: float
    blur_px: dict[str, float]
    blur_percent: dict[str, float]


class SolveRecord(TypedDict):
    """What `solve` says."""

    lens: SolveLens
    circle_of_confusion_mm: float
    tilted: OptionRecord | None
    straight: OptionRecord | None
    tilt_pays: bool | None
    gain_stops: float | None
    refusal: str
    only_this_sharp: list[LeaningRecord]
    bands: list[BandChoiceRecord]
    shot: Mapping[str, Words]
    notes: list[str]


class FilmFacts(TypedDict):
    """The film that was written."""

    frames: int
    seconds: float
    frames_per_s: list[int]
    width_px: int
    height_px: int
    written_as: str
    remarks: list[str]


class FilmRecord(SummaryRecord):
    """What `film` says."""

    film: FilmFacts


class GalleryRecord(TypedDict):
    """What `scenes gallery` says."""

    scenes: dict[str, VerdictRecord]


class SceneLineRecord(TypedDict):
    """A demo scene in one line."""

    name: str
    line: str


class ScenesRecord(TypedDict):
    """What `scenes` says: every demo scene."""

    scenes: list[SceneLineRecord]


class LinesRecord(TypedDict):
    """What `scenes show` and `scenes words` say, line by line."""

    lines: list[str]


class DefaultsRecord(TypedDict):
    """What `defaults` says."""

    file: str | None
    defaults: Mapping[str, Words]


class PageRecord(TypedDict):
    """What `page` says when it is open."""

    address: str
