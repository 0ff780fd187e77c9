"""How far the sharp band moves for a small error of tilt, swing, focus or f-number.

The body and the focus ring stay where they are while the lens turns about its tilt axis: the lens
centre is carried along (`render.optics.solving.movements.Pivot`), so a lens that turns behind its
centre loses focus faster than its angle alone would tell. Checked against traced rays.
"""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from render.errors import SettingError
from render.judge.case import Case, seen_band
from render.judge.measures import measure
from render.judge.sharpness import JUST_SHARP
from render.optics.band import GroundBand
from render.optics.blur import blur_mm
from render.optics.lens import Focus, FocusExtension, FocusSpot, LensSetting
from render.optics.plane import FocusedLens, focus_lens
from render.optics.solving.hands import in_hand, seen_from
from render.optics.solving.holding import misfits
from render.optics.solving.limits import LensLimits, stops_away
from render.optics.solving.movements import revolved, total_and_azimuth
from render.optics.solving.targets import Target
from render.words import length_words, listed, spell_f_number

__all__ = [
    "START_VALUES",
    "Slack",
    "Tolerance",
    "blur_circles",
    "focus_anew",
    "slack",
    "sway_m",
    "tolerances",
]

#: Two glass designs, traced turned about their front nodal point, gave hinge distances from 5 %
#: shorter to 11 % longer than the thin lens's (computed for this project with optiland).
START_VALUES = (
    "tilt and focus are start values: in real lenses the hinge line lies several per cent nearer "
    "or farther than a thin lens's, so set them by the magnified picture"
)
_STEP_DEG = 1.0
_MOST_TURN_DEG, _STEPS = 10.0, 60
_MOST_SWAY_M = 1.0
_FOCUS_STEP = 0.001  # share of the extension: about what a ring can be set to


@dataclass(frozen=True, slots=True)
class Tolerance:
    """What one change does to the band at the middle of the picture, or to the things named.

    Attributes
    ----------
    change : str
        "1° more tilt, focus set anew", ...
    near_m, far_m : float
        The band on level ground after it, metres along the ground; NaN where the ground is not
        known or not sharp, or that edge lies outside the frame; ``inf`` to the horizon.
    near_moves_m, far_moves_m : float
        How far its edges moved (NaN, ``inf`` likewise).
    from_top, height_fraction : float
        Middle and height of the band in the picture after it.
    moves_down, moves_right : float
        How far its middle moved in the frame, shares of the picture's height and width.
    circles : tuple of (name, float)
        How many circles of confusion each named thing then blurs by.
    soft_before : tuple of str
        Those of them that are soft as planned.
    outside : str
        "below" or "above" where the band then meets the ground outside the frame.
    """

    change: str
    near_m: float
    far_m: float
    near_moves_m: float
    far_moves_m: float
    from_top: float
    height_fraction: float
    moves_down: float
    moves_right: float
    circles: tuple[tuple[str, float], ...] = ()
    soft_before: tuple[str, ...] = ()
    outside: str = ""

    @property
    def sentence(self) -> str:
        """As printed: "1° more tilt, focus set anew: sharp from 52 m to 69 m along the ground"."""
        if self.circles:
            return f"{self.change}: {_things_words(self.circles, self.soft_before)}"
        if math.isinf(self.far_m):
            return f"{self.change}: the band reaches to the horizon"
        if math.isinf(self.far_moves_m):
            return (
                f"{self.change}: the band ends at {length_words(self.far_m)}, no more "
                "at the horizon"
            )
        near, far = math.isfinite(self.near_moves_m), math.isfinite(self.far_moves_m)
        if not (near or far):
            meets = f" (it meets the ground {self.outside} the frame)" if self.outside else ""
            aside = abs(self.moves_right) > abs(self.moves_down)
            moved = self.moves_right if aside else self.moves_down
            way = ("right" if moved > 0 else "left") if aside else ("down" if moved > 0 else "up")
            side = "width" if aside else "height"
            if abs(moved) < 0.005:
                return f"{self.change}: the band stays where it is{meets}"
            return (
                f"{self.change}: moves the band {way} by {100 * abs(moved):.0f} % of the "
                f"picture's {side}{meets}"
            )
        ends = [f"from {length_words(self.near_m)}"] if near else []
        ends += [f"to {length_words(self.far_m)}"] if far else []
        return f"{self.change}: sharp {' '.join(ends)} along the ground"


