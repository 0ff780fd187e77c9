"""Time-lapse and its video alternative: interval from look and motion, frames, space, shutters.

A 1:S model moves ``sqrt(S)`` times faster than the real thing (Froude scaling; film makers shoot
a 1:16 model at 96 frames a second for 24). So a real scene that is to move like a 1:S model is
sped up by ``sqrt(S)``: interval = sqrt(S) / rate.
"""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from render.errors import SettingError
from render.judge.scale import froude_speedup
from render.optics.lens import LensSetting
from render.optics.plane import focus_lens
from render.optics.solving.holding import ring_of, ring_words
from render.optics.solving.limits import LensLimits, RingReading
from render.optics.timelapse import Interval, plan_interval
from render.shot.keyframes import KeyFrame, reached
from render.shot.pace import Pace

__all__ = [
    "LOOKS",
    "MODEL_LOOK",
    "LensTurn",
    "Schedule",
    "TimeLapse",
    "Video",
    "lens_turns",
    "look_interval_s",
    "paced_interval_s",
    "plan_timelapse",
    "plan_video",
    "schedule",
]

#: Intervals by look, seconds. Toys and clouds: two web guides (read), common practice.
LOOKS: dict[str, float] = {
    "toy traffic": 1.0,
    "toy walkers": 2.0,
    "clouds": 5.0,
    "shadows": 20.0,
}
MODEL_LOOK = "model"
#: Stop motion has no motion blur: 18 to 45 degrees of shutter, or frozen (ours).
_SNAP_DEG = 30.0
_WRITE_S = 0.3  # between two frames, for the camera to write (common practice)
_RAW_MB_PER_MEGAPIXEL = 1.25  # packed raw (common practice)


@dataclass(frozen=True, slots=True)
class Schedule:
    """How many frames, how far apart, and why.

    Attributes
    ----------
    look : str
        A look, or "as given".
    interval_s : float
    frames : int
    """

    look: str
    interval_s: float
    frames: int


@dataclass(frozen=True, slots=True)
class TimeLapse:
    """A time-lapse in numbers.

    Attributes
    ----------
    look : str
    interval_s, frames_per_s, clip_s : float
        Between frames on site; of the clip; its length.
    interval : Interval
        Frames, time on site, half-interval shutter, speed-up.
    by_remote : bool
        Whether a remote release can do it: whole seconds, 1 s or more. Else it is a burst or
        video.
    longest_s : float
        Longest shutter that leaves time to write each frame.
    smooth_s, snap_s : float
        Shutter of smooth motion (half the interval, or the longest) and of a stop-motion snap
        (30 degrees).
    card_gb : float
        Space for the frames in raw.
    remarks : tuple of str
    """

    look: str
    interval_s: float
    frames_per_s: float
    clip_s: float
    interval: Interval
    by_remote: bool
    longest_s: float
    smooth_s: float
    snap_s: float
    card_gb: float
    remarks: tuple[str, ...]

    @property
    def card_words(self) -> str:
        """Space for the frames in whole GB, or TB, rounded up: "223 GB"."""
        if self.card_gb > 1000.0:
            return f"{math.ceil(self.card_gb / 1000.0 - 1e-9)} TB"
        return f"{max(1, math.ceil(self.card_gb - 1e-9))} GB"

    @property
    def site_words(self) -> str:
        """How long it takes on site: "50 s", or whole minutes, rounded up, "9 min"."""
        lasts_s = self.interval.on_site_s
        return f"{math.ceil(lasts_s / 60)} min" if lasts_s >= 60 else f"{lasts_s:.0f} s"


@dataclass(frozen=True, slots=True)
class LensTurn:
    """Where the lens has to be at a moment, as a key frame of the film says.

    Attributes
    ----------
    frame : int
        Of the finished clip, counted from 1.
    after_s : float
        On site, from the first frame.
    recorded_frame : int or None
        Of a video recorded on site, counted from 1; None where single frames are taken.
    words : str
        What the key frame itself says.
    extension_mm : float or None
        Of the lens by then, focus and all; None where nobody worked it out.
    ring : RingReading or None
        Where the focus ring stands with it.
    """

    frame: int
    after_s: float
    recorded_frame: int | None
    words: str
    extension_mm: float | None = None
    ring: RingReading | None = None

    @property
    def setting(self) -> str:
        """What to set by then, the ring with it: "tilt up 8, ring 7.08 m (8° from infinity)"."""
        return f"{self.words}, ring {ring_words(self.ring)}" if self.ring else self.words

    @property
    def moment(self) -> str:
        """When that is on site: "after 3 min 20 s"."""
        minutes, seconds = divmod(round(self.after_s), 60)
        return f"after {minutes} min {seconds} s" if minutes else f"after {self.after_s:.3g} s"

    @property
    def sentence(self) -> str:
        """Where the lens has to be by then, and at which frame of what."""
        video = f", {self.recorded_frame} of a video as recorded" if self.recorded_frame else ""
        frames = f"frame {self.frame} of the finished clip{video}"
        return f"{self.moment} on site ({frames}): {self.setting}"


