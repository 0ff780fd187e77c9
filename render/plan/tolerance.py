"""How far the sharp band moves for a small error of tilt, focus or f-number."""

import math
from collections.abc import Callable
from dataclasses import dataclass, replace

from render.errors import SettingError
from render.judge.case import Case
from render.judge.measures import measure
from render.optics.band import GroundBand, ground_band
from render.optics.blur import defocus
from render.optics.lens import FocusExtension, LensSetting
from render.optics.plane import focus_lens
from render.words import metres

__all__ = ["START_VALUES", "Slack", "Tolerance", "slack", "tolerances"]

#: Two glass designs, traced turned about their front nodal point, gave hinge distances from 5 %
#: shorter to 11 % longer than the thin lens's (computed for this project with optiland).
START_VALUES = (
    "tilt and focus are start values: in real lenses the hinge line lies several per cent nearer "
    "or farther than a thin lens's, so set them by the magnified picture"
)
_TILT_STEP_DEG = 1.0
_MOST_TURN_DEG, _STEPS = 10.0, 60
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


@dataclass(frozen=True, slots=True)
class Slack:
    """How far one thing may be off until the spot focused on is just soft.

    Attributes
    ----------
    tilt_deg, swing_deg : float or None
        Either way, all else kept; None where the lens is not turned that way.
    focus_mm : float
        Of the extension, either way.
    """

    tilt_deg: float | None
    swing_deg: float | None
    focus_mm: float

    @property
    def words(self) -> str:
        """As on the card: "tilt 0.21°, focus 0.046 mm"."""
        turns = (("tilt", self.tilt_deg), ("swing", self.swing_deg))
        parts = [f"{name} {off:.2g}°" for name, off in turns if off is not None]
        return ", ".join([*parts, f"focus {self.focus_mm:.2g} mm"])

    @property
    def sentence(self) -> str:
        """One line for the list of tolerances."""
        return f"until the spot focused on is just soft, each alone may be off by: {self.words}"


def slack(case: Case, setting: LensSetting, spot: tuple[float, float]) -> Slack:
    """How far tilt, swing and extension may be off at a spot, given as slopes.

    Found by bisection on the exact blur there; a turn that never softens it within 10 degrees
    is given as that.
    """
    coc_mm = case.coc_for(setting)
    extension = focus_lens(setting).extension_mm
    held = replace(setting, focus=FocusExtension(extension))
    at_infinity, at_a_metre = (float(defocus(focus_lens(setting), spot, i)) for i in (0.0, 1.0))
    inverse = at_infinity / (at_infinity - at_a_metre)  # where this ray is sharp

    def blur_mm(changed: LensSetting) -> float:
        lens = focus_lens(changed)
        return 2.0 * lens.aperture_radius_mm * abs(float(defocus(lens, spot, inverse)))

    def allowed(change: Callable[[float], LensSetting], most: float) -> float:
        return min(
            _last_sharp(lambda off: blur_mm(change(off)), coc_mm, most),
            _last_sharp(lambda off: blur_mm(change(-off)), coc_mm, most),
        )

    def tilted(off: float) -> LensSetting:
        return replace(held, tilt_deg=setting.tilt_deg + off)

    def swung(off: float) -> LensSetting:
        return replace(held, swing_deg=setting.swing_deg + off)

    def refocused(off: float) -> LensSetting:
        return replace(held, focus=FocusExtension(extension + off))

    return Slack(
        tilt_deg=allowed(tilted, _MOST_TURN_DEG) if setting.tilt_deg else None,
        swing_deg=allowed(swung, _MOST_TURN_DEG) if setting.swing_deg else None,
        focus_mm=allowed(refocused, 0.2 * extension),
    )


def _last_sharp(blur_mm: Callable[[float], float], coc_mm: float, most: float) -> float:
    """The least change from 0 at which blur reaches the circle, at most `most`."""
    inside = 0.0
    for step in range(1, _STEPS + 1):
        outside = most * (step / _STEPS) ** 3
        try:
            soft = not blur_mm(outside) <= coc_mm
        except SettingError:  # no such setting: it ends there
            return inside
        if soft:
            break
        inside = outside
    else:
        return most
    for _ in range(40):
        middle = (inside + outside) / 2
        inside, outside = (middle, outside) if blur_mm(middle) <= coc_mm else (inside, middle)
    return inside


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