def _things_words(circles: Sequence[tuple[str, float]], before: Sequence[str]) -> str:
    """What becomes of named things: "Ann goes soft (1.3 circles); Ben and Cy stay sharp"."""
    soft = [(name, f"{times:.1f}") for name, times in circles if times > JUST_SHARP]
    sharp = [name for name, times in circles if times <= JUST_SHARP]
    mended = [name for name in sharp if name in before]
    kept = [name for name in sharp if name not in before]
    if not soft and not mended:
        return "all stays sharp"
    said = []
    for verb, then, went in (("go", "es", False), ("stay", "s", True)):
        if gone := [each for each in soft if (each[0] in before) is went]:
            named, times = [name for name, _ in gone], [each for _, each in gone]
            said.append(
                f"{listed(named)} {verb}{then if len(gone) == 1 else ''} soft "
                f"({listed(times)} circles)"
            )
    for names, verb in ((mended, "become"), (kept, "stay")):
        if names:
            said.append(f"{listed(names)} {verb}{'s' if len(names) == 1 else ''} sharp")
    return "; ".join(said)


@dataclass(frozen=True, slots=True)
class Slack:
    """How far one thing may be off until the first of the places that matter is just soft.

    Attributes
    ----------
    tilt_deg, swing_deg : float or None
        Either way, all else kept; None where the lens is not turned that way.
    focus_mm : float
        Of the extension, either way.
    ring_near_m, ring_far_m : float
        What the focus ring reads at both ends of that.
    ring_turn_deg : float or None
        The same as a turn of the ring, either way; None where the lens file does not tell.
    in_hand : bool
        Whether hands can keep inside that; so said where all is soft as planned.
    f_number_for_hands : float or None
        Where not: the widest third of a stop at which they can; None where the lens has none.
    """

    tilt_deg: float | None
    swing_deg: float | None
    focus_mm: float
    ring_near_m: float
    ring_far_m: float
    ring_turn_deg: float | None = None
    in_hand: bool = True
    f_number_for_hands: float | None = None

    @property
    def turn_words(self) -> str:
        """Tilt and swing: "tilt ±0.21°"; empty for a straight lens."""
        turns = (("tilt", self.tilt_deg), ("swing", self.swing_deg))
        return ", ".join(f"{name} ±{off:.2g}°" for name, off in turns if off is not None)

    @property
    def ring_words(self) -> str:
        """The focus ring: "ring 5.61 m to 6.03 m (±0.9°)"; one reading where it tells no two."""
        turned = "" if self.ring_turn_deg is None else f" (±{self.ring_turn_deg:.2g}°)"
        near, far = length_words(self.ring_near_m), length_words(self.ring_far_m)
        return f"ring {near if near == far else f'{near} to {far}'}{turned}"

    @property
    def words(self) -> str:
        """As on the card: "tilt ±0.21°, ring 5.61 m to 6.03 m"."""
        no_slack = "" if self.in_hand else "no slack for hands"
        if self.f_number_for_hands:
            no_slack += f": stop down to {spell_f_number(self.f_number_for_hands)}"
        return ", ".join(filter(None, [self.turn_words, self.ring_words, no_slack]))

    @property
    def sentence(self) -> str:
        """One line for the list of tolerances."""
        begun = "until something that must be sharp is just soft, each alone may be, either way"
        return f"{begun}: {self.words}"


def blur_circles(case: Case, setting: LensSetting, lens: FocusedLens, place: Target) -> float:
    """Blur at a place in circles of confusion: 1 is just sharp."""
    slopes = place.slope_x, place.slope_y
    return float(blur_mm(lens, slopes, 1.0 / place.depth_m)) / case.coc_for(setting)


