"""How shutter, filter and ISO follow the light of a take.

A filter is not changed within a take (it shows), so it is chosen for the whole of it: as dense as
the smooth shutter at the first frame asks for, less what the shutter needs to grow by before the
interval is full. Only what is left then is for the ISO.
"""

import math
from dataclasses import dataclass, replace
from datetime import datetime

from render.optics.exposure import MARKED_ISO, MARKED_SHUTTER, marked_iso, marked_shutter_s
from render.plan.exposure import (
    FASTEST_S,
    MARK_STOPS,
    UNSEEN_STOPS,
    ExposurePlan,
    Shutter,
    filter_words,
    filtered,
    shutter_words,
)
from render.plan.take import Take, thirds

__all__ = ["FOLLOWS", "FREEZES", "Ramp", "following", "plan_ramp"]

#: What begins the name of the shutter that a take starts with, where its light changes much.
FOLLOWS = "following the light"
#: What begins the name of one that freezes what moves.
FREEZES = "freezes"
#: From here on not every camera's picture is clean (common practice, no source).
_NOISY_ISO = 3200


@dataclass(frozen=True, slots=True)
class Ramp:
    """The exposure that follows the light of a take.

    Attributes
    ----------
    first : Shutter
        At the first frame.
    steady : Shutter
        What would be right at the first frame if the light stayed.
    to_s : float
        The shutter that it comes to: longest where the light falls, else shortest; marked.
    full_at : datetime or None
        When the shutter is there and the light falls on.
    iso : float
        The highest that is needed, marked.
    reach_iso_at : datetime or None
        When it is.
    short_at : datetime or None
        When no shutter is short enough any more, without another filter.
    added_stops : int
        Of neutral density, that are then to be added.
    lower_iso : bool
        Whether the light rises from where it needs a higher ISO than planned.
    """

    first: Shutter
    steady: Shutter
    to_s: float
    full_at: datetime | None
    iso: float
    reach_iso_at: datetime | None
    short_at: datetime | None
    added_stops: int
    lower_iso: bool

    @property
    def sentences(self) -> tuple[str, ...]:
        """How to start, where the shutter goes, and what comes when it is there."""
        first, to = shutter_words(self.first.time_s), shutter_words(self.to_s)
        at = f"start at {first} with {_filter(self.first)} and ISO {self.first.iso:g}"
        if self.starts_otherwise:
            at += (
                f", not the {filter_words(self.steady.filter_stops)} of a steady light: the "
                "shutter needs the room, and what moves looks snappier at first"
            )
        if self.lower_iso:
            at += ", and bring that down first"
        stays = self.to_s == self.first.time_s
        said = [at if stays else f"{at}; the shutter goes to {to}"]
        if self.full_at is not None:
            high = f"ISO {self.iso:g}"
            if self.iso >= MARKED_ISO[-1]:
                high = f"ISO {self.iso:g} and darker"
            noisy = (
                "; if that is too noisy, take a longer interval or end sooner"
                if self.iso > _NOISY_ISO
                else ""
            )
            by = f" by {self.reach_iso_at:%H:%M}" if self.reach_iso_at else ""
            there = (
                f"from {self.full_at:%H:%M} on the shutter is at"
                if not stays
                else ("the shutter stays at")
            )
            on = f"from {self.full_at:%H:%M} on" if stays else "follow on"
            said.append(
                f"{there} {to}, the longest that the interval leaves: {on} by ISO, to "
                f"{high}{by}{noisy}"
            )
        if self.short_at is not None:
            said.append(
                f"at {self.short_at:%H:%M} the shutter is at {to}, the shortest: add "
                f"{filter_words(self.added_stops)} from then on"
            )
        return tuple(said)

    @property
    def starts_otherwise(self) -> bool:
        """Whether it starts with less of a filter than a steady light would ask for."""
        return self.first.filter_stops < self.steady.filter_stops

    @property
    def words(self) -> str:
        """The same in few: "to 4 s at 21:10, then to ISO 1600"."""
        to = f"to {shutter_words(self.to_s)}"
        if self.full_at is not None and self.to_s == self.first.time_s:
            return f"from {self.full_at:%H:%M} to ISO {self.iso:g}"
        if self.full_at is not None:
            return f"{to} at {self.full_at:%H:%M}, then to ISO {self.iso:g}"
        if self.short_at is not None:
            return f"{to} at {self.short_at:%H:%M}, then {filter_words(self.added_stops)} more"
        return to


