"""The field card: everything to take along, as numbers and sentences."""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from render.errors import SettingError
from render.judge.case import Case
from render.judge.verdict import Verdict
from render.optics.camera import Camera, Sensor
from render.optics.lens import LensSetting
from render.optics.plane import focus_lens
from render.optics.solving.holding import ring_of, ring_words
from render.optics.solving.limits import LensLimits, RingReading, usual_limits
from render.optics.solving.movements import total_and_azimuth
from render.optics.solving.targets import Target
from render.plan.cautions import Place, cautions, place_for
from render.plan.exposure import (
    METER_CAVEAT,
    Brightness,
    ExposurePlan,
    Histogram,
    Shutter,
)
from render.plan.focusing import (
    FADING,
    FocusCheck,
    focus_checks,
    nothing_sharp,
    spot_in_focus,
)
from render.plan.kit import bring, upright, vary
from render.plan.light import LightPlan
from render.plan.motion import Smear, Step, smears, steps
from render.plan.ramp import Ramp
from render.plan.setting_up import setting_up, what_voids
from render.plan.shown import Shown, shown_at
from render.plan.shutters import exposed, histograms
from render.plan.sitting import NOBODY, Sitters, Sitting, sitting
from render.plan.stand import Stand
from render.plan.take import Take, light_of_take
from render.plan.timelapse import (
    LOOKS,
    MODEL_LOOK,
    LensTurn,
    TimeLapse,
    Video,
    lens_turns,
    look_interval_s,
    paced_interval_s,
    plan_timelapse,
    plan_video,
    schedule,
)
from render.plan.tolerance import START_VALUES, Slack, Tolerance, slack, tolerances
from render.shot.keyframes import KeyFrame, unreached_words
from render.shot.wishes import DayWishes

__all__ = ["FieldCard", "plan_card"]

_USUAL_CLIP_S = 10.0
_PIVOT_UNKNOWN = (
    "ring and tolerance are for a lens that tilts about its own centre: one whose mount pivots "
    "elsewhere reads otherwise, and a lens file says where"
)
_NO_WISHES = DayWishes()
_NOWHERE = Stand(None, None, None, "")


