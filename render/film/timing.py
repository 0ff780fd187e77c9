"""Which moments of the source each frame of a film shows."""

import bisect
import math
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from render.errors import SettingError

__all__ = ["Moment", "Shutter", "Timing", "as_taken", "moments"]

#: Frames of a source may be stamped this share of a frame late.
_SLACK = Fraction(1, 100)


@dataclass(frozen=True, slots=True)
class Shutter:
    """How long each frame of the film is exposed: an angle of its own interval, or seconds.

    Attributes
    ----------
    angle_deg : float or None
        Of the time from one frame of the film to the next, as the source ran it; 360 is all.
    seconds : float or None
        Of the source's time.
    """

    angle_deg: float | None = None
    seconds: float | None = None

    def __post_init__(self) -> None:
        if (self.angle_deg is None) == (self.seconds is None):
            raise SettingError("a shutter is an angle or a time: give one of them")
        if self.angle_deg is not None and not 0 < self.angle_deg <= 360:
            raise SettingError(f"a shutter angle lies between 0 and 360°, not {self.angle_deg!r}")
        if self.seconds is not None and not 0 < self.seconds < math.inf:
            raise SettingError(f"a shutter time is above 0 s, not {self.seconds!r}")

    def open_s(self, step_s: Fraction) -> Fraction:
        """Seconds of the source that one frame gathers, where frames are `step_s` of it apart."""
        if self.seconds is not None:
            return Fraction(self.seconds).limit_denominator(10**6)
        return step_s * Fraction(self.angle_deg or 0) / 360


@dataclass(frozen=True, slots=True, kw_only=True)
class Timing:
    """How the source's time becomes the film's.

    Attributes
    ----------
    rate : Fraction
        Frames of film a second.
    speed : float
        How many times faster than life the source is shown.
    start_s, stop_s : Fraction
        The part of the source that is shown.
    shutter : Shutter or None
        Frames are picked where None, averaged else.
    on_twos : bool
        Each picture stands for two frames, as a puppet's does.
    """

    rate: Fraction
    start_s: Fraction
    stop_s: Fraction
    speed: float = 1.0
    shutter: Shutter | None = None
    on_twos: bool = False

    def __post_init__(self) -> None:
        if not 0 < self.rate <= 1000:
            raise SettingError(f"a film runs at 1 to 1000 frames a second, not {self.rate}")
        if not (math.isfinite(self.speed) and self.speed > 0):
            raise SettingError(f"the speed is a number above 0, not {self.speed!r}")
        if not self.stop_s > self.start_s:
            raise SettingError(
                f"the part to film ends at {float(self.stop_s):g} s, before it begins at "
                f"{float(self.start_s):g} s"
            )

    @property
    def step_s(self) -> Fraction:
        """Source time between two pictures of the film, s."""
        held = 2 if self.on_twos else 1
        return held * Fraction(self.speed).limit_denominator(10**6) / self.rate

    @property
    def frames(self) -> int:
        """How many frames the film has; at least one."""
        seconds = (self.stop_s - self.start_s) / Fraction(self.speed).limit_denominator(10**6)
        return max(1, math.floor(seconds * self.rate + _SLACK))


@dataclass(frozen=True, slots=True)
class Moment:
    """What one frame of a film shows.

    Attributes
    ----------
    at_s : Fraction
        When it is shown, from the film's beginning.
    source_s : Fraction
        The moment of the source at which its exposure begins.
    picks : tuple of int
        Frames of the source whose light is averaged in it; empty where there are none to pick.
    """

    at_s: Fraction
    source_s: Fraction
    picks: tuple[int, ...]


def as_taken(times: Sequence[Fraction], start_s: Fraction, stop_s: Fraction) -> tuple[Moment, ...]:
    """Every frame of the source in that part, shown when it was taken."""
    inside = [k for k, at in enumerate(times) if start_s <= at < stop_s]
    if not inside:
        raise SettingError(
            f"no frame lies between {float(start_s):g} and {float(stop_s):g} s of the source"
        )
    zero = times[inside[0]]
    return tuple(Moment(times[k] - zero, times[k], (k,)) for k in inside)


def moments(times: Sequence[Fraction], timing: Timing) -> tuple[Moment, ...]:
    """Each frame of the film: the source's frame that shows at its moment, or all of its exposure.

    Parameters
    ----------
    times : sequence of Fraction
        When each frame of the source begins, s; empty for a source that can be asked at any time.
    """
    found = []
    slack = _SLACK * timing.step_s
    for number in range(timing.frames):
        held = number // 2 if timing.on_twos else number
        begins = timing.start_s + held * timing.step_s
        first = max(bisect.bisect_right(times, begins + slack) - 1, 0)
        picks: tuple[int, ...] = (first,) if times else ()
        if times and timing.shutter is not None:
            ends = begins + timing.shutter.open_s(timing.step_s)
            last = bisect.bisect_left(times, ends - slack)
            picks = tuple(range(first, max(last, first + 1)))
        found.append(Moment(number / timing.rate, begins, picks))
    return tuple(found)
