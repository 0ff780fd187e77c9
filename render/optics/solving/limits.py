"""`LensLimits`: what one tilting lens can do, as its markings and data sheet say."""

import math
from dataclasses import dataclass

from render.errors import LensError, SettingError
from render.optics.solving.movements import Pivot, total_and_azimuth
from render.optics.solving.targets import Freedom
from render.words import focal_words, spell_f_number

__all__ = ["MARK_SHARE", "LensLimits", "RingReading", "stops_away", "unusual_words", "usual_limits"]

#: Marked f-numbers are rounded (f/22 is 22.6): so much off is the mark itself.
MARK_SHARE = 0.03
#: Stops that lenses without movements have, and large-format ones (common practice, no source).
_WIDEST_AT_ALL, _SMALLEST_AT_ALL = 0.95, 64.0


@dataclass(frozen=True, slots=True)
class RingReading:
    """What the focus ring shows for a position of the lens.

    Attributes
    ----------
    distance_m : float
        From the subject to the sensor, as engraved; ``inf`` at and beyond the infinity mark.
    beyond_infinity_mm : float
        How far past the infinity mark the ring would have to turn; 0 if it need not.
    too_near_mm : float
        How far past its nearest mark; 0 if it need not.
    turn_deg : float or None
        How far it is turned from the infinity mark; None where the lens file does not tell how
        far the ring turns in all.
    """

    distance_m: float
    beyond_infinity_mm: float
    too_near_mm: float
    turn_deg: float | None = None

    @property
    def reached(self) -> bool:
        """Whether the ring turns that far."""
        return self.too_near_mm == 0 and self.beyond_infinity_mm == 0


@dataclass(frozen=True, slots=True, kw_only=True)
class LensLimits:
    """Limits and scales of one lens.

    Attributes
    ----------
    name : str
    focal_mm : float
    widest_f_number, smallest_f_number : float
        2.8 and 22, say: the f-number range.
    tilt_limit_deg : float
        Either way; 0 for a lens that only shifts.
    shift_limit_mm : float
        Either way.
    axis_turns : bool
        Whether the tilt axis can be turned on the mount, so that the lens also swings.
    marks_per_degree : float
        Marks of the tilt scale, 1 for a mark at each degree.
    pivot_behind_mm : float
        From the lens centre back to the axis it tilts about; negative if the axis lies in front.
    closest_focus_m : float
        From subject to sensor, as engraved.
    ring_turn_deg : float or None
        How far the focus ring turns from infinity to the closest focus; a plain helicoid, whose
        turn goes with the extension.
    """

    name: str
    focal_mm: float
    widest_f_number: float
    smallest_f_number: float
    tilt_limit_deg: float
    shift_limit_mm: float = 0.0
    axis_turns: bool = True
    marks_per_degree: float = 1.0
    pivot_behind_mm: float = 0.0
    closest_focus_m: float
    ring_turn_deg: float | None = None

    def __post_init__(self) -> None:
        for field in ("focal_mm", "widest_f_number", "marks_per_degree", "closest_focus_m"):
            value = getattr(self, field)
            if not (math.isfinite(value) and value > 0):
                raise SettingError(f"{field} must be a number above 0, not {value!r}")
        if not self.widest_f_number <= self.smallest_f_number < math.inf:
            raise SettingError(
                f"the f-numbers must run from wide to small, such as 2.8 to 22, not "
                f"{self.widest_f_number!r} to {self.smallest_f_number!r}"
            )
        if not 0 <= self.tilt_limit_deg < 45:
            raise SettingError(
                "tilt_limit_deg is how far the lens tilts either way from straight, from 0 to "
                f"below 45, not {self.tilt_limit_deg!r}"
            )
        if not 0 <= self.shift_limit_mm < math.inf:
            raise SettingError(f"shift_limit_mm must be 0 or more, not {self.shift_limit_mm!r}")
        if not math.isfinite(self.pivot_behind_mm):
            raise SettingError(f"pivot_behind_mm must be a number, not {self.pivot_behind_mm!r}")
        if self.ring_turn_deg is not None and not 10 <= self.ring_turn_deg <= 720:
            raise SettingError(
                "ring_turn_deg is how far the focus ring turns from infinity to its nearest mark, "
                f"from 10 to 720, not {self.ring_turn_deg!r}"
            )
        if not self.closest_focus_m * 1000.0 >= 4.0 * self.focal_mm:
            raise SettingError(
                f"a {focal_words(self.focal_mm)} lens focuses no nearer than four focal lengths "
                f"from the sensor ({4 * self.focal_mm / 1000:g} m), "
                f"not at {self.closest_focus_m:g} m"
            )

    @property
    def longest_extension_mm(self) -> float:
        """Extension at the closest focus: the smaller v with ``v + f v / (v - f) = distance``."""
        distance = 1000.0 * self.closest_focus_m
        return (distance - math.sqrt(distance * distance - 4.0 * distance * self.focal_mm)) / 2.0

    @property
    def pivot(self) -> Pivot:
        """The axis it tilts about."""
        return Pivot(self.pivot_behind_mm)

    def freedom(self, *, tilt: bool = True, swing: bool = True) -> Freedom:
        """What may be turned on this lens, of the movements that are wished for.

        Raises
        ------
        SettingError
            If a swing is wished for alone and the axis cannot be turned.
        """
        if swing and not tilt and not self.axis_turns:
            raise LensError(
                f"the lens {self.name} cannot swing: its tilt axis does not turn; allow tilt"
            )
        return Freedom(tilt=tilt, swing=swing and self.axis_turns, limit_deg=self.tilt_limit_deg)

    def ring_reading(self, extension_mm: float, tilt_deg: float, swing_deg: float) -> RingReading:
        """Where the focus ring stands for a lens position.

        The ring moves the lens along its own axis, from a tilt axis that stays put, and its
        infinity mark is the untilted lens at v = f. With r the pivot's distance at infinity, the
        centre of a lens extended by e stands ``f - r + (r + e) cos(tilt)`` from the sensor.
        """
        total, _ = total_and_azimuth(tilt_deg, swing_deg)
        f, r = self.focal_mm, self.pivot_behind_mm
        extended = (extension_mm - f + r) / math.cos(math.radians(total)) - r
        longest = self.longest_extension_mm - f
        v = f + extended
        distance = (v + f * v / extended) / 1000.0 if extended > 1e-9 * f else math.inf
        return RingReading(
            distance_m=distance,
            beyond_infinity_mm=max(0.0, -extended) if extended < -1e-9 * f else 0.0,
            too_near_mm=max(0.0, extended - longest * (1 + 1e-9)),
            turn_deg=None
            if self.ring_turn_deg is None
            else self.ring_turn_deg * extended / longest,
        )

    def f_number_at_least(self, f_number: float) -> float:
        """Widest third of a stop on this lens that is no wider than `f_number`.

        The exact thirds are ``2 ** (k / 6)``; the ends are as marked. Above the smallest opening
        it is that opening.
        """
        if f_number <= self.widest_f_number:
            return self.widest_f_number
        third = math.pow(2.0, math.ceil(6 * math.log2(f_number) - 1e-6) / 6)
        return min(third, self.smallest_f_number)


