"""How the light changes while a time-lapse is taken, and what to do about it."""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import pairwise

from render.plan.exposure import MARK_STOPS, UNSEEN_STOPS, Brightness
from render.plan.light import LightPlan, span_words

__all__ = ["Change", "Take", "light_of_take", "thirds"]

#: The light of a take is looked at so many times, which is once a minute for two hours.
_LOOKS = 120
#: An end of a change that goes on this much slower than the rest hardly changes (ours).
_SLOW = 0.25
#: From here on a change that needs no step is told (ours).
_TOLD_STOPS = 0.02
#: So many moments are named one by one; of more, those at which a whole stop is given.
_NAMED_TURNS = 12
#: Moments closer than this are named with their seconds.
_CLOSE_S = 120.0


@dataclass(frozen=True, slots=True)
class Change:
    """A stretch of a take in which the light falls or rises.

    Attributes
    ----------
    start, end : datetime
    lost_stops : float
        Negative where the light rises.
    turns : tuple of datetime
        When to give a third of a stop more, or less: as soon as the exposure that was set last is
        off by half of that.
    """

    start: datetime
    end: datetime
    lost_stops: float
    turns: tuple[datetime, ...]

    @property
    def steps(self) -> int:
        """Thirds of a stop that the exposure has to follow by."""
        return len(self.turns)

    @property
    def words(self) -> str:
        """What the light does: "falls by 1.9 stops"."""
        falls = self.lost_stops > 0
        return f"{'falls' if falls else 'rises'} by {abs(self.lost_stops):.1f} stops"

    @property
    def step(self) -> str:
        """What to give for it, and how many times: "1/3 stop more, twice"."""
        times = {1: "once", 2: "twice"}.get(self.steps, f"{self.steps} times")
        return f"1/3 stop {'more' if self.lost_stops > 0 else 'less'}, {times}"

    @property
    def every(self) -> str:
        """How often, on the mean: "2.9 min"."""
        every_s = (self.end - self.start).total_seconds() / self.steps
        return f"{every_s / 60:.1f} min" if every_s >= 60 else f"{every_s:.0f} s"

    @property
    def clock(self) -> str:
        """When: "at 20:11, 20:13, 20:16", or by when each whole stop is given."""
        gaps_s = [(b - a).total_seconds() for a, b in pairwise(self.turns)]
        form = "%H:%M:%S" if gaps_s and min(gaps_s) < _CLOSE_S else "%H:%M"
        many = self.steps > _NAMED_TURNS
        named = self.turns[2::3] if many else self.turns
        listed = ", ".join(f"{at:{form}}" for at in named)
        return f"a whole stop by {listed}" if many else f"at {listed}"


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
        return _reached(self.looks, stops, sign) or self.end

    @property
    def sentences(self) -> tuple[str, ...]:
        """What to know of the light of the take; nothing where it stays."""
        said = [self._sentence(change) for change in self.changes]
        if small := self._small_words:
            said.append(f"the light {small} from the first frame to the last: leave the exposure")
        if self.changes:
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
        last = change is self.changes[-1] and change.end < self.end
        then = ", then hardly changes" if last else ""
        every = f", about every {change.every}" if change.steps > 1 else ""
        return f"the light {change.words} {when}{then}: give {change.step}{every} ({change.clock})"

    @property
    def words(self) -> str:
        """The same in few: "falls by 1.9 stops: 1/3 stop more, 6 times, every 2.9 min"."""
        return self._small_words or "; ".join(
            f"{change.words}{'' if self._whole(change) else f' by {change.end:%H:%M}'}: "
            f"{change.step}, " + (f"every {change.every}" if change.steps > 1 else change.clock)
            for change in self.changes
        )

    @property
    def _small_words(self) -> str:
        """Of a change too small to follow that somebody who waits for one would ask about."""
        if self.changes or abs(self.lost_stops) < _TOLD_STOPS:
            return ""
        return f"{'falls' if self.lost_stops > 0 else 'rises'} by less than 1/3 stop"

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
    """From the first look by way of the darkest and the brightest to the last, where it changes.

    The exposure stands at a whole number of thirds from that of the first frame throughout, so
    that all turns together make up what is lost.
    """
    lost = [each for _, each in looks]
    ways = sorted({0, lost.index(max(lost)), lost.index(min(lost)), len(lost) - 1})
    found = []
    for first, last in pairwise(ways):
        stands, comes_to = thirds(lost[first]), thirds(lost[last])
        if stands == comes_to:
            continue
        part = looks[first : last + 1]
        sign = 1 if comes_to > stands else -1
        levels = [(each + sign / 2) * MARK_STOPS for each in range(stands, comes_to, sign)]
        turns = [_reached(part, level, sign) or part[-1][0] for level in levels]
        begin, end = _stretch(part)
        found.append(Change(begin, end, lost[last] - lost[first], tuple(turns)))
    return tuple(found)


def thirds(stops: float) -> int:
    """Thirds of a stop, to the nearest."""
    return math.floor(stops / MARK_STOPS + 0.5)


def _reached(looks: Sequence[tuple[datetime, float]], stops: float, sign: float) -> datetime | None:
    """When so much is lost for the first time, between two looks by the rule of three."""
    before = looks[0]
    for at, lost in looks:
        if sign * lost >= sign * stops:
            share = (stops - before[1]) / (lost - before[1]) if lost != before[1] else 0.0
            return before[0] + (at - before[0]) * min(max(share, 0.0), 1.0)
        before = at, lost
    return None


def _stretch(looks: Sequence[tuple[datetime, float]]) -> tuple[datetime, datetime]:
    """First and last moment of a change, without an end at which next to nothing happens."""
    (start, at_first), (stop, at_last) = looks[0], looks[-1]
    begin = max(at for at, lost in looks if abs(lost - at_first) <= UNSEEN_STOPS)
    end = min(at for at, lost in looks if abs(at_last - lost) <= UNSEEN_STOPS)
    if end <= begin:
        return start, stop
    slow = _SLOW * abs(at_last - at_first) / (end - begin).total_seconds()
    if slow * (begin - start).total_seconds() <= UNSEEN_STOPS:
        begin = start
    if slow * (stop - end).total_seconds() <= UNSEEN_STOPS:
        end = stop
    return begin, end
