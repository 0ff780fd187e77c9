"""What hands leave of a lens position: a scale set next to its mark, a ring turned nearly there."""

from collections.abc import Sequence
from dataclasses import replace

from render.errors import SettingError
from render.optics.blur import defocus
from render.optics.lens import FocusExtension
from render.optics.plane import focus_lens
from render.optics.solving.limits import LensLimits
from render.optics.solving.movements import revolved, total_and_azimuth
from render.optics.solving.solve import Solution
from render.optics.solving.targets import Target

__all__ = ["f_number_for_hands", "in_hand", "seen_from"]

#: What even the magnified picture does not show a hand: of a mark, and of the extension (ours).
_MARK_SHARE, _RING_SHARE = 0.05, 0.0005


def f_number_for_hands(solution: Solution, limits: LensLimits, coc_mm: float) -> float:
    """F-number at which every target stays sharp with the scale or the ring off by a hair.

    Each alone, either way: a twentieth of a mark, the ring left where it is while the lens turns
    about its tilt axis, or half a thousandth of the extension.
    """
    setting = solution.setting(1.0)
    before, still = focus_lens(setting), (0.0, 0.0, 0.0)
    ways = [(setting, still)]
    for sign in (-1.0, 1.0):
        extension = solution.extension_mm * (1 + sign * _RING_SHARE)
        ways.append((replace(setting, focus=FocusExtension(extension)), still))
        total, azimuth = total_and_azimuth(solution.tilt_deg, solution.swing_deg)
        if total:
            off = sign * _MARK_SHARE / limits.marks_per_degree
            tilt, swing = revolved(max(0.0, total + off), azimuth)
            carried = limits.pivot.carried(before, tilt, swing)
            focus = FocusExtension(carried.extension_mm)
            turned = replace(setting, tilt_deg=tilt, swing_deg=swing, focus=focus)
            ways.append((turned, carried.moved_mm))
    most = 0.0
    for each, moved_mm in ways:
        lens = focus_lens(each)
        for target in solution.targets:
            seen = seen_from(target, moved_mm)
            slopes = seen.slope_x, seen.slope_y
            most = max(most, abs(float(defocus(lens, slopes, 1.0 / seen.depth_m))))
    return solution.focal_mm * most / coc_mm


def in_hand(
    limits: LensLimits, extension_mm: float, focus_mm: float, turns_deg: Sequence[float]
) -> bool:
    """Whether hands keep inside what the extension and each turn may be off by."""
    return focus_mm >= _RING_SHARE * extension_mm and all(
        off >= _MARK_SHARE / limits.marks_per_degree for off in turns_deg
    )


def seen_from(place: Target, moved_mm: tuple[float, float, float]) -> Target:
    """The same place of the scene from where the lens centre has gone (right, down, forward).

    Raises
    ------
    SettingError
        If it then lies behind the lens.
    """
    x, y, z = (part / 1000.0 / place.depth_m for part in moved_mm)
    if not z < 1.0:
        raise SettingError(f"{place.name} lies behind the lens")
    return Target(
        (place.slope_x - x) / (1.0 - z),
        (place.slope_y - y) / (1.0 - z),
        place.depth_m * (1.0 - z),
        name=place.name,
    )
