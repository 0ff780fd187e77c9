"""Holding a setting to one lens: what of it the lens cannot do, and the nearest that it can.

The one place where a lens's limits meet a setting; every command, the advice and the page ask here.
"""

import math
from dataclasses import replace

from render.errors import LensError
from render.optics.lens import LensSetting
from render.optics.plane import focus_lens
from render.optics.solving.limits import MARK_SHARE, LensLimits, RingReading
from render.optics.solving.movements import revolved, total_and_azimuth
from render.words import (
    lateral_words,
    length_words,
    rise_words,
    spell_f_number,
    swing_words,
    tilt_words,
)

__all__ = [
    "hold",
    "lean_name",
    "lean_words",
    "leaned_words",
    "misfits",
    "nearest_inside",
    "reach_help",
    "reach_words",
    "ring_leans",
    "ring_of",
    "ring_words",
]

_TOLD_APART = 0.1  # of the distance: more than a ring can be read off by
_FROM_SENSOR = 0.02  # of the distance: from here on it tells which end it is counted from (ours)
_SLACK_DEG, _SLACK_MM, _FOCAL_SHARE = 5e-3, 5e-3, 2e-3


def hold(limits: LensLimits, setting: LensSetting) -> None:
    """Refuse a setting that the lens cannot be turned to.

    Raises
    ------
    LensError
        What is beyond it, and the nearest inside.
    """
    if found := misfits(limits, setting):
        raise LensError("; ".join(found))


def misfits(limits: LensLimits, setting: LensSetting) -> tuple[str, ...]:
    """What of a setting the lens cannot do, a sentence each with the nearest inside; or nothing.

    Focus is not among it (see `reach_words`): extension rings and the play past infinity are not
    in a lens file.
    """
    nearest, name = nearest_inside(limits, setting), f"the lens {limits.name}"
    found = []
    if abs(setting.focal_mm / limits.focal_mm - 1) > _FOCAL_SHARE:
        found.append(
            f"{setting.focal_mm:g} mm is not the focal length of {name}, which has "
            f"{limits.focal_mm:g} mm"
        )
    if nearest.f_number != setting.f_number:
        way = "open" if setting.f_number < limits.widest_f_number else "stop down"
        found.append(
            f"{name} does not {way} to {spell_f_number(setting.f_number)}: the nearest is "
            f"{spell_f_number(nearest.f_number)}"
        )
    if (nearest.tilt_deg, nearest.swing_deg) != (setting.tilt_deg, setting.swing_deg):
        found.append(_turn_words(limits, setting, nearest))
    if (nearest.rise_mm, nearest.lateral_mm) != (setting.rise_mm, setting.lateral_mm):
        total = math.hypot(setting.rise_mm, setting.lateral_mm)
        found.append(
            f"{name} shifts {limits.shift_limit_mm:g} mm, not {total:.3g} mm: the nearest is "
            f"{_shift_words(nearest)}"
        )
    return tuple(found)


def nearest_inside(limits: LensLimits, setting: LensSetting) -> LensSetting:
    """The setting that the lens can do which is nearest; the setting itself where it can.

    A lens with one tilt axis keeps the way it leans, and gives up angle; so does shift.
    """
    tilt, swing = setting.tilt_deg, setting.swing_deg
    total, azimuth = total_and_azimuth(tilt, swing)
    if swing and not limits.axis_turns:
        tilt, swing = math.copysign(min(abs(tilt), limits.tilt_limit_deg), tilt) + 0.0, 0.0
    elif total > limits.tilt_limit_deg + _SLACK_DEG:
        tilt, swing = (_cut(part) for part in revolved(limits.tilt_limit_deg, azimuth))
    rise, lateral = setting.rise_mm, setting.lateral_mm
    shifted = math.hypot(rise, lateral)
    if shifted > limits.shift_limit_mm + _SLACK_MM:
        share = limits.shift_limit_mm / shifted
        rise, lateral = _cut(rise * share), _cut(lateral * share)
    f_number = setting.f_number
    if f_number < limits.widest_f_number * (1 - MARK_SHARE):
        f_number = limits.widest_f_number
    elif f_number > limits.smallest_f_number * (1 + MARK_SHARE):
        f_number = limits.smallest_f_number
    focal = setting.focal_mm
    if abs(focal / limits.focal_mm - 1) > _FOCAL_SHARE:
        focal = limits.focal_mm
    return replace(
        setting,
        focal_mm=focal,
        f_number=f_number,
        tilt_deg=tilt,
        swing_deg=swing,
        rise_mm=rise,
        lateral_mm=lateral,
    )


def ring_of(limits: LensLimits, setting: LensSetting) -> RingReading:
    """Where the focus ring stands at a setting: the number that every command says."""
    extension = focus_lens(setting).extension_mm
    return limits.ring_reading(extension, setting.tilt_deg, setting.swing_deg)


