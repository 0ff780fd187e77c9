"""Proposals for the lens where it stands: f-number, tilt, tilt axis, place of the band.

On flat ground ``D_p = A_ref N / (M (tan p + y0))`` with ``M = |f cos p / h - sin t|``; each
proposal solves this for one thing (derived here).
"""

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace

from render.judge.advising.best import slanted
from render.judge.advising.places import ground_inverse, open_place
from render.judge.case import Assessment, Case
from render.judge.telltales import find_telltales
from render.judge.weights import RULES
from render.optics.band import level_ground_per_m
from render.optics.camera import Vantage
from render.optics.exposure import WHOLE_STOPS
from render.optics.lens import FocusSpot, LensSetting
from render.optics.plane import focus_lens
from render.optics.solving.limits import LensLimits
from render.optics.solving.targets import ELSEWHERE
from render.optics.terrain import ground_shows
from render.scene.scene import Scene
from render.words import length_words, spell_f_number, swing_words, tilt_words

__all__ = [
    "ON_PICTURE",
    "Situation",
    "Trial",
    "change_words",
    "lens_proposals",
    "spot_words",
]

#: What a proposal for the lens is tested on.
ON_PICTURE = "run on this picture"

_OTHER_STOP = 1.05  # a stop that differs by less is the one that is set: marks round
_AIMS = (0.35, 0.45, 0.55, 0.65)  # where to try the band, from the top


@dataclass(frozen=True, slots=True, eq=False)
class Situation:
    """The setting as it is, and the flat-ground numbers the proposals are solved from."""

    scene: Scene
    case: Case
    setting: LensSetting
    found: Assessment
    limits: LensLimits

    @property
    def pitch_rad(self) -> float:
        """Pitch, or NaN."""
        return math.radians(self.case.vantage.pitch_deg) if self.case.vantage else math.nan

    @property
    def ground_slope(self) -> float:
        """Change of 1/z down the picture, 1/m per unit of slope: ``cos p / h`` on level ground."""
        if self.case.vantage and self.case.vantage.terrain is None:
            return math.cos(self.pitch_rad) / self.case.vantage.height_m
        return self.found.measures.depth_gradient[1]

    @property
    def strength(self) -> float:
        """M: tilt strength."""
        focal_m = self.setting.focal_mm / 1000.0
        return abs(focal_m * self.ground_slope - math.sin(math.radians(self.setting.tilt_deg)))

    @property
    def wanted_strength(self) -> float:
        """M that brings the band to the full mark of nearness; NaN where nothing is known."""
        steep = math.tan(math.radians(self.found.stance.depression_deg))
        if not steep > 0:
            return math.nan
        return RULES.pupil_mm / 1000.0 * self.setting.f_number / (RULES.near_m * steep)


@dataclass(frozen=True, slots=True, eq=False)
class Trial:
    """A proposal to be judged.

    Attributes
    ----------
    text : str
        What to do.
    part : str
        The part it is meant to mend.
    setting : LensSetting
    case : Case
        What to judge it on.
    vantage : Vantage or None
        The changed vantage, if it changes.
    tested : str
        What it is run on, in words.
    refocused : bool
        Whether the focus has to be set anew for it, elsewhere than it was.
    cost : str
        What comes with it, in words; empty where nothing does.
    """

    text: str
    part: str
    setting: LensSetting
    case: Case
    vantage: Vantage | None = None
    tested: str = ON_PICTURE
    refocused: bool = False
    cost: str = ""


def lens_proposals(now: Situation) -> Iterator[Trial]:
    """All of them, unjudged."""
    yield from _apertures(now)
    yield from _tilts(now)
    yield from _turned_axis(now)
    yield from _aims(now)


def _apertures(now: Situation) -> Iterator[Trial]:
    n = now.setting.f_number
    if now.found.apparent_m > RULES.near_m:
        wanted = max(n * RULES.near_m / now.found.apparent_m, now.limits.widest_f_number)
        stop = max((s for s in WHOLE_STOPS if s <= wanted * 1.001), default=wanted)
        stop = max(stop, now.limits.widest_f_number)
        if stop < n / _OTHER_STOP:
            yield _with_stop(now, stop, "open to")
    thin = now.found.measures.band.height_fraction / RULES.sharp_low
    if 0 < thin < 1:
        stop = min((s for s in WHOLE_STOPS if s >= n / thin * 0.999), default=WHOLE_STOPS[-1])
        if _OTHER_STOP * n < stop <= now.limits.smallest_f_number:
            yield _with_stop(now, stop, "stop down to")


def _with_stop(now: Situation, stop: float, verb: str) -> Trial:
    part = "nearness" if verb == "open to" else "visibility"
    setting = replace(now.setting, f_number=stop)
    return Trial(f"{verb} {spell_f_number(stop)}", part, setting, now.case)


