"""How the light changes while a time-lapse is taken, and what to do about it."""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import pairwise

from render.plan.exposure import MARK_STOPS, UNSEEN_STOPS, Brightness
from render.plan.light import LightPlan, span_words

__all__ = ["Change", "Take", "light_of_take"]

#: The light of a take is looked at so many times, which is once a minute for two hours.
_LOOKS = 120
#: A change that leaves out less of the take than this runs from the first frame to the last.
_WHOLE = 0.9


@dataclass(frozen=True, slots=True)
class Change:
    """A stretch of a take in which the light falls or rises.

    Attributes
    ----------
    start, end : datetime
    lost_stops : float
        Negative where the light rises.
    """

    start: datetime
    end: datetime
    lost_stops: float

    @property
    def steps(self) -> int:
        """Thirds of a stop that the exposure has to follow by."""
        return round(abs(self.lost_stops) / MARK_STOPS)

    @property
    def words(self) -> str:
        """What the light does: "falls by 1.9 stops"."""
        falls = self.lost_stops > 0
        return f"{'falls' if falls else 'rises'} by {abs(self.lost_stops):.1f} stops"

    @property
    def step(self) -> str:
        """What to give for it: "1/3 stop more"."""
        return f"1/3 stop {'more' if self.lost_stops > 0 else 'less'}"

    @property
    def every(self) -> str:
        """How often, on the mean: "2.9 min"."""
        every_s = (self.end - self.start).total_seconds() / self.steps
        return f"{every_s / 60:.1f} min" if every_s >= 60 else f"{every_s:.0f} s"


@dataclass(frozen=True, slots=True)
class Take:
    """The light from the first frame of a time-lapse to its last.

    Attributes
    ----------
    start, end : datetime
    lost_stops : float
        By which the light is lower at the end; negative where it is higher.
    looks : tuple of (datetime, float)
        Stops lost since the first frame, as often as is worth it.
    changes : tuple of Change
        In which it falls or rises by more than anybody could fail to see.
    unlit : bool
        Whether it gets so dark that lamps may give most of the light, and none is counted.
    good_until : datetime or None
        When the good light ends that the take begins in, if before the last frame.
    """

    start: datetime
    end: datetime
    lost_stops: float
    looks: tuple[tuple[datetime, float], ...]
    changes: tuple[Change, ...]
    unlit: bool
    good_until: datetime | None

    @property
    def darkest_stops(self) -> float:
        """How far the light falls below that of the first frame at most, 0 or more."""
        return max(lost for _, lost in self.looks)

    @property
    def brightest_stops(self) -> float:
        """How far it rises above that of the first frame at most, 0 or more."""
        return -min(lost for _, lost in self.looks)

    def when_lost(self, stops: float) -> datetime:
        """When so many stops are lost for the first time, or gained if below 0; else the end."""
        sign = 1.0 if stops > 0 else -1.0
        return next((at for at, lost in self.looks if sign * lost >= sign * stops), self.end)

    @property
    def sentences(self) -> tuple[str, ...]:
        """What to know of the light of the take; nothing where it stays."""
        said = [self._sentence(change) for change in self.changes]
        if said:
            said[-1] += (
                ", by shutter and ISO, never by the f-number, and even the steps out "
                "afterwards (common practice, no source)"
            )
            if self.unlit:
                said.append("lamps are not counted: where they are lit the light changes less")
        if self.good_until is not None:
            said.append(
                f"the last frame comes at {self.end:%H:%M}, after the good light that ends at "
                f"{self.good_until:%H:%M}"
            )
        return tuple(said)

    def _sentence(self, change: Change) -> str:
        span = span_words((change.start, change.end))
        when = (
            f"from the first frame to the last ({span})" if self._whole(change) else f"from {span}"
        )
        then = ", then stays" if change is self.changes[-1] and change.end < self.end else ""
        return (
            f"the light {change.words} {when}{then}: give {change.step} about every {change.every}"
        )

    @property
    def words(self) -> str:
        """The same in few: "falls by 1.9 stops: 1/3 stop more every 2.9 min"."""
        return "; ".join(
            f"{change.words}{'' if self._whole(change) else f' by {change.end:%H:%M}'}: "
            f"{change.step} every {change.every}"
            for change in self.changes
        )

    def _whole(self, change: Change) -> bool:
        return (change.start, change.end) == (self.start, self.end)


def light_of_take(
    sunlight: LightPlan, on_site_s: float, light_at: Callable[[float], Brightness]
) -> Take:
    """The light of a take that begins at the planned moment.

    Parameters
    ----------
    light_at : callable
        How bright it is at a height of the sun in degrees, lamps and all.
    """
    start = sunlight.planned.moment
    end = start + timedelta(seconds=on_site_s)
    times = [start + timedelta(seconds=on_site_s * k / _LOOKS) for k in range(_LOOKS + 1)]
    found = [light_at(sunlight.sun_height_deg(at)) for at in times]
    looks = [(at, found[0].ev100 - light.ev100) for at, light in zip(times, found, strict=True)]
    held = [span for span in sunlight.window if span[0] <= start <= span[1]]
    ends = math.inf if not held else (held[0][1] - end).total_seconds()
    return Take(
        start=start,
        end=end,
        lost_stops=looks[-1][1],
        looks=tuple(looks),
        changes=_changes(looks),
        unlit=any(light.unlit for light in found),
        good_until=held[0][1] if ends < 0 else None,
    )


def _changes(looks: Sequence[tuple[datetime, float]]) -> tuple[Change, ...]:
    """From the first look by way of the darkest and the brightest to the last, where it changes."""
    lost = [each for _, each in looks]
    turns = sorted({0, lost.index(max(lost)), lost.index(min(lost)), len(lost) - 1})
    found = []
    for first, last in pairwise(turns):
        by = lost[last] - lost[first]
        inner = range(first, last + 1)
        begins = [k for k in inner if abs(lost[k] - lost[first]) <= UNSEEN_STOPS]
        ends = [k for k in inner if abs(lost[last] - lost[k]) <= UNSEEN_STOPS]
        begin, end = max(begins), min(ends)
        if end - begin > _WHOLE * (last - first):
            begin, end = first, last
        change = Change(looks[begin][0], looks[end][0], by)
        if change.steps and end > begin:
            found.append(change)
    return tuple(found)