def slack(case: Case, setting: LensSetting, places: Sequence[Target], limits: LensLimits) -> Slack:
    """How far tilt, swing and extension may be off for the places that must stay sharp.

    Found by bisection on the exact blur; a turn that never softens them within 10 degrees is
    given as that. A place that is soft already leaves nothing.
    """
    before = focus_lens(setting)
    extension = before.extension_mm

    def blur(changed: LensSetting, moved_mm: tuple[float, float, float]) -> float:
        lens = focus_lens(changed)
        return max(
            blur_circles(case, setting, lens, seen_from(place, moved_mm)) for place in places
        )

    def turned(tilt_off: float, swing_off: float) -> float:
        tilt, swing = setting.tilt_deg + tilt_off, setting.swing_deg + swing_off
        changed, moved = _turned(setting, before, limits, tilt, swing)
        return blur(changed, moved)

    def refocused(off: float) -> float:
        return blur(replace(setting, focus=FocusExtension(extension + off)), (0.0, 0.0, 0.0))

    focus_mm = _either_way(refocused, 0.2 * extension)
    rings = [
        limits.ring_reading(extension + off, setting.tilt_deg, setting.swing_deg)
        for off in (focus_mm, 0.0, -focus_mm)
    ]
    turns = [ring.turn_deg for ring in rings]
    half = None
    if turns[0] is not None and turns[2] is not None:
        half = abs(turns[0] - turns[2]) / 2
    tilt = _either_way(lambda off: turned(off, 0.0), _MOST_TURN_DEG) if setting.tilt_deg else None
    swing = _either_way(lambda off: turned(0.0, off), _MOST_TURN_DEG) if setting.swing_deg else None
    offs = [off for off in (tilt, swing) if off is not None]
    found = Slack(
        tilt_deg=tilt,
        swing_deg=swing,
        focus_mm=focus_mm,
        ring_near_m=rings[0].distance_m,
        ring_far_m=rings[2].distance_m,
        ring_turn_deg=half,
        in_hand=focus_mm == 0 or in_hand(limits, extension, focus_mm, offs),
    )
    if found.in_hand:
        return found
    narrower = replace(setting, f_number=stops_away(setting.f_number, 1 / 3))
    if misfits(limits, narrower):
        return found
    then = slack(case, narrower, places, limits)
    stop = narrower.f_number if then.in_hand else then.f_number_for_hands
    return replace(found, f_number_for_hands=stop)


def sway_m(
    case: Case, setting: LensSetting, places: Sequence[Target]
) -> tuple[float | None, float | None]:
    """How far what stands at the places may come nearer, and go back, along the camera's axis.

    Until the first of those that are sharp is just soft, at most a metre; None where none is.
    """
    lens = focus_lens(setting)
    sharp = [place for place in places if blur_circles(case, setting, lens, place) <= 1.0]
    if not sharp:
        return None, None

    def blur(nearer_m: float) -> float:
        moved_mm = (0.0, 0.0, 1000.0 * nearer_m)
        return max(blur_circles(case, setting, lens, seen_from(place, moved_mm)) for place in sharp)

    return _last_sharp(blur, _MOST_SWAY_M), _last_sharp(lambda m: blur(-m), _MOST_SWAY_M)


def _turned(
    setting: LensSetting,
    before: FocusedLens,
    limits: LensLimits,
    tilt_deg: float,
    swing_deg: float,
) -> tuple[LensSetting, tuple[float, float, float]]:
    """The setting with the lens turned and the ring left alone, and how far its centre moved."""
    carried = limits.pivot.carried(before, tilt_deg, swing_deg)
    focus = FocusExtension(carried.extension_mm)
    changed = replace(setting, tilt_deg=tilt_deg, swing_deg=swing_deg, focus=focus)
    return changed, carried.moved_mm


def _either_way(blur: Callable[[float], float], most: float) -> float:
    return min(_last_sharp(blur, most), _last_sharp(lambda off: blur(-off), most))


def _last_sharp(blur: Callable[[float], float], most: float) -> float:
    """The least change from 0 at which blur reaches one circle, at most `most`."""
    inside = 0.0
    for step in range(1, _STEPS + 1):
        outside = most * (step / _STEPS) ** 3
        try:
            soft = not blur(outside) <= 1.0
        except SettingError:  # no such setting: it ends there
            return inside
        if soft:
            break
        inside = outside
    else:
        return most
    for _ in range(40):
        middle = (inside + outside) / 2
        inside, outside = (middle, outside) if blur(middle) <= 1.0 else (inside, middle)
    return inside