def _tilts(now: Situation) -> Iterator[Trial]:
    """The other way, and as much as nearness asks for within the limits."""
    tilt = now.setting.tilt_deg
    if tilt > 0:
        text = _instead(-tilt, tilt)
        yield Trial(text, "nearness", replace(now.setting, tilt_deg=-tilt), now.case)
    sine = now.wanted_strength - now.setting.focal_mm / 1000.0 * now.ground_slope
    if math.isnan(sine) or sine <= 0:
        return
    wanted = math.degrees(math.asin(sine)) if sine < 1 else 90.0
    new = -min(math.ceil(2 * wanted) / 2, now.limits.tilt_limit_deg)
    if tilt <= new or now.found.apparent_m <= RULES.near_m:
        return
    text = _instead(new, tilt)
    if tilt > 0 and now.found.apparent_m > RULES.far_m:
        text = f"the ground is all sharp; turn the lens the other way: {text}"
    yield Trial(text, "nearness", replace(now.setting, tilt_deg=new), now.case)


def _instead(new_deg: float, old_deg: float) -> str:
    if old_deg == 0:
        return tilt_words(new_deg)
    return f"{tilt_words(new_deg)} instead of {tilt_words(old_deg).removeprefix('lens ')}"


def _turned_axis(now: Situation) -> Iterator[Trial]:
    """Tilt and swing shared so that blur runs along the slant of the scene."""
    turned = slanted(now.case, now.setting, now.limits)
    if turned is None:
        return
    setting = replace(now.setting, tilt_deg=turned[0], swing_deg=turned[1])
    text = f"{tilt_words(turned[0])}, {swing_words(turned[1])}, so that blur follows the slant"
    yield Trial(f"{text} of the scene", "agreement", setting, now.case)


def change_words(case: Case, old: LensSetting, new: LensSetting) -> list[str]:
    """What has to be turned for another setting, one phrase each."""
    words = []
    if new.tilt_deg != old.tilt_deg:
        words.append(tilt_words(new.tilt_deg))
    if new.swing_deg != old.swing_deg:
        words.append(swing_words(new.swing_deg))
    if new.f_number != old.f_number:
        words.append(f"at {spell_f_number(new.f_number)}")
    if new.focus != old.focus:
        words.append(f"focused {spot_words(case, new)}")
    return words


def spot_words(case: Case, setting: LensSetting) -> str:
    """Where the focus lies: "at 52%,46% of the frame, on what is 29 m along the axis"."""
    if not isinstance(setting.focus, FocusSpot):
        return "as it is"
    camera, spot = case.samples.camera, setting.focus
    x, y = (float(part) for part in camera.positions((spot.slope_x, spot.slope_y)))
    across, down = 100 * x / camera.width_px, 100 * y / camera.height_px
    away = (
        "on the sky"
        if math.isinf(spot.depth_m)
        else f"on what is {length_words(spot.depth_m)} along the axis"
    )
    return f"at {across:.0f}%,{down:.0f}% of the frame, {away}"


def _aims(now: Situation) -> Iterator[Trial]:
    """The band elsewhere: on open ground at four heights, and at the foot of the worst telltale."""
    camera = now.case.samples.camera
    for share in _AIMS:
        place = open_place(now.case, 0.5, share)
        if place is None or not _on_ground(now.case, place):
            continue
        where = f"{100 * share:.0f} % down the frame"
        middle = float(camera.slopes(0.5 * camera.width_px, 0.0)[0])
        ground = ground_inverse(now.case, middle, place.slope_y)
        if now.setting.swing_deg != 0 and ground > 0:  # not all of a row is then alike
            place = FocusSpot(middle, place.slope_y, 1.0 / ground)
            where = f"in the middle, {where}"
        text = f"lay the band at the ground {length_words(place.depth_m)} along the axis, {where}"
        yield _aimed(now, place, text)
    if now.case.vantage is None:
        return
    telltales, _ = find_telltales(
        now.case.samples,
        focus_lens(now.setting),
        now.found.measures,
        now.case.just_seen,
        now.case.vantage,
    )
    for thing in telltales[:1]:
        x = (thing.box.left + thing.box.width / 2 - camera.centre_x_px) / camera.focal_px
        across, down, along = level_ground_per_m(now.case.vantage)
        y = (1.0 / thing.depth_m - along - across * x) / down
        inside = 0 < y * camera.focal_px + camera.centre_y_px < camera.height_px
        if inside and _is_seen(now.case, x, y, thing.depth_m):
            foot = f"the foot of the thing at {thing.place}, "
            foot += f"{length_words(thing.depth_m)} along the axis"
            yield _aimed(now, FocusSpot(x, y, thing.depth_m), f"lay the band at {foot}")


def _on_ground(case: Case, place: FocusSpot) -> bool:
    """Whether what is seen there is the ground, as far as anybody knows where that lies."""
    ray, inverse = (place.slope_x, place.slope_y), 1.0 / place.depth_m
    return case.vantage is None or bool(ground_shows(case.vantage, [ray], [inverse])[0])


def _is_seen(case: Case, x: float, y: float, depth_m: float) -> bool:
    """True unless something else stands before the ground there."""
    return abs(case.samples.depth_towards(x, y) / depth_m - 1.0) < ELSEWHERE


def _aimed(now: Situation, place: FocusSpot, text: str) -> Trial:
    setting = replace(now.setting, focus=place)
    return Trial(text, "agreement", setting, now.case)
