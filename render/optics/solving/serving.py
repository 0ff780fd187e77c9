"""What one lens can do for some points: tilted within its limits, and straight, side by side."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from render.errors import SettingError
from render.optics.diffraction import airy_diameter_mm
from render.optics.plane import focus_lens
from render.optics.solving.dialling import circles_lost, dialled, wanted_f_number
from render.optics.solving.hands import f_number_for_hands
from render.optics.solving.limits import LensLimits, RingReading, stops_away
from render.optics.solving.solve import Solution, best_plane, one_ray, straight_plane
from render.optics.solving.steadying import steadied
from render.optics.solving.targets import Freedom, Target

__all__ = ["Option", "Serving", "serve"]

_LEAST_GAIN = 0.3  # stops: a third, and what rounding takes off it


@dataclass(frozen=True, slots=True)
class Option:
    """One lens position with what it needs and what it leaves.

    Attributes
    ----------
    exact : Solution
        The best position there is, marks or not, that leans no further than the points tell.
    through_all : Solution
        What passes nearest to all of them, however far it leans for that; mostly `exact` itself.
    solution : Solution
        The position on marks that serves: what to dial in.
    f_number_needed : float
        At which every point of `solution` blurs by the circle of confusion or less; below the
        lens's widest if that is more than enough.
    exact_f_number_needed : float
        The same of `exact`.
    f_number_for_hands : float
        At which they also stay sharp where hands miss the mark or the ring by a hair.
    f_number_wanted : float
        The next third of a stop to that, or to what is needed where that alone is more than the
        lens has, as if it stopped down for ever; no wider than the lens or the wish.
    f_number : float
        The same on this lens: what to set.
    f_number_bare : float
        What hands that never miss could set.
    enough : bool
        Whether the lens's smallest opening is small enough.
    ring : RingReading
        Where the focus ring stands.
    framing_mm : float
        How far tilting moves the view down (> 0) on the sensor; 0 for a swing, which moves it
        sideways, and for a straight lens.
    framing_aside_mm : float
        The same to the right.
    coc_mm : float
        Blur up to which a point is sharp.
    airy_mm : float
        Diameter of the diffraction disc at `f_number`.
    """

    exact: Solution
    through_all: Solution
    solution: Solution
    coc_mm: float
    f_number_needed: float
    exact_f_number_needed: float
    f_number_for_hands: float
    f_number_wanted: float
    f_number: float
    f_number_bare: float
    enough: bool
    ring: RingReading
    framing_mm: float
    framing_aside_mm: float
    airy_mm: float

    @property
    def narrowed(self) -> bool:
        """Whether it is stopped down further to leave hands slack."""
        return self.f_number > self.f_number_bare * (1 + 1e-9)

    @property
    def slack(self) -> bool:
        """Whether hands are left any at the stop to set."""
        return self.f_number_for_hands <= self.f_number * (1 + 1e-9)

    @property
    def circles_lost(self) -> float:
        """What the marks lose against `exact` at the f-number to set, in circles of confusion."""
        return circles_lost(self.solution, self.exact, self.coc_mm, self.f_number)

    @property
    def worst_blur_mm(self) -> float:
        """The largest blur left at the f-number to set."""
        return max(self.solution.blur_mm(self.f_number))


@dataclass(frozen=True, slots=True)
class Serving:
    """The best tilted and the best straight position for the same points.

    `tilted` is None where no movement within the limits can be focused on the points; `refusal`
    then says why.
    """

    straight: Option
    tilted: Option | None
    refusal: str = ""

    @property
    def gain_stops(self) -> float:
        """How many stops tilting lets the lens be opened by, as if it stopped down for ever."""
        if self.tilted is None:
            return 0.0
        return 2.0 * math.log2(self.straight.f_number_wanted / self.tilted.f_number_wanted)

    @property
    def tilt_pays(self) -> bool:
        """Whether tilting gains a third of a stop or more, before the lens's ends cut it off."""
        return self.gain_stops > _LEAST_GAIN

    @property
    def chosen(self) -> Option:
        """The position to take: the tilted one where tilting pays."""
        return self.tilted if self.tilted is not None and self.tilt_pays else self.straight


def serve(
    targets: Sequence[Target],
    limits: LensLimits,
    freedom: Freedom,
    coc_mm: float,
    pixel_slope: float,
    least_f_number: float = 0.0,
) -> Serving:
    """Best tilted and best straight position of a lens for points that should be sharp.

    Parameters
    ----------
    freedom : Freedom
        From `LensLimits.freedom`.
    pixel_slope : float
        Rays closer together than this count as one.
    least_f_number : float
        Opened no wider than this, even where the points would allow it. It does not move the lens:
        what one answer sets, asked again, gives that answer.

    Raises
    ------
    SettingError
        If two points lie behind one another, or not even a straight lens can be focused on them.
    """
    if conflict := one_ray(targets, limits.focal_mm, pixel_slope):
        raise SettingError(conflict)
    if least_f_number:  # marked "9", a ring stands at the third of a stop below
        least_f_number = min(least_f_number, stops_away(least_f_number, 0.0))
    plain = straight_plane(targets, limits.focal_mm)
    straight = _option(plain, plain, None, limits, coc_mm, least_f_number)
    try:
        best = best_plane(targets, limits.focal_mm, freedom, pixel_slope=pixel_slope)
    except SettingError as error:
        return Serving(straight, None, str(error))
    exact = steadied(best, limits, freedom, coc_mm, pixel_slope)
    if exact is not best:  # why no plane holds them all is asked of every lean, not of the least
        exact = replace(exact, shortfall=best.shortfall)
    return Serving(straight, _option(exact, best, freedom, limits, coc_mm, least_f_number))


def _option(
    exact: Solution,
    through_all: Solution,
    freedom: Freedom | None,
    limits: LensLimits,
    coc_mm: float,
    least_f_number: float,
) -> Option:
    solution = exact
    if freedom is not None:
        solution = dialled(exact, limits, freedom, coc_mm)
    needed = solution.f_number_needed(coc_mm)
    for_hands = f_number_for_hands(solution, limits, coc_mm)
    enough = needed <= limits.smallest_f_number * (1 + 1e-9)
    least = max(for_hands if enough else needed, least_f_number)
    f_number = limits.f_number_at_least(least)
    scale = solution.extension_mm / limits.focal_mm
    aside_mm, down_mm = limits.pivot.view_moves_mm(focus_lens(solution.setting(f_number)))
    return Option(
        exact=exact,
        through_all=through_all,
        solution=solution,
        coc_mm=coc_mm,
        f_number_needed=needed,
        exact_f_number_needed=exact.f_number_needed(coc_mm),
        f_number_for_hands=for_hands,
        f_number_wanted=wanted_f_number(max(least, limits.widest_f_number)),
        f_number=f_number,
        f_number_bare=limits.f_number_at_least(max(needed, least_f_number)),
        enough=enough,
        ring=limits.ring_reading(solution.extension_mm, solution.tilt_deg, solution.swing_deg),
        framing_mm=down_mm,
        framing_aside_mm=aside_mm,
        airy_mm=airy_diameter_mm(f_number * scale),
    )
