"""Time-lapse and motion: frames, shutter, and how far things smear."""

import math
from dataclasses import dataclass

from render.errors import SettingError

__all__ = ["Interval", "plan_interval", "smear_px"]


@dataclass(frozen=True, slots=True)
class Interval:
    """A time-lapse in numbers.

    Attributes
    ----------
    frames : int
    on_site_s : float
        From the first frame to the last.
    shutter_s : float
        Shutter time of the shutter angle.
    speed_up : float
        How much faster than life the clip runs.
    """

    frames: int
    on_site_s: float
    shutter_s: float
    speed_up: float


def plan_interval(
    interval_s: float, frames_per_s: float, clip_s: float, shutter_angle_deg: float = 180.0
) -> Interval:
    """Frames = clip x rate; on site = (frames - 1) x interval; shutter = interval x angle / 360.

    Raises
    ------
    SettingError
        If a value is not above 0, or the angle above 360 degrees.
    """
    for name, value in (("interval", interval_s), ("rate", frames_per_s), ("clip", clip_s)):
        if not (math.isfinite(value) and value > 0):
            raise SettingError(f"the {name} must be a number above 0, not {value!r}")
    if not 0 < shutter_angle_deg <= 360:
        raise SettingError(f"a shutter angle lies between 0 and 360°, not {shutter_angle_deg!r}")
    frames = max(1, round(clip_s * frames_per_s))
    return Interval(
        frames=frames,
        on_site_s=(frames - 1) * interval_s,
        shutter_s=interval_s * shutter_angle_deg / 360.0,
        speed_up=interval_s * frames_per_s,
    )


def smear_px(speed_m_s: float, shutter_time_s: float, depth_m: float, focal_px: float) -> float:
    """Smear of a thing crossing the view at depth z: ``speed t focal_px / z``, px."""
    if not (depth_m > 0 and shutter_time_s >= 0):
        raise SettingError("smear needs a depth above 0 m and a shutter time of 0 s or more")
    return abs(speed_m_s) * shutter_time_s * focal_px / depth_m
