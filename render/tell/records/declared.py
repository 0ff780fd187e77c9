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
from render.optics.lens import LensSetting
from render.optics.viewing import Viewing
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


Object = dict[str, Any]


class VantageRecord(TypedDict):
    """Where the camera stands over the ground, and how it is held."""

    height_m: float
    pitch_deg: float
    roll_deg: float


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
    ground_outside: str | None
    ground_hidden: bool | None


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
    map: Object | None


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
    correlation_seen_or_not: float
    near_unlike_share: float
    spread_ln: float
    orientation_error_deg: float


class VisibilityRecord(TypedDict):
    """Whether blur and band are seen."""

    mark: float
    edge_blur_fraction: float
    following_blur_fraction: float
    looks_sharp_share: float
    seen_sharp_share: float
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
    vantage: VantageRecord | None
    vantage_found_from_depth: bool
    foreground_share: float


class PartsRecord(TypedDict):
    """The five parts of a score."""

    nearness: NearnessRecord
    agreement: AgreementRecord
    visibility: VisibilityRecord
    viewpoint: ViewpointRecord
    picture: Annotated[Object, Fields(Picture)]


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
    setting: Annotated[Object, Fields(LensSetting)] | None
    vantage: VantageRecord | None
    options: str


class VerdictBase(TypedDict):
    """What every verdict says."""

    word: str
    sentence: str
    on_the_border: bool
    sure: str
    built_over_score: float | None
    reasons: list[str]
    score: ScoreRecord
    gates: Annotated[Object, Fields(Gates)]
    viewing: Annotated[Object, Fields(Viewing, {"words": str, "just_seen_fraction": float})]
    strength: str
    reads_as: Annotated[Object, Fields(ReadsAs)] | None
    parts: PartsRecord
    stops: Annotated[Object, Fields(StopLimits, {"sentence": str})]
    weights: list[float]
    telltales: list[Annotated[Object, Fields(Telltale, {"sentence": str})]]
    advice: list[AdviceRecord]
    practice: list[Annotated[Object, Fields(Note)]]
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


class TriedRecord(TypedDict):
    """A lens that was tried, and the best that it makes."""

    lens: str
    after: float | None
    word: Word | None
    frame_width_m: float | None
    refused: str


class BestRecord(TypedDict):
    """The best setting from here, of this lens or of those to choose from."""

    values: dict[str, str | None]
    before: float
    after: float
    word: str
    lenses: list[TriedRecord]


class JudgedRecord(VerdictBase):
    """What `judge` says: a planned photograph judged."""

    setting: SettingRecord
    headline: str
    to_do: str
    options: str
    depth: str
    notes: list[str]
    guessed: list[str]
    f_number_for_scale: float | None
    word_at_that_f_number: str | None
    near_question: NearRecord | None
    best: BestRecord | None
    sharpness: Annotated[Object, Fields(Sharpness, {"sentence": str, "to_do": str})] | None
    credit: str | None
    map: Object | None


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