@dataclass(frozen=True, slots=True, eq=False)
class FieldCard:
    """The plan for the day.

    Attributes
    ----------
    verdict : Verdict
    camera : Camera
        Of the planned frame.
    sensor : Sensor or None
        That the frame is taken on, where it is known.
    limits : LensLimits
    lens_named : bool
        Whether the shot names its lens; else its limits and scales are assumed.
    stand : Stand
        Where the tripod stands and where the camera looks.
    named : tuple of Target
        What must be sharp, by name.
    focused : str
        What is focused on where nothing is named, with its article: "the fountain"; or empty.
    first : tuple of str
        What keeps the plan from being one, to be said before all else: nothing in the frame is
        sharp, or it does not show what should be.
    blind : bool
        Whether nothing in the frame is sharp.
    sunlight : LightPlan or None
        The light of the day, where place and day are known.
    ring : RingReading
        Where the focus ring stands.
    exposure : ExposurePlan
    histogram : Histogram
        At the metered exposure of the plan.
    bracket : tuple of Histogram
        One for each shutter time of `exposure.bracket_s`.
    sitting : Sitting or None
        Where the shutter is slow for the people in front of the lens.
    smears : tuple of Smear
        At the shutter times of the plan, in pixels of a camera of so many megapixels; empty where
        nothing is planned that moves, and so are the next five.
    timelapse : TimeLapse or None
    take : Take or None
        How the light changes over the time-lapse, where the day is known.
    ramp : Ramp or None
        How the exposure of the time-lapse follows it, where it changes.
    turns : tuple of LensTurn
        Where the lens has to be when, as the film's key frames say, and where its ring is then.
    between : str
        What becomes of the focus between them, where the lens moves.
    unreached : tuple of str
        Key frames that the clip ends before.
    steps : tuple of Step
    video : Video or None
    setting_up : tuple of str
        In order.
    checks : tuple of FocusCheck
    tolerances : tuple of Tolerance
    slack : Slack
        How far lean and focus may be off for what is named, or for the spot in focus.
    shown : tuple of Shown
        Which stops survive at the sizes it may be shown.
    vary : tuple of str
        What to vary on site.
    bring : tuple of str
    caveats : tuple of str
    cautions : tuple of str
    """

    verdict: Verdict
    camera: Camera
    sensor: Sensor | None
    limits: LensLimits
    lens_named: bool
    stand: Stand
    named: tuple[Target, ...]
    focused: str
    first: tuple[str, ...]
    blind: bool
    sunlight: LightPlan | None
    ring: RingReading
    exposure: ExposurePlan
    histogram: Histogram
    bracket: tuple[Histogram, ...]
    sitting: Sitting | None
    smears: tuple[Smear, ...]
    timelapse: TimeLapse | None
    take: Take | None
    ramp: Ramp | None
    turns: tuple[LensTurn, ...]
    between: str
    unreached: tuple[str, ...]
    steps: tuple[Step, ...]
    video: Video | None
    setting_up: tuple[str, ...]
    checks: tuple[FocusCheck, ...]
    tolerances: tuple[Tolerance, ...]
    slack: Slack
    shown: tuple[Shown, ...]
    vary: tuple[str, ...]
    bring: tuple[str, ...]
    caveats: tuple[str, ...]
    cautions: tuple[str, ...]

    @property
    def light_of_take(self) -> tuple[str, ...]:
        """How the light changes over the time-lapse, and how the exposure follows it."""
        told = self.take.sentences if self.take is not None else ()
        return (*told, *(self.ramp.sentences if self.ramp is not None else ()))

    @property
    def size_words(self) -> str:
        """The frame that the numbers hold for: "36 x 24 mm"; empty where nobody knows it."""
        return f"{self.sensor.width_mm:g} x {self.sensor.height_mm:g} mm" if self.sensor else ""

    @property
    def ring_on_the_way(self) -> str:
        """Where the ring stands from key frame to key frame of a film, if it is turned."""
        told = [ring_words(turn.ring) for turn in self.turns if turn.ring is not None]
        return ", then ".join(told) if len(set(told)) > 1 else ""

    @property
    def pivot_words(self) -> str:
        """That ring and tolerance hang on where the mount pivots, where nobody said that."""
        setting = self.verdict.setting
        leans = setting.tilt_deg or setting.swing_deg or any("tilt" in t.words for t in self.turns)
        return "" if self.lens_named or not leans else _PIVOT_UNKNOWN

    @property
    def moving_shutter(self) -> Shutter | None:
        """The shutter for the frames of a time-lapse or a video, smooth; None without one."""
        return self.exposure.choices[0] if self.timelapse is not None else None