def tolerances(
    case: Case,
    setting: LensSetting,
    limits: LensLimits,
    named: Sequence[Target] = (),
) -> tuple[Tolerance, ...]:
    """A degree on the tilt scale either way (focus anew, and untouched), the ring, one stop.

    Only the movement that is used is changed, along the axis it is used on; a degree that the
    lens does not have is left out.

    Parameters
    ----------
    named : sequence of Target
        Things that must be sharp: their blur is told in place of the band's edges.
    """
    before = focus_lens(setting)
    extension = before.extension_mm
    still = (0.0, 0.0, 0.0)
    changes: dict[str, tuple[LensSetting, tuple[float, float, float]]] = {}
    anew = focus_anew(case, setting, named)
    total, azimuth = total_and_azimuth(setting.tilt_deg, setting.swing_deg)
    if total > 0:
        name = "tilt" if setting.tilt_deg and not setting.swing_deg else "swing"
        name = "lean" if setting.tilt_deg and setting.swing_deg else name
        for word, angle in (("more", total + _STEP_DEG), ("less", max(0.0, total - _STEP_DEG))):
            tilt, swing = revolved(angle, azimuth)
            turned = replace(setting, tilt_deg=tilt, swing_deg=swing)
            if word == "more" and misfits(limits, turned):
                continue
            step = f"{abs(angle - total):.2g}° {word} {name}"
            changes[f"{step}, focus set anew"] = replace(turned, focus=anew), still
            changes[f"{step}, focus untouched"] = _turned(setting, before, limits, tilt, swing)
    nudged = replace(setting, focus=FocusExtension(extension * (1 + _FOCUS_STEP)))
    ring = limits.ring_reading(extension * (1 + _FOCUS_STEP), setting.tilt_deg, setting.swing_deg)
    changes[f"focus ring turned a hair nearer, to {length_words(ring.distance_m)}"] = nudged, still
    for word, stops in (("wider", -1.0), ("narrower", 1.0)):
        changed = replace(setting, f_number=stops_away(setting.f_number, stops))
        if not misfits(limits, changed):
            changes[f"one stop {word}"] = changed, still
    found = []
    for name, (changed, moved_mm) in changes.items():
        try:
            found.append(_moved(case, setting, changed, moved_mm, name, named))
        except SettingError:  # no extension focuses this far off: nothing to say
            continue
    return tuple(found)


def focus_anew(case: Case, setting: LensSetting, named: Sequence[Target]) -> Focus:
    """What focus is set on again: the first thing named, the spot, or the band's middle."""
    if named:
        return FocusSpot(named[0].slope_x, named[0].slope_y, named[0].depth_m)
    if not isinstance(setting.focus, FocusExtension):
        return setting.focus
    lens = focus_lens(setting)
    band = measure(case.samples, lens, case.coc_for(setting)).band
    inverse = float(lens.sharp_inverse_depth((band.centre_x, band.centre_y)))
    if not inverse > 0:
        return setting.focus
    return FocusSpot(band.centre_x, band.centre_y, 1.0 / inverse)


def _moved(
    case: Case,
    before: LensSetting,
    after: LensSetting,
    moved_mm: tuple[float, float, float],
    name: str,
    named: Sequence[Target],
) -> Tolerance:
    coc_mm, camera = case.coc_for(before), case.samples.camera
    old_ground, ground = seen_band(case, before, coc_mm), seen_band(case, after, coc_mm)
    lens = focus_lens(after)
    old = measure(case.samples, focus_lens(before), coc_mm).band
    new = measure(case.samples, lens, coc_mm).band
    near, far = _edges(case, ground)
    old_near, old_far = _edges(case, old_ground)
    both_far = math.isinf(far) and math.isinf(old_far)
    # the frame moves with the lens centre, so what is seen moves the other way in it
    down = new.centre_y - old.centre_y - moved_mm[1] / lens.extension_mm
    right = new.centre_x - old.centre_x - moved_mm[0] / lens.extension_mm
    return Tolerance(
        change=name,
        near_m=near,
        far_m=far,
        near_moves_m=near - old_near,
        far_moves_m=0.0 if both_far else far - old_far,
        from_top=new.from_top,
        height_fraction=new.height_fraction,
        moves_down=down * camera.focal_px / camera.height_px,
        moves_right=right * camera.focal_px / camera.width_px,
        circles=tuple(
            (p.name, blur_circles(case, before, lens, seen_from(p, moved_mm))) for p in named
        ),
        soft_before=tuple(
            p.name for p in named if blur_circles(case, before, focus_lens(before), p) > JUST_SHARP
        ),
        outside=ground.outside(camera.height_px) if ground else "",
    )


def _edges(case: Case, ground: GroundBand | None) -> tuple[float, float]:
    """Where the band begins and ends along the ground, but for one beyond all that is seen."""
    if ground is None:
        return math.nan, math.nan
    if ground.hidden and ground.far_m > _farthest_m(case):
        return math.nan, math.nan
    return ground.edges_in(case.samples.camera.height_px)


def _farthest_m(case: Case) -> float:
    """How far one sees down the middle of the picture; infinite where that is the sky."""
    samples = case.samples
    least = float(samples.inverse.reshape(samples.shape)[:, samples.shape[1] // 2].min())
    return 1.0 / least if least > 0 else math.inf
