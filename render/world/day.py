"""The sun through one day: rise and set, golden and blue hour, and when it stands in a stretch."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime, timedelta

from render.errors import InputError
from render.world.sun import sun_position

__all__ = ["Span", "SunDay", "moments", "spans_where", "sun_day"]

#: Height of the sun's centre at rise and set: half its disc and the usual refraction (34').
_RISE_DEG = -0.8333
#: Golden and blue hour by the sun's height, degrees (common practice, no source).
_GOLDEN_DEG, _BLUE_DEG = (-4.0, 6.0), (-6.0, -4.0)
_STEP = timedelta(minutes=10)
_EXACT = timedelta(seconds=15)

#: From a moment to a later one.
Span = tuple[datetime, datetime]


@dataclass(frozen=True, slots=True)
class SunDay:
    """One local day, in the offset it was asked for.

    Attributes
    ----------
    rise, set : datetime or None
        None where the sun does not cross the horizon that day.
    golden, blue : tuple of (datetime, datetime)
        Stretches of golden and of blue hour.
    """

    rise: datetime | None
    set: datetime | None
    golden: tuple[Span, ...]
    blue: tuple[Span, ...]


def sun_day(when: str, latitude_deg: float, longitude_deg: float) -> SunDay:
    """Times of the sun on the day of a moment, to a quarter of a minute.

    Parameters
    ----------
    when : str
        ISO 8601 with an offset; the day is that of the offset's clock.

    Raises
    ------
    InputError
        As `render.world.sun.sun_position`.
    """

    def height(moment: datetime) -> float:
        return sun_position(moment.isoformat(), latitude_deg, longitude_deg)[1]

    up = spans_where(when, lambda moment: height(moment) > _RISE_DEG)
    start, end = _day(when)
    return SunDay(
        rise=next((first for first, _ in up if first > start), None),
        set=next((last for _, last in up if last < end), None),
        golden=_whole(when, lambda m: _GOLDEN_DEG[0] < height(m) <= _GOLDEN_DEG[1]),
        blue=_whole(when, lambda m: _BLUE_DEG[0] < height(m) <= _BLUE_DEG[1]),
    )


def _whole(when: str, true: Callable[[datetime], bool]) -> tuple[Span, ...]:
    """As `spans_where`, but not cut at midnight: those of the evening that the moment belongs to.

    A stretch over midnight counts with the day that it begins on, unless the moment lies in what
    is left of the evening before; what holds all day long stays a day.
    """
    (start, end), spans = _day(when), spans_where(when, true)
    if (start, end) in spans:
        return spans
    day, at = timedelta(days=1), datetime.fromisoformat(when)
    early = [span for span in spans if span[0] == start]
    late = [span for span in spans if span[1] == end]
    found = [span for span in spans if span not in early + late]
    if early and at <= early[0][1]:
        before = spans_where((at - day).isoformat(), true)
        return ((before[-1][0], early[0][1]), *found)
    for first, _ in late:
        after = spans_where((at + day).isoformat(), true)
        found.append((first, after[0][1] if after and after[0][0] == end else end))
    return tuple(found)


def spans_where(when: str, true: Callable[[datetime], bool]) -> tuple[Span, ...]:
    """The stretches of a moment's day in which something holds, looked at every ten minutes."""
    start, end = _day(when)
    found: list[Span] = []
    before, began = start, start if true(start) else None
    while before < end:
        after = min(before + _STEP, end)
        holds = true(after)
        if holds and began is None:
            began = _turning(before, after, true)
        elif not holds and began is not None:
            found.append((began, _turning(before, after, true)))
            began = None
        before = after
    if began is not None:
        found.append((began, end))
    return tuple(found)


def moments(when: str, latitude_deg: float, longitude_deg: float, count: int) -> list[datetime]:
    """So many whole quarters of an hour, evenly from after sunrise to before sunset.

    Raises
    ------
    InputError
        If the sun does not rise that day.
    """
    day = sun_day(when, latitude_deg, longitude_deg)
    start, end = _day(when)
    first, last = day.rise or start, day.set or end
    noon = first + (last - first) / 2
    if sun_position(noon.isoformat(), latitude_deg, longitude_deg)[1] < 0:
        raise InputError(f"the sun does not rise there on {start:%d %B %Y}")
    inside = (last - first) / 14
    first, last = first + inside, last - inside
    spread = [first + (last - first) * k / (count - 1) for k in range(count)]
    return [_quarter(moment) for moment in spread]


def _day(when: str) -> Span:
    sun_position(when, 0.0, 0.0)  # refuses what is no moment, in its own words
    moment = datetime.fromisoformat(when)
    start = moment.replace(hour=0, minute=0, second=0, microsecond=0)
    return start, start + timedelta(days=1)


def _turning(before: datetime, after: datetime, true: Callable[[datetime], bool]) -> datetime:
    """When something begins or ceases to hold between two moments."""
    at_first = true(before)
    while after - before > _EXACT:
        middle = before + (after - before) / 2
        before, after = (middle, after) if true(middle) == at_first else (before, middle)
    return after


def _quarter(moment: datetime) -> datetime:
    minutes = 15 * round((moment.hour * 60 + moment.minute) / 15)
    return moment.replace(hour=0, minute=0, second=0, microsecond=0) + timedelta(minutes=minutes)