def plan_card(
    case: Case,
    verdict: Verdict,
    light: NDArray[np.float32],
    brightness: Brightness,
    wishes: DayWishes = _NO_WISHES,
    limits: LensLimits | None = None,
    *,
    named: Sequence[Target] = (),
    people: Sitters = NOBODY,
    stand: Stand = _NOWHERE,
    sunlight: LightPlan | None = None,
    sun_seen: bool = False,
    light_at: Callable[[float], Brightness] | None = None,
    sensor: Sensor | None = None,
    focused: str = "",
    key_frames: Sequence[KeyFrame] = (),
    lens_at: Callable[[float], LensSetting] | None = None,
    between: str = "",
    film_s: float | None = None,
    as_model: bool = True,
    rest_soft: bool = True,
    unseen: Sequence[str] = (),
) -> FieldCard:
    """Plan the day for a verdict.

    Parameters
    ----------
    light : ndarray, shape (h, w, 3)
        Linear light of the planned frame, sharp or rendered, for the histogram.
    brightness : Brightness
        Of the day.
    limits : LensLimits or None
        Of the lens; a usual one is assumed where None.
    named : sequence of Target
        What must be sharp, by name.
    people : Sitters
    sunlight : LightPlan or None
        The light of the day, where place and day are known.
    sun_seen : bool
        Whether the sun stands in the frame of the scene, whatever was wished.
    light_at : callable or None
        How bright it is at another height of the sun, degrees; None where it stays as it is.
    sensor : Sensor or None
        Of the planned camera.
    focused : str
        What is focused on, with its article, where that has a name and `named` is empty.
    key_frames : sequence of KeyFrame
        How the lens moves in the film that is planned.
    lens_at : callable or None
        The lens setting at a time of that film.
    between : str
        What becomes of the focus between key frames.
    film_s : float or None
        How long that film lasts, where it is said.
    as_model : bool
        Whether a model is asked for, and not only sharp things.
    rest_soft : bool
        Whether the rest of the picture is to be soft, or is.
    unseen : sequence of str
        Names of what should be sharp and the frame does not show.

    Raises
    ------
    SettingError
        If a wish cannot be: a negative interval, an unknown look.
    """
    setting, camera = verdict.setting, case.samples.camera
    lens_named, limits = limits is not None, limits or _assumed(setting)
    place = place_for(wishes.place, _height_m(case), _subject_m(case, verdict, named))
    raised = place is not Place.GROUND
    timelapse = _timelapse(verdict, wishes, raised, key_frames, film_s)
    on_site_s = timelapse.interval.on_site_s if timelapse else 0.0
    take = None
    if timelapse is not None and sunlight is not None:
        take = light_of_take(sunlight, on_site_s, light_at or (lambda _: brightness))
    exposure, ramp = exposed(setting, brightness, wishes.iso, timelapse, take)
    histogram, bracket = histograms(light, exposure)
    blurred, stepped = _moving(case, verdict, exposure, timelapse, ramp, wishes.megapixels)
    blind = nothing_sharp(case, verdict)
    checks = focus_checks(case, verdict, named, focused=focused, blind=blind, rest_soft=rest_soft)
    slacks = slack(case, setting, tuple(named) or (_spot(case, verdict),), limits)
    named_blur = [check.blur_fraction for check in checks[: len(named)]]
    return FieldCard(
        verdict=verdict,
        camera=camera,
        sensor=sensor,
        limits=limits,
        lens_named=lens_named,
        stand=stand,
        named=tuple(named),
        focused=focused if not named else "",
        first=what_voids(blind, checks, named, unseen),
        blind=blind,
        sunlight=sunlight,
        ring=ring_of(limits, setting),
        exposure=exposure,
        histogram=histogram,
        bracket=bracket,
        sitting=None if timelapse else sitting(case, setting, people, exposure),
        smears=blurred,
        timelapse=timelapse,
        take=take,
        ramp=ramp,
        turns=lens_turns(key_frames, timelapse, lens_at, limits) if timelapse else (),
        between=between,
        unreached=_unreached(key_frames, timelapse),
        steps=stepped,
        video=None if timelapse is None else plan_video(timelapse),
        setting_up=setting_up(
            case,
            verdict,
            limits,
            named,
            focused=focused,
            blind=blind,
            edges=any(check.must == FADING for check in checks),
            raised=raised,
            unseen=unseen,
        ),
        checks=checks,
        tolerances=() if blind else tolerances(case, setting, limits, named),
        slack=slacks,
        shown=shown_at(case, verdict, limits, named_blur, as_model=as_model),
        vary=(
            *vary(verdict, limits, slacks, exposure, by_name=bool(named), blind=blind),
            *upright(case, setting),
        ),
        bring=bring(exposure, timelapse, raised=raised),
        caveats=(START_VALUES, METER_CAVEAT),
        cautions=cautions(
            place,
            sun_in_frame=wishes.sun_in_frame or sun_seen or bool(sunlight and sunlight.in_frame),
            on_site_s=on_site_s,
            sun_heights_deg=sunlight.heights_until_deg(on_site_s) if sunlight else (),
        ),
    )


def _unreached(key_frames: Sequence[KeyFrame], timelapse: TimeLapse | None) -> tuple[str, ...]:
    if timelapse is None:
        return ()
    return tuple(unreached_words((key.at_s for key in key_frames), timelapse.clip_s))


