"""What one lens can do for some points: tilted within its limits, and straight, side by side."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from render.errors import SettingError
from render.optics.diffraction import airy_diameter_mm
from render.optics.solving.limits import LensLimits, RingReading
from render.optics.solving.movements import revolved, total_and_azimuth
from render.optics.solving.solve import Solution, best_plane, one_ray, straight_plane
from render.optics.solving.targets import Freedom, Target

__all__ = ["Option", "Serving", "serve"]


@dataclass(frozen=True, slots=True)
class Option:
    """One lens position with what it needs and what it leaves.

    Attributes
    ----------
    solution : Solution
    f_number_needed : float
        At which every point blurs by the circle of confusion or less; below the lens's widest if
        that is more than enough.
    f_number : float
        The next third of a stop on this lens: what to set.
    enough : bool
        Whether the lens's smallest opening is small enough.
    ring : RingReading
        Where the focus ring stands.
    framing_mm : float
        How far tilting moves the view down (> 0) on the sensor; 0 for a swing, which moves it
        sideways, and for a straight lens.
    framing_aside_mm : float
        The same to the right.
    mark_deg : float
        The mark of the tilt scale nearest to the total tilt.
    f_number_on_mark : float
        F-number needed with the tilt on that mark and the focus set anew.
    airy_mm : float
        Diameter of the diffraction disc at `f_number`.
    """

    solution: Solution
    f_number_needed: float
    f_number: float
    enough: bool
    ring: RingReading
    framing_mm: float
    framing_aside_mm: float
    mark_deg: float
    f_number_on_mark: float
    airy_mm: float

    @property
    def within_reach(self) -> bool:
        """Whether the focus ring reaches this position."""
        return self.ring.too_near_mm == 0 and self.ring.beyond_infinity_mm == 0


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
    def tilt_pays(self) -> bool:
        """Whether tilting lets the lens be opened by a third of a stop or more."""
        if self.tilted is None:
            return False
        return self.tilted.f_number * 2 ** (1 / 6) <= self.straight.f_number * (1 + 1e-9) or (
            self.tilted.enough and not self.straight.enough
        )


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
        Opened no wider than this, even where the points would allow it.

    Raises
    ------
    SettingError
        If two points lie behind one another, or not even a straight lens can be focused on them.
    """
    if conflict := one_ray(targets, limits.focal_mm, pixel_slope):
        raise SettingError(conflict)
    straight = _option(straight_plane(targets, limits.focal_mm), limits, coc_mm, least_f_number)
    try:
        best = best_plane(targets, limits.focal_mm, freedom, pixel_slope=pixel_slope)
    except SettingError as error:
        return Serving(straight, None, str(error))
    return Serving(straight, _option(best, limits, coc_mm, least_f_number))


def _option(solution: Solution, limits: LensLimits, coc_mm: float, least_f_number: float) -> Option:
    needed = solution.f_number_needed(coc_mm)
    f_number = limits.f_number_at_least(max(needed, least_f_number))
    scale = solution.extension_mm / limits.focal_mm
    total, azimuth = total_and_azimuth(solution.tilt_deg, solution.swing_deg)
    moved = limits.pivot.centre_moves_mm(total)
    mark = min(
        round(total * limits.marks_per_degree) / limits.marks_per_degree, limits.tilt_limit_deg
    )
    return Option(
        solution=solution,
        f_number_needed=needed,
        f_number=f_number,
        enough=needed <= limits.smallest_f_number * (1 + 1e-9),
        ring=limits.ring_reading(solution.extension_mm, solution.tilt_deg, solution.swing_deg),
        framing_mm=moved * math.sin(math.radians(azimuth)) if total else 0.0,
        framing_aside_mm=moved * math.cos(math.radians(azimuth)) if total else 0.0,
        mark_deg=mark,
        f_number_on_mark=_refocused(solution, mark, azimuth).f_number_needed(coc_mm),
        airy_mm=airy_diameter_mm(f_number * scale),
    )


def _refocused(solution: Solution, total_deg: float, azimuth_deg: float) -> Solution:
    """The same lean set to another angle, with the best focus for it."""
    tilt, swing = revolved(total_deg, azimuth_deg)
    held = Freedom(tilt=False, swing=False, tilt_deg=tilt, swing_deg=swing)
    return best_plane(solution.targets, solution.focal_mm, held)
