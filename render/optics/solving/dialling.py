"""From the exact answer to one that hands can dial: marks of the tilt scale, steps of the mount.

The simplest marks that still serve are taken: whole marks with the axis upright or level where
they cost no stop, then half and quarter ones, then a turned axis. To serve is to need no more than
a third of a stop more than the exact answer and to lose next to nothing of the picture at its stop,
so that hands keep most of what counts as sharp for their own mistakes.
"""

import math
from collections.abc import Iterator

from render.errors import SettingError
from render.optics.solving.limits import LensLimits
from render.optics.solving.movements import revolved, total_and_azimuth
from render.optics.solving.solve import Solution, best_plane
from render.optics.solving.targets import Freedom

__all__ = ["HALF_A_MARK", "UNSEEN_CIRCLES", "circles_lost", "dialled", "wanted_f_number"]

#: What hands set on a scale: marks, and half-way between two; less only where nothing else serves
#: (ours).
HALF_A_MARK = 0.5
#: So much more blur, in circles of confusion, is not seen where something simpler is had for it,
#: and leaves hands three quarters of what counts as sharp (ours).
UNSEEN_CIRCLES = 0.25
#: Parts of a mark, steps of the turning axis in degrees, and thirds of a stop that they may cost:
#: simplest first, with the axis upright or level and turned (ours).
_PLAIN = ((1.0, 90.0, 0), (HALF_A_MARK, 90.0, 1), (0.25, 90.0, 1))
_TURNED = ((1.0, 30.0, 1), (HALF_A_MARK, 30.0, 1), (HALF_A_MARK, 10.0, 1), (0.25, 5.0, 1))
#: Of what the exact answer leaves to hands the simplest may take a third, but never less than a
#: tenth of a circle; where none takes so little, half a circle goes before a turned axis (ours).
_HANDS_SHARE, _LEAST_LOST, _MOST_LOST = 1 / 3, 0.1, 0.5
_THIRD = 2.0 ** (1 / 6)


def dialled(
    solution: Solution,
    limits: LensLimits,
    freedom: Freedom,
    coc_mm: float,
) -> Solution:
    """The lens position on marks that serves the targets of an exact solution.

    Parameters
    ----------
    solution : Solution
    freedom : Freedom
        What may be turned: a movement that may not is not dialled either.

    Returns
    -------
    Solution
        Focused anew for these marks.
    """
    total, azimuth = total_and_azimuth(solution.tilt_deg, solution.swing_deg)
    if total < 1e-3:
        return solution
    least = limits.widest_f_number
    enough = wanted_f_number(max(solution.f_number_needed(coc_mm), least))

    def lost(found: Solution) -> float:
        return circles_lost(found, solution, coc_mm, least)

    left = 1.0 - min(1.0, solution.f_number_needed(coc_mm) / enough)
    little = min(UNSEEN_CIRCLES, max(_LEAST_LOST, _HANDS_SHARE * left))
    finest, plain = solution, None
    for levels in (_PLAIN, _TURNED):
        served = []
        for parts, step_deg, thirds in levels:
            around = _around(total, azimuth, parts / limits.marks_per_degree, step_deg, limits)
            found = [_refocused(solution, *at) for at in around if _may(at, freedom)]
            if not any(found):
                continue
            finest = min((each for each in found if each), key=lost)
            wanted = wanted_f_number(max(finest.f_number_needed(coc_mm), least))
            if wanted <= enough * _THIRD**thirds * (1 + 1e-6):
                served.append(finest)
                if lost(finest) < little:
                    return finest
        best = min(served, key=lost, default=None)
        if best is not None and lost(best) < _MOST_LOST:
            return best
        plain = best if levels is _PLAIN else plain
    return plain or finest


def circles_lost(simple: Solution, exact: Solution, coc_mm: float, least_f_number: float) -> float:
    """How much more the worst target blurs at the stop that `exact` wants, in circles."""
    f_number = max(exact.f_number_needed(coc_mm), least_f_number)
    return (simple.f_number_needed(coc_mm) - exact.f_number_needed(coc_mm)) / f_number


def wanted_f_number(f_number: float) -> float:
    """The next third of a stop, whatever a lens allows: what two positions are compared by."""
    return math.pow(2.0, math.ceil(6 * math.log2(f_number) - 1e-6) / 6)


def _around(
    total: float, azimuth: float, mark_deg: float, step_deg: float, limits: LensLimits
) -> Iterator[tuple[float, float]]:
    """Tilt and swing of the marks to either side of what is wanted, inside the limit."""
    low, turned = math.floor(total / mark_deg), step_deg * round(azimuth / step_deg)
    for marks in (low, low + 1):  # the way it leans stays, or it would be another answer
        tilt, swing = revolved(min(marks * mark_deg, limits.tilt_limit_deg), turned)
        yield round(tilt, 9) + 0.0, round(swing, 9) + 0.0


def _may(at: tuple[float, float], freedom: Freedom) -> bool:
    return (freedom.tilt or abs(at[0]) < 1e-6) and (freedom.swing or abs(at[1]) < 1e-6)


def _refocused(solution: Solution, tilt_deg: float, swing_deg: float) -> Solution | None:
    """The best focus for these angles; None where none can be focused on the targets."""
    held = Freedom(tilt=False, swing=False, tilt_deg=tilt_deg, swing_deg=swing_deg)
    try:
        return best_plane(solution.targets, solution.focal_mm, held)
    except SettingError:
        return None