def plan_ramp(
    take: Take, steady: Shutter, metered_s: float, iso: float, longest_s: float
) -> Ramp | None:
    """Fit the exposure of a take to its light; None where the light stays.

    Parameters
    ----------
    steady : Shutter
        What suits the first frame, were the light to stay.
    metered_s : float
        Shutter time for the first frame without a filter at `iso`, as it comes.
    longest_s : float
        That the interval leaves time for.
    """
    if not take.changes:
        return None
    fall, rise = take.darkest_stops, take.brightest_stops
    longest_s = max(s for s in MARKED_SHUTTER.values() if s <= max(longest_s, FASTEST_S) * 1.01)
    first = steady
    if steady.filter_stops >= 0:
        room = math.log2(longest_s / metered_s) - fall
        stops = min(int(steady.filter_stops), max(0, math.floor(room + UNSEEN_STOPS)))
        if stops < steady.filter_stops:
            first = filtered(steady.name, metered_s, stops, iso)
    raised = thirds(math.log2(first.iso / iso))
    falls, rises = thirds(fall), thirds(rise)
    left = min(falls, max(0, thirds(math.log2(longest_s / first.time_s))))  # the shutter gives
    full_at, reach_at, highest = None, None, first.iso
    if falls > left:
        full_at, reach_at = _turn_at(take, left + 1), _turn_at(take, falls)
        highest = float(marked_iso(first.iso * 2.0 ** ((falls - left) * MARK_STOPS)))
    shortens = max(0, thirds(math.log2(first.time_s / FASTEST_S)))
    short_at, added = None, 0
    over = rises - raised - shortens  # what ISO and shutter cannot take back
    if over > 0:
        short_at = _turn_at(take, -(raised + shortens + 1))
        added = math.ceil(over * MARK_STOPS - UNSEEN_STOPS)
    shutter_turns = left if falls > rises else -min(max(0, rises - raised), shortens)
    return Ramp(
        first=first,
        steady=steady,
        to_s=marked_shutter_s(first.time_s * 2.0 ** (shutter_turns * MARK_STOPS)),
        full_at=full_at,
        iso=highest,
        reach_iso_at=reach_at,
        short_at=short_at,
        added_stops=added,
        lower_iso=rises > falls and raised > 0,
    )


def _turn_at(take: Take, number: int) -> datetime:
    """When the exposure turns for the n-th time from the first frame's, below 0 where it rises."""
    return take.when_lost((number - math.copysign(0.5, number)) * MARK_STOPS)


def _filter(shutter: Shutter) -> str:
    if shutter.filter_stops > 0.5:
        return filter_words(shutter.filter_stops)
    return "no filter"


def following(
    exposure: ExposurePlan, take: Take, longest_s: float
) -> tuple[ExposurePlan, Ramp | None]:
    """The exposure of a time-lapse, whose first choice is its own, fitted to the light of a take.

    Where it starts otherwise than in a steady light, its smooth and snappy choices are left out.
    """
    steady, metered = exposure.choices[0], exposure.metered
    metered_s = metered.time_s * 2.0 ** -(metered.off_stops + metered.filter_stops)
    ramp = plan_ramp(take, steady, metered_s, exposure.iso, longest_s)
    if ramp is None or not ramp.starts_otherwise:
        return exposure, ramp
    name = f"{FOLLOWS}, at the first frame"
    frozen = [c for c in exposure.choices[1:] if c.name.startswith(FREEZES)]
    return replace(exposure, choices=(replace(ramp.first, name=name), *frozen)), ramp
