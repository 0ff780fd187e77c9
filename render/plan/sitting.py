"""What people in front of the lens are told where the shutter is slow for them."""

import math
from dataclasses import dataclass

from render.judge.case import Case
from render.optics.exposure import marked_iso
from render.optics.lens import LensSetting
from render.optics.solving.targets import Target
from render.plan.exposure import UNSEEN_STOPS, ExposurePlan, shutter_words
from render.plan.tolerance import sway_m
from render.words import listed, small_length_words

__all__ = ["NOBODY", "Sitters", "Sitting", "sitting"]

_STILL_S = 1.0 / 125.0  # common practice, no source: slower, and a living face is seen to move
_FARTHEST_SWAY_M = 0.3  # a head that may sway so far needs no word (ours)


@dataclass(frozen=True, slots=True)
class Sitters:
    """Who may move before the lens.

    Attributes
    ----------
    people : tuple of Target
        People, or parts of their faces.
    supposed : bool
        Whether only their names, "Ann", let one suppose that they are people.
    """

    people: tuple[Target, ...]
    supposed: bool = False


NOBODY = Sitters(())


@dataclass(frozen=True, slots=True)
class Sitting:
    """A shutter too slow for people, and what helps.

    Attributes
    ----------
    time_s : float
        The metered shutter.
    nearer_m, back_m : float or None
        How far a head may move along the camera's axis until the first of the people who are sharp
        is just soft; None where nobody is sharp, or none moves so far.
    iso : float
        Marked, for 1/125 s in this light.
    stops : float
        How much more light 1/125 s takes at the planned ISO.
    ev100 : float
        How bright it is then.
    supposed : tuple of str
        Names of those who are only supposed to be people; empty where it is known.
    """

    time_s: float
    nearer_m: float | None
    back_m: float | None
    iso: float
    stops: float
    ev100: float
    supposed: tuple[str, ...] = ()

    @property
    def sentence(self) -> str:
        """One line: "hold still: 1/5 s is slow for people; a head may sway 4 mm nearer or ..."."""
        sway = f"; a head may sway {self._sway} before it is just soft" if self._sway else ""
        return (
            f"{self._if_people}hold still: {shutter_words(self.time_s)} is slow for people{sway}; "
            f"{shutter_words(_STILL_S)} takes ISO {self.iso:g}, or {self.stops:.1f} stops more "
            f"light (EV {self.ev100:.1f} at ISO 100)"
        )

    @property
    def words(self) -> str:
        """The same on the card's front."""
        sway = f", sway {self._sway} at most" if self._sway else ""
        return (
            f"{self._if_people}hold still{sway}; {shutter_words(_STILL_S)} at ISO {self.iso:g} or "
            f"with {self.stops:.1f} stops more light"
        )

    @property
    def _if_people(self) -> str:
        if not self.supposed:
            return ""
        return (
            f"if {listed(self.supposed)} {'are people' if self.supposed[1:] else 'is a person'}, "
        )

    @property
    def _sway(self) -> str:
        if self.nearer_m is None or self.back_m is None:
            return ""
        return (
            f"{small_length_words(self.nearer_m)} nearer or {small_length_words(self.back_m)} back"
        )


def sitting(
    case: Case, setting: LensSetting, sitters: Sitters, exposure: ExposurePlan
) -> Sitting | None:
    """What people are told; None where there are none, or the shutter is fast enough for them."""
    people = sitters.people
    metered_s = exposure.metered.time_s
    stops = math.log2(metered_s / _STILL_S)
    if not people or stops < UNSEEN_STOPS:
        return None
    nearer, back = sway_m(case, setting, people)
    small = nearer is not None and back is not None and min(nearer, back) < _FARTHEST_SWAY_M
    return Sitting(
        time_s=metered_s,
        nearer_m=nearer if small else None,
        back_m=back if small else None,
        iso=float(marked_iso(exposure.iso * 2.0**stops)),
        stops=stops,
        ev100=exposure.brightness.ev100 + stops,
        supposed=tuple(person.name for person in people) if sitters.supposed else (),
    )