@dataclass(frozen=True, slots=True)
class Video:
    """The same look from video: recorded at the clip's rate and sped up afterwards.

    Attributes
    ----------
    record_fps, speed_up : float
    record_s : float
        How long to record for the clip.
    smooth_s, snap_s : float
        Shutter that gives 180 and 30 degrees of the kept frames' interval; not longer than
        the recording's own frame allows.
    """

    record_fps: float
    speed_up: float
    record_s: float
    smooth_s: float
    snap_s: float


def schedule(
    *,
    look: str,
    look_s: float,
    frames_per_s: float,
    usual_clip_s: float,
    interval_s: float | None = None,
    frames: int | None = None,
    on_site_s: float | None = None,
    clip_s: float | None = None,
) -> Schedule:
    """Interval and frames from any two of interval, frames (or clip), and time on site.

    What is not given follows the look and the usual clip. A look's interval, and one that the
    time on site leaves, is taken to the whole second where it is one or more: remotes count so.

    Raises
    ------
    SettingError
        If a number is not above 0, or what is given does not go together.
    """
    for name, value in (
        ("interval", interval_s),
        ("number of frames", frames),
        ("time on site", on_site_s),
        ("clip", clip_s),
        ("usual clip", usual_clip_s),
    ):
        if value is not None and not (math.isfinite(value) and value > 0):
            raise SettingError(f"the {name} must be a number above 0, not {value!r}")
    if not (math.isfinite(frames_per_s) and frames_per_s > 0):
        raise SettingError(f"the clip's rate must be above 0, not {frames_per_s!r}")
    count = frames
    if clip_s is not None:
        count = max(1, round(clip_s * frames_per_s))
        if frames is not None and frames != count:
            raise SettingError(
                f"{frames} frames are not a clip of {clip_s:g} s at {frames_per_s:g} a second "
                f"({count} frames): leave one of them out"
            )
    if interval_s is not None and count is not None and on_site_s is not None:
        needed = (count - 1) * interval_s
        if abs(needed - on_site_s) > interval_s:
            raise SettingError(
                f"{count} frames every {interval_s:g} s take {needed:.0f} s, not "
                f"{on_site_s:.0f} s: give any two of interval, frames or clip, and time on site"
            )
    if interval_s is None and count is not None and on_site_s is not None:
        return Schedule("as given", _for_a_remote(on_site_s / max(1, count - 1), down=True), count)
    wanted = interval_s if interval_s is not None else _for_a_remote(look_s)
    if count is None and on_site_s is not None:
        count = math.floor(on_site_s / wanted + 1e-9) + 1
    count = count or max(1, round(usual_clip_s * frames_per_s))
    return Schedule(look if interval_s is None else "as given", wanted, count)


def _for_a_remote(interval_s: float, *, down: bool = False) -> float:
    """Whole seconds from 1 s; shorter ones as they are, for a burst or video."""
    if interval_s < 1.0:
        return interval_s
    return float(math.floor(interval_s + 1e-9) if down else round(interval_s))


def look_interval_s(look: str, frames_per_s: float, scale: float | None) -> float:
    """Interval of a look: "model" by Froude scaling of the scale it reads as, or one of `LOOKS`.

    Raises
    ------
    SettingError
        If the look is unknown, or "model" is asked for where no scale is named.
    """
    if look == MODEL_LOOK:
        if scale is None or not scale > 0:
            known = ", ".join(LOOKS)
            raise SettingError(
                "the interval of a model's motion needs a scale, and this picture names none: "
                f"give the interval itself, or one of {known}"
            )
        if not frames_per_s > 0:
            raise SettingError(f"the clip's rate must be above 0, not {frames_per_s!r}")
        return froude_speedup(scale) / frames_per_s
    if look not in LOOKS:
        raise SettingError(f'look "{look}" is not known: choose {MODEL_LOOK}, {", ".join(LOOKS)}')
    return LOOKS[look]