def ring_words(ring: RingReading) -> str:
    """Where the ring stands, and how far it is turned: "1.18 m (21° from infinity)".

    Where it does not turn so far, that is said.
    """
    if ring.beyond_infinity_mm:
        return f"{ring.beyond_infinity_mm:.2g} mm past infinity"
    if math.isinf(ring.distance_m):
        return "infinity"
    if ring.too_near_mm:
        return f"{length_words(ring.distance_m)}, past its near end"
    turned = "" if ring.turn_deg is None else f" ({ring.turn_deg:.0f}° from infinity)"
    return f"{length_words(ring.distance_m)}{turned}"


def ring_leans(ring: RingReading, setting: LensSetting, depth_m: float) -> bool:
    """Whether it is the lean that makes the ring read another distance than what is focused on.

    The ring is marked for a straight lens; one that leans stands as far out for a focus at another
    distance (`LensLimits.ring_reading`).
    """
    if not (setting.tilt_deg or setting.swing_deg):
        return False
    straight_m = depth_m + focus_lens(setting).extension_mm / 1000.0
    return abs(ring.distance_m / straight_m - 1) >= _TOLD_APART


def leaned_words(ring: RingReading, setting: LensSetting, depth_m: float) -> str:
    """Why the ring reads another distance than what is focused on, or nothing where it does not.

    It is to be set as it reads: "which swing makes 1.51 m". Its marks count from the sensor, and
    so near that this tells, both ends are named: "from the sensor, 0.558 m from the lens".
    """
    if not math.isfinite(ring.distance_m) or not ring.reached:
        return ""
    leaned = ring_leans(ring, setting, depth_m)
    near = focus_lens(setting).extension_mm / 1000.0 >= _FROM_SENSOR * depth_m
    away = f"{length_words(depth_m)} from the lens" if near else length_words(depth_m)
    name = "lean" if setting.tilt_deg and setting.swing_deg else "swing"
    by = f"which {'tilt' if not setting.swing_deg else name} makes {away}"
    if near:
        return f"from the sensor, {by if leaned else away}"
    return by if leaned else ""


def reach_help(ring: RingReading) -> str:
    """What helps where the ring does not turn so far."""
    if ring.too_near_mm:
        return "step back, or add a thin extension ring"
    return "focus on something nearer, or lean the lens less"


def reach_words(limits: LensLimits, ring: RingReading) -> str:
    """Where the ring does not turn so far: what is missing and what helps; else nothing."""
    if ring.too_near_mm:
        return (
            f"the focus ring of the lens {limits.name} ends at "
            f"{length_words(limits.closest_focus_m)}: "
            f"{ring.too_near_mm:.1f} mm are missing; {reach_help(ring)}"
        )
    if ring.beyond_infinity_mm:
        return (
            f"the focus ring of the lens {limits.name} would have to turn "
            f"{ring.beyond_infinity_mm:.2f} mm past infinity, which not every lens does: "
            f"{reach_help(ring)}"
        )
    return ""


def lean_words(tilt_deg: float, swing_deg: float) -> str:
    """Tilt and swing in one phrase: "lens up 8°, lens left 3°", or "lens straight"."""
    parts = [
        words(round(value, 2))
        for words, value in ((tilt_words, tilt_deg), (swing_words, swing_deg))
        if abs(value) >= 0.005
    ]
    return ", ".join(parts) or "lens straight"


def lean_name(tilt_deg: float, swing_deg: float) -> str:
    """Which movements `lean_words` tells: "Tilt", "Swing" or "Tilt and swing"."""
    if abs(swing_deg) < 0.005:
        return "Tilt"
    return "Swing" if abs(tilt_deg) < 0.005 else "Tilt and swing"


def _turn_words(limits: LensLimits, setting: LensSetting, nearest: LensSetting) -> str:
    wanted = lean_words(setting.tilt_deg, setting.swing_deg)
    inside = lean_words(nearest.tilt_deg, nearest.swing_deg)
    name = f"the lens {limits.name}"
    if limits.tilt_limit_deg == 0:
        return f"{name} does not tilt ({wanted}): leave it straight"
    if setting.swing_deg and not limits.axis_turns:
        return (
            f"{name} cannot swing, its tilt axis does not turn ({wanted}): the nearest is {inside}"
        )
    on_axis = ""
    if setting.tilt_deg and setting.swing_deg:
        total, _ = total_and_azimuth(setting.tilt_deg, setting.swing_deg)
        on_axis = f" is {total:.1f}° on its one axis and"
    return (
        f"{wanted}{on_axis} is more than {name} tilts ({limits.tilt_limit_deg:g}° any way): the "
        f"nearest is {inside}"
    )


def _shift_words(setting: LensSetting) -> str:
    parts = [rise_words(setting.rise_mm)] if setting.rise_mm else []
    parts += [lateral_words(setting.lateral_mm)] if setting.lateral_mm else []
    return ", ".join(parts) or "no shift"


def _cut(value: float) -> float:
    """Two decimals towards zero, so that what is named lies inside."""
    return math.trunc(value * 100 + math.copysign(1e-6, value)) / 100 + 0.0
