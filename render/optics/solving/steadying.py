"""No wilder lens for what the distances are not known to, or for what is not seen.

Three points measured with a tape along a row fix a plane only by the tape's mistakes: a centimetre
turns it about the row by any angle. So the least lean is taken that serves them as well.
"""

import math

from render.errors import SettingError
from render.optics.solving.dialling import UNSEEN_CIRCLES, circles_lost, dialled
from render.optics.solving.hands import f_number_for_hands
from render.optics.solving.limits import LensLimits
from render.optics.solving.solve import Solution, best_plane
from render.optics.solving.targets import Freedom

__all__ = ["steadied", "within_doubt"]

_STOP_SHARE = 2.0**0.25  # half a stop, which what lies within the doubt may cost (ours)
_NEARLY_UNSEEN = 0.5  # circles that may be lost exactly where on marks next to nothing is (ours)
_SAME_DEG = 0.05  # leaning less by no more than that is no simpler


def steadied(
    exact: Solution,
    limits: LensLimits,
    freedom: Freedom,
    coc_mm: float,
    pixel_slope: float,
) -> Solution:
    """The least lean that serves the targets of an exact solution as well as they are known.

    First the lens straight, then leant along the row of the points alone, is taken where that
    blurs by next to nothing more, be it exactly or on the marks that hands can set; where it holds
    all wide open, with slack for hands, so that a nearer fit would gain nothing; or where it passes
    each point within its doubt for half a stop.

    Parameters
    ----------
    exact : Solution
        With all that `freedom` gives.

    Returns
    -------
    Solution
        `exact` itself where no simpler one serves.
    """
    least = limits.widest_f_number
    exact_at_marks: Solution | None = None
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
        lost = circles_lost(simple, exact, coc_mm, least)
        if lost < UNSEEN_CIRCLES:
            return simple
        if exact_at_marks is None:
            exact_at_marks = dialled(exact, limits, freedom, coc_mm)
        ways = (simple, exact)
        at_marks = (dialled(simple, limits, freedom, coc_mm), exact_at_marks)
        lost_at_marks = circles_lost(*at_marks, coc_mm, least)
        if lost < _NEARLY_UNSEEN and lost_at_marks < UNSEEN_CIRCLES:
            return simple
        if f_number_for_hands(at_marks[0], limits, coc_mm) <= least:
            return simple
        cheap = all(
            few.f_number_needed(coc_mm) <= max(full.f_number_needed(coc_mm), least) * _STOP_SHARE
            for few, full in (ways, at_marks)
        )
        if cheap and within_doubt(simple, exact):
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
