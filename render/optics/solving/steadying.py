"""No wilder lens for what the distances are not known to, or for what is not seen.

Three points measured with a tape along a row fix a plane only by the tape's mistakes: a centimetre
turns it about the row by any angle. So the least lean is taken that serves them as well.
"""

import math

from render.errors import SettingError
from render.optics.solving.dialling import UNSEEN_CIRCLES, circles_lost, dialled
from render.optics.solving.limits import LensLimits
from render.optics.solving.solve import Solution, best_plane
from render.optics.solving.targets import Freedom

__all__ = ["steadied", "within_doubt"]

_STOP_SHARE = 2.0**0.25  # half a stop, which what lies within the doubt may cost (ours)
_SAME_DEG = 0.05  # leaning less by no more than that is no simpler


def steadied(
    exact: Solution,
    limits: LensLimits,
    freedom: Freedom,
    coc_mm: float,
    pixel_slope: float,
    least_f_number: float,
) -> Solution:
    """The least lean that serves the targets of an exact solution as well as they are known.

    First the lens straight, then leant along the row of the points alone, is taken where that
    blurs by next to nothing more, be it exactly or on the marks that hands can set, or passes each
    point within its doubt for half a stop.

    Parameters
    ----------
    exact : Solution
        With all that `freedom` gives.
    least_f_number : float
        It is not opened wider than this anyway.

    Returns
    -------
    Solution
        `exact` itself where no simpler one serves.
    """
    for directions in (0, 1):
        try:
            simple = best_plane(
                exact.targets,
                exact.focal_mm,
                freedom,
                pixel_slope=pixel_slope,
                directions=directions,
            )
        except SettingError:
            continue
        if simple.total_tilt_deg > exact.total_tilt_deg - _SAME_DEG:
            continue
        if circles_lost(simple, exact, coc_mm, least_f_number) < UNSEEN_CIRCLES:
            return simple
        set_simple, set_exact = (
            dialled(each, limits, freedom, coc_mm, least_f_number) for each in (simple, exact)
        )
        if circles_lost(set_simple, set_exact, coc_mm, least_f_number) < UNSEEN_CIRCLES:
            return simple
        most = max(set_exact.f_number_needed(coc_mm), least_f_number) * _STOP_SHARE
        if within_doubt(simple, exact) and set_simple.f_number_needed(coc_mm) <= most:
            return simple
    return exact


def within_doubt(simple: Solution, exact: Solution) -> bool:
    """Whether all that `exact` gains over a simpler position lies below what is known of places."""
    return all(
        off <= best + target.doubt_m
        for off, best, target in zip(
            simple.off_plane_m, exact.off_plane_m, exact.targets, strict=True
        )
        if math.isfinite(target.depth_m)
    )
