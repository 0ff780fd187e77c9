"""Records of single commands; those that several share are in `declared.py`."""

from collections.abc import Mapping
from typing import Annotated, TypedDict

from render.plan.exposure import ExposurePlan, Histogram, Shutter
from render.plan.focusing import FocusCheck
from render.plan.motion import Smear, Step
from render.plan.shown import Shown
from render.plan.sitting import Sitting
from render.plan.stand import Stand
from render.plan.timelapse import LensTurn, TimeLapse, Video
from render.plan.tolerance import Slack, Tolerance
from render.sheets.loupe import LoupeSpot
from render.shot.declaring import Words
from render.tell.records.declared import (
    Fields,
    JudgedRecord,
    Object,
    SettingRecord,
    SummaryRecord,
    VerdictRecord,
)


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
    guessed: list[str]
    credit: str | None


class BoardRecord(TypedDict):
    """What `board` says."""

    setting: SettingRecord
    verdict: JudgedRecord
    sentences: list[str]
    captions: list[str]
    settings: list[str]
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
    spots: list[Annotated[Object, Fields(LoupeSpot)]]
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
    words: str


class ProposeRecord(TypedDict):
    """What `depth --propose` says; `values` are the best as options take them."""

    proposals: list[ProposalRecord]
    values: dict[str, str]
    notes: list[str]


class CardThing(TypedDict):
    """A named thing, as it lies from the camera."""

    name: str
    slope_x: float
    slope_y: float
    depth_m: float


_Shutter = Annotated[Object, Fields(Shutter, {"sentence": str})]


class ChangeRecord(TypedDict):
    """A stretch in which the light falls or, below 0, rises, and each turn of a third of a stop."""

    start: str
    end: str
    lost_stops: float
    turns: list[str]


class RampRecord(TypedDict):
    """How the exposure follows the light of a take: as it starts, and where it comes to."""

    filter_stops: float
    time_s: float
    iso: float
    to_time_s: float
    full_at: str | None
    to_iso: float


class TakeRecord(TypedDict):
    """How the sky's light changes over a time-lapse."""

    start: str
    end: str
    lost_stops: float
    changes: list[ChangeRecord]
    ramp: RampRecord | None
    sentences: list[str]


class CardPlan(TypedDict):
    """The plan for the day."""

    stand: Annotated[Object, Fields(Stand, {"words": str})]
    named: list[CardThing]
    light: list[str] | None
    exposure: Annotated[
        Object, Fields(ExposurePlan, {"metered": _Shutter, "choices": list[_Shutter]})
    ]
    histogram: Annotated[Object, Fields(Histogram)]
    bracket: list[Annotated[Object, Fields(Histogram, {"time_s": float})]]
    sitting: Annotated[Object, Fields(Sitting, {"sentence": str})] | None
    smears: list[Annotated[Object, Fields(Smear, {"mover": str})]]
    timelapse: Annotated[Object, Fields(TimeLapse)] | None
    take: TakeRecord | None
    sensor_mm: list[float] | None
    focused: str
    turns: list[Annotated[Object, Fields(LensTurn, {"sentence": str})]]
    between: str
    unreached: list[str]
    steps: list[Annotated[Object, Fields(Step)]]
    video: Annotated[Object, Fields(Video)] | None
    setting_up: list[str]
    checks: list[Annotated[Object, Fields(FocusCheck, {"sentence": str})]]
    tolerances: list[Annotated[Object, Fields(Tolerance, {"sentence": str})]]
    slack: Annotated[Object, Fields(Slack, {"sentence": str})]
    shown: list[Annotated[Object, Fields(Shown, {"sentence": str})]]
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
    f_number_for_hands: float
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
    ground_outside: str | None
    ground_hidden: bool | None
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
    lens_moves: str | None
    focus_moves: str | None
    setting_at_s: float
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