def _moving(
    case: Case,
    verdict: Verdict,
    exposure: ExposurePlan,
    timelapse: TimeLapse | None,
    ramp: Ramp | None,
    megapixels: float,
) -> tuple[tuple[Smear, ...], tuple[Step, ...]]:
    """What cars and walkers smear at each shutter, and how far they step from frame to frame."""
    if timelapse is None:
        return (), ()
    camera, depth_m = case.samples.camera, _band_depth(case, verdict)
    times_wider = math.sqrt(1e6 * megapixels / (camera.width_px * camera.height_px))
    camera_px, width_px = camera.focal_px * times_wider, camera.width_px * times_wider
    planned = [shutter.time_s for shutter in (exposure.metered, *exposure.choices)]
    times = dict.fromkeys((*planned, *([ramp.to_s] if ramp else [])))
    return (
        tuple(one for time_s in times for one in smears(time_s, depth_m, camera_px, width_px)),
        steps(timelapse.interval_s, depth_m, camera.focal_px, camera.height_px),
    )


def _assumed(setting: LensSetting) -> LensLimits:
    """A usual lens that can at least do what is set: nobody named one."""
    usual = usual_limits(setting.focal_mm, setting.f_number)
    total, _ = total_and_azimuth(setting.tilt_deg, setting.swing_deg)
    return replace(usual, tilt_limit_deg=max(usual.tilt_limit_deg, total) if total else 0.0)


def _height_m(case: Case) -> float | None:
    """Height of the camera, where somebody said it."""
    return case.vantage.height_m if case.vantage and not case.vantage_found else None


def _spot(case: Case, verdict: Verdict) -> Target:
    """The spot in focus, where it is sharp."""
    x, y = spot_in_focus(case, verdict)
    inverse = float(focus_lens(verdict.setting).sharp_inverse_depth((x, y)))
    return Target(x, y, 1.0 / inverse if inverse > 1e-9 else math.inf, name="the spot in focus")


def _subject_m(case: Case, verdict: Verdict, named: Sequence[Target]) -> float:
    if named:
        return min(thing.depth_m for thing in named)
    return _band_depth(case, verdict)


def _timelapse(
    verdict: Verdict,
    wishes: DayWishes,
    raised: bool,
    key_frames: Sequence[KeyFrame],
    film_s: float | None,
) -> TimeLapse | None:
    """A time-lapse where one is asked for, or where things seen from above move like a model."""
    asked = wishes.interval_s, wishes.frames, wishes.on_site_s, wishes.clip_s, wishes.pace, film_s
    look = wishes.look
    wanted = any(value is not None for value in asked) or look != MODEL_LOOK or bool(key_frames)
    if not wanted and (not raised or not verdict.word.of_a_model):
        return None
    scale = verdict.reads_as.denominator if verdict.reads_as else None
    if look == MODEL_LOOK and scale is None:
        look = next(iter(LOOKS))  # no scale is named: what traffic usually gets
    interval_s = wishes.interval_s
    if wishes.pace is not None:
        if interval_s is not None:
            raise SettingError("--speed gives the interval: leave it out, or --interval")
        if not wishes.frames_per_s > 0:
            raise SettingError(f"the clip's rate must be above 0, not {wishes.frames_per_s!r}")
        interval_s = paced_interval_s(wishes.pace, wishes.frames_per_s, scale)
    moved_s = max((key.at_s for key in key_frames), default=0.0)
    lasts_s = moved_s + 1 / wishes.frames_per_s if moved_s else _USUAL_CLIP_S
    planned = schedule(
        look=look,
        look_s=look_interval_s(look, wishes.frames_per_s, scale),
        frames_per_s=wishes.frames_per_s,
        usual_clip_s=film_s or lasts_s,
        interval_s=interval_s,
        frames=wishes.frames,
        on_site_s=wishes.on_site_s,
        clip_s=wishes.clip_s,
    )
    turned = bool(key_frames)
    return plan_timelapse(planned, wishes.frames_per_s, wishes.megapixels, turned=turned)


def _band_depth(case: Case, verdict: Verdict) -> float:
    """Depth where things move through the band."""
    band = verdict.measures.band
    depth = case.samples.depth_towards(band.centre_x, band.centre_y)
    if math.isinf(depth):
        depth = 1.0 / float(np.median(case.samples.inverse[case.samples.seen]))
    return depth
