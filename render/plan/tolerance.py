"""How far the sharp band moves for a small error of tilt, focus or f-number."""

import math
from dataclasses import dataclass, replace

from render.errors import SettingError
from render.judge.case import Case
from render.judge.measures import measure
from render.optics.band import GroundBand, ground_band
from render.optics.lens import FocusExtension, LensSetting
from render.optics.plane import focus_lens
from render.words import metres

__all__ = ["START_VALUES", "Tolerance", "tolerances"]

#: Two glass designs, traced turned about their front nodal point, gave hinge distances from 5 %
#: shorter to 11 % longer than the thin lens's (computed for this project with optiland).
START_VALUES = (
    "tilt and focus are start values: in real lenses the hinge line lies several per cent nearer "
    "or farther than a thin lens's, so set them by the magnified picture"
)
_TILT_STEP_DEG = 1.0
_FOCUS_STEP = 0.001  # share of the extension: about what a ring can be set to


@dataclass(frozen=True, slots=True)
class Tolerance:
    """What one change does to the band at the middle of the picture.

    Attributes
    ----------
    change : str
        "1° more tilt, focus set anew", ...
    near_m, far_m : float
        The band on level ground after it, metres over the ground; NaN where the ground is not
        known or not sharp, ``inf`` to the horizon.
    near_moves_m, far_moves_m : float
        How far its edges moved (NaN, ``inf`` likewise).
    from_top, height_fraction : float
        Middle and height of the band in the picture after it.
    centre_moves : float
        How far its middle moved, share of the picture's height; down is positive.
    """

    change: str
    near_m: float
    far_m: float
    near_moves_m: float
    far_moves_m: float
    from_top: float
    height_fraction: float
    centre_moves: float

    @property
    def sentence(self) -> str:
        """As printed: "1° more tilt, focus set anew: moves the band's far edge by 9 m, to 69 m"."""
        if math.isnan(self.far_m):
            return (
                f"{self.change}: moves the band by {100 * self.centre_moves:+.0f} % of the "
                f"picture's height; it is then {100 * self.height_fraction:.2g} % high"
            )
        if math.isinf(self.far_m):
            return f"{self.change}: the band reaches to the horizon"
        if math.isinf(self.far_moves_m):
            return f"{self.change}: the band ends at {metres(self.far_m)}, no more at the horizon"
        return (
            f"{self.change}: moves the band's far edge by {metres(abs(self.far_moves_m))}, to "
            f"{metres(self.far_m)}, the near edge by {metres(abs(self.near_moves_m))}, to "
            f"{metres(self.near_m)}"
        )


def tolerances(case: Case, setting: LensSetting) -> tuple[Tolerance, ...]:
    """Tilt 1 degree either way (focus set anew, and untouched), the focus ring, one stop."""
    extension = focus_lens(setting).extension_mm
    held = FocusExtension(extension)
    away = 1.0 if setting.tilt_deg >= 0 else -1.0
    more, less = (setting.tilt_deg + s * away * _TILT_STEP_DEG for s in (1, -1))
    changes = {
        "1° more tilt, focus set anew": replace(setting, tilt_deg=more),
        "1° less tilt, focus set anew": replace(setting, tilt_deg=less),
        "1° more tilt, focus untouched": replace(setting, tilt_deg=more, focus=held),
        f"focus off by {1000 * _FOCUS_STEP * extension:.0f} µm of extension": replace(
            setting, focus=FocusExtension(extension * (1 + _FOCUS_STEP))
        ),
        "one stop wider": replace(setting, f_number=setting.f_number / math.sqrt(2)),
        "one stop narrower": replace(setting, f_number=setting.f_number * math.sqrt(2)),
    }
    found = []
    for name, changed in changes.items():
        try:
            found.append(_moved(case, setting, changed, name))
        except SettingError:  # no extension focuses this far off: nothing to say
            continue
    return tuple(found)


def _moved(case: Case, before: LensSetting, after: LensSetting, name: str) -> Tolerance:
    coc_mm = case.coc_for(before)
    old_ground, ground = _on_ground(case, before, coc_mm), _on_ground(case, after, coc_mm)
    old = measure(case.samples, focus_lens(before), coc_mm).band
    new = measure(case.samples, focus_lens(after), coc_mm).band
    near, far = _edges(ground)
    old_near, old_far = _edges(old_ground)
    both_far = math.isinf(far) and math.isinf(old_far)
    return Tolerance(
        change=name,
        near_m=near,
        far_m=far,
        near_moves_m=near - old_near,
        far_moves_m=0.0 if both_far else far - old_far,
        from_top=new.from_top,
        height_fraction=new.height_fraction,
        centre_moves=new.from_top - old.from_top,
    )


def _on_ground(case: Case, setting: LensSetting, coc_mm: float) -> GroundBand | None:
    if case.vantage is None:
        return None
    camera = case.samples.camera
    return ground_band(focus_lens(setting), camera, case.vantage, coc_mm, camera.width_px / 2)


def _edges(ground: GroundBand | None) -> tuple[float, float]:
    return (ground.near_m, ground.far_m) if ground else (math.nan, math.nan)