def stops_away(f_number: float, stops: float) -> float:
    """The f-number so many stops smaller (> 0) or wider, from what a marked one stands for.

    >>> stops_away(5.6, -1.0), stops_away(4.0, 1.0)
    (4.0, 5.656854249492381)
    """
    steps = 6.0 * math.log2(f_number)
    third = round(steps)
    marked = abs(2.0 ** ((steps - third) / 6.0) - 1.0) <= MARK_SHARE
    return math.pow(2.0, ((third if marked else steps) + 3.0 * stops) / 6.0)


def usual_limits(focal_mm: float, f_number: float | None = None) -> LensLimits:
    """What such lenses usually allow (common practice, no source), where no lens is named.

    One whose f-number is known has that too, however unusual (`unusual_words` says so).
    """
    least, most = (2.8, 22.0) if f_number is None else (min(2.8, f_number), max(22.0, f_number))
    return LensLimits(
        name="a usual tilting lens",
        focal_mm=focal_mm,
        widest_f_number=least,
        smallest_f_number=most,
        tilt_limit_deg=8.0,
        shift_limit_mm=12.0,
        closest_focus_m=max(0.3, 0.0045 * focal_mm),
    )


def unusual_words(f_number: float, tilt_deg: float, swing_deg: float) -> str:
    """Say what no usual lens does, where none is named; nothing if one does it."""
    usual, (total, _) = usual_limits(1.0), total_and_azimuth(tilt_deg, swing_deg)
    most = usual.tilt_limit_deg
    widest, smallest = usual.widest_f_number, usual.smallest_f_number
    kind = "tilting lens"
    if total == 0:
        widest, smallest, kind = _WIDEST_AT_ALL, _SMALLEST_AT_ALL, "lens"
    much = []
    if total > (1 + MARK_SHARE) * most:
        much.append(f"leans {total:.3g}° (usual: to {most:g}°)")
    if f_number * (1 + MARK_SHARE) < widest or f_number > (1 + MARK_SHARE) * smallest:
        much.append(f"has {spell_f_number(f_number)} (usual: f/{widest:g} to f/{smallest:g})")
    if not much:
        return ""
    return f"no usual {kind} {' or '.join(much)}: name the one that does with --lens-file"
