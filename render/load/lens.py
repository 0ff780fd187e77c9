"""The lens that a shot names: what it can do, and what of the shot it settles."""

from dataclasses import replace

from render.errors import LensError
from render.files.lenses import read_lens
from render.optics.lens import FocusDistance, LensSetting
from render.optics.solving.holding import nearest_inside
from render.optics.solving.limits import LensLimits
from render.shot.shot import LensKeys, Shot

__all__ = ["limits_of", "suggestion_inside", "through_its_lens"]


def limits_of(shot: Shot) -> LensLimits | None:
    """What the lens of a shot can do; None where the shot names no lens.

    Raises
    ------
    InputError, SettingError
        If it cannot be read, or is of another focal length than the shot asks for.
    """
    if shot.lens.lens_file is None:
        return None
    limits = read_lens(shot.lens.lens_file)
    wanted = shot.lens.focal_mm
    if wanted is not None and abs(wanted - limits.focal_mm) > 0.05:
        raise LensError(
            f"--lens says {wanted:g} mm, but the lens {limits.name} has {limits.focal_mm:g} "
            "mm: leave one of them out"
        )
    return limits


def through_its_lens(shot: Shot, limits: LensLimits | None) -> Shot:
    """The shot with the focal length, and where none was given the widest stop, of its lens."""
    if limits is None:
        return shot
    keys = shot.lens
    f_number = limits.widest_f_number if keys.f_number is None else keys.f_number
    return replace(shot, lens=replace(keys, focal_mm=limits.focal_mm, f_number=f_number))


def suggestion_inside(keys: LensKeys, given: LensKeys, limits: LensLimits) -> LensKeys:
    """A scene's suggestion brought inside the lens; what the shot itself says is left as it is."""
    inside = nearest_inside(limits, said_of(keys, limits))
    names = ("f_number", "tilt_deg", "swing_deg", "rise_mm", "lateral_mm")
    found = {name: getattr(inside, name) for name in names if getattr(given, name) is None}
    return replace(keys, **found)


def said_of(keys: LensKeys, limits: LensLimits) -> LensSetting:
    """What is said of how a lens is set, but for its focus; what is not said is as the lens is."""
    return LensSetting(
        focal_mm=limits.focal_mm,
        f_number=keys.f_number or limits.widest_f_number,
        focus=FocusDistance(float("inf")),
        tilt_deg=keys.tilt_deg or 0.0,
        swing_deg=keys.swing_deg or 0.0,
        rise_mm=keys.rise_mm or 0.0,
        lateral_mm=keys.lateral_mm or 0.0,
    )