def plan_timelapse(
    planned: Schedule, frames_per_s: float, megapixels: float, *, turned: bool = False
) -> TimeLapse:
    """Time on site, clip, shutters and card space of a schedule.

    Parameters
    ----------
    turned : bool
        Whether the lens is turned on the way.

    Raises
    ------
    SettingError
        If a number is not above 0.
    """
    if not megapixels > 0:
        raise SettingError(f"the camera's megapixels must be above 0, not {megapixels!r}")
    interval_s, clip_s = planned.interval_s, planned.frames / frames_per_s
    interval = plan_interval(interval_s, frames_per_s, clip_s)
    by_remote = interval_s >= 1.0 - 1e-9
    longest_s = interval_s - _WRITE_S if by_remote else min(interval_s, 1.0 / frames_per_s)
    held = (
        "turn the lens a little between frames, and lock it for each; or take it straight and film "
        "the turn from these frames"
        if turned
        else "lock the tilt; set the working aperture once so that the iris does not flicker"
    )
    remarks = [
        f"manual exposure, white balance and focus; stabilisation off on a tripod; {held}",
        "for a puppet's gait shoot for 12 frames a second and hold each twice",
    ]
    if not by_remote:
        remarks.insert(
            0,
            f"a remote release counts whole seconds, and {interval_s:.2g} s is less than one: a "
            "burst that the camera keeps up, or rather video",
        )
    elif abs(interval_s - round(interval_s)) > 1e-6:
        remarks.insert(
            0, f"a remote release counts whole seconds, not {interval_s:g} s: see what yours does"
        )
    return TimeLapse(
        look=planned.look,
        interval_s=interval_s,
        frames_per_s=frames_per_s,
        clip_s=clip_s,
        interval=interval,
        by_remote=by_remote,
        longest_s=longest_s,
        smooth_s=min(interval.shutter_s, longest_s),
        snap_s=min(interval_s * _SNAP_DEG / 360.0, longest_s),
        card_gb=interval.frames * megapixels * _RAW_MB_PER_MEGAPIXEL / 1000.0,
        remarks=tuple(remarks),
    )


def paced_interval_s(pace: Pace, frames_per_s: float, scale: float | None) -> float:
    """Seconds between frames of a clip that runs so many times faster than life.

    Raises
    ------
    SettingError
        If a model's pace is asked for where no scale is named.
    """
    if pace.factor is not None:
        return pace.factor / frames_per_s
    return look_interval_s(MODEL_LOOK, frames_per_s, pace.scale or scale)


def lens_turns(
    key_frames: Sequence[KeyFrame],
    timelapse: TimeLapse,
    lens_at: Callable[[float], LensSetting] | None = None,
    limits: LensLimits | None = None,
) -> tuple[LensTurn, ...]:
    """When each key frame comes on site, as frame and time; those after the clip are left out.

    One at the clip's end is its last frame.

    Parameters
    ----------
    lens_at, limits
        How the lens is set at a time of the clip, and what it is: both tell where its ring stands.
    """
    found = []
    for key in sorted(key_frames, key=lambda each: each.at_s):
        before = min(round(key.at_s * timelapse.frames_per_s), timelapse.interval.frames - 1)
        if reached(key.at_s, timelapse.clip_s):
            words = ", ".join(
                f"f/{text.removeprefix('f/')}" if name == "f" else f"{name} {text}"
                for name, text in key.given
            )
            after_s = before * timelapse.interval_s
            recorded = None
            if not timelapse.by_remote:
                recorded = round(after_s * timelapse.frames_per_s) + 1
            turn = LensTurn(before + 1, after_s, recorded, words)
            if lens_at is not None and limits is not None:
                setting = lens_at(key.at_s)
                extension_mm = focus_lens(setting).extension_mm
                turn = replace(turn, extension_mm=extension_mm, ring=ring_of(limits, setting))
            found.append(turn)
    return tuple(found)


def plan_video(timelapse: TimeLapse) -> Video:
    """Video in place of single frames: keep one frame of every ``interval x rate``."""
    interval, rate = timelapse.interval, timelapse.frames_per_s
    longest = 1.0 / rate
    speed_up = max(1.0, interval.speed_up)
    return Video(
        record_fps=rate,
        speed_up=speed_up,
        record_s=math.ceil(timelapse.clip_s * speed_up),
        smooth_s=min(interval.shutter_s, longest),
        snap_s=min(timelapse.interval_s * _SNAP_DEG / 360.0, longest),
    )
