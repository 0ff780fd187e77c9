"""Time-lapse and its video alternative: interval from look and motion, frames, space, shutters.

A 1:S model moves ``sqrt(S)`` times faster than the real thing (Froude scaling; film makers shoot
a 1:16 model at 96 frames a second for 24). So a real scene that is to move like a 1:S model is
sped up by ``sqrt(S)``: interval = sqrt(S) / rate.
"""

import math
from dataclasses import dataclass

from render.errors import SettingError
from render.judge.scale import froude_speedup
from render.optics.timelapse import Interval, plan_interval

__all__ = [
    "LOOKS",
    "MODEL_LOOK",
    "TimeLapse",
    "Video",
    "look_interval_s",
    "plan_timelapse",
    "plan_video",
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
class TimeLapse:
    """A time-lapse in numbers.

    Attributes
    ----------
    look : str
    interval_s, frames_per_s, clip_s : float
        Between frames on site; of the clip; its length.
    interval : Interval
        Frames, time on site, half-interval shutter, speed-up.
    smooth_s, snap_s : float
        Shutter of smooth motion (half the interval) and of a stop-motion snap (30 degrees).
    card_gb : float
        Space for the frames in raw.
    remarks : tuple of str
    """

    look: str
    interval_s: float
    frames_per_s: float
    clip_s: float
    interval: Interval
    smooth_s: float
    snap_s: float
    card_gb: float
    remarks: tuple[str, ...]


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
    look: str, interval_s: float, frames_per_s: float, clip_s: float, megapixels: float
) -> TimeLapse:
    """Frames, time on site, shutters and card space of a time-lapse.

    Raises
    ------
    SettingError
        If a number is not above 0.
    """
    if not megapixels > 0:
        raise SettingError(f"the camera's megapixels must be above 0, not {megapixels!r}")
    interval = plan_interval(interval_s, frames_per_s, clip_s)
    remarks = [
        "manual exposure, white balance and focus; lock the tilt; stabilisation off on a tripod; "
        "set the working aperture once so that the iris does not flicker",
        "for a puppet's gait shoot for 12 frames a second and hold each twice",
    ]
    if interval_s < interval.shutter_s + _WRITE_S:
        remarks.append(
            f"an interval of {interval_s:.2g} s leaves no time to write after half of it: use a "
            "slow burst with a shorter shutter, or video"
        )
    return TimeLapse(
        look=look,
        interval_s=interval_s,
        frames_per_s=frames_per_s,
        clip_s=clip_s,
        interval=interval,
        smooth_s=interval.shutter_s,
        snap_s=interval_s * _SNAP_DEG / 360.0,
        card_gb=interval.frames * megapixels * _RAW_MB_PER_MEGAPIXEL / 1000.0,
        remarks=tuple(remarks),
    )


def plan_video(interval_s: float, frames_per_s: float, clip_s: float) -> Video:
    """Video in place of single frames: keep one frame of every ``interval x rate``."""
    interval = plan_interval(interval_s, frames_per_s, clip_s)
    longest = 1.0 / frames_per_s
    speed_up = max(1.0, interval.speed_up)
    return Video(
        record_fps=frames_per_s,
        speed_up=speed_up,
        record_s=math.ceil(clip_s * speed_up),
        smooth_s=min(interval.shutter_s, longest),
        snap_s=min(interval_s * _SNAP_DEG / 360.0, longest),
    )
