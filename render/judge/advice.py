"""Advice: what would help, worked out backwards and then re-judged by running it.

On flat ground ``D_p = A_ref N / (M (tan p + y0))`` with ``M = |f cos p / h - sin t|``; each
proposal solves this for one thing (derived here). The closed form only proposes: the score
beside each line is that of the whole judgement run anew, never a promise.
"""

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace

from render.errors import SettingError
from render.judge.case import Assessment, Case, assess, look
from render.judge.samples import Samples, sample
from render.judge.score import Word
from render.judge.telltales import find_telltales
from render.judge.weights import RULES
from render.optics.band import level_ground_per_m
from render.optics.camera import Vantage
from render.optics.lens import FocusSpot, LensSetting
from render.optics.movements import total_and_azimuth
from render.optics.plane import focus_lens
from render.scene.scene import Scene
from render.words import metres, rise_words, spell_f_number, swing_words, tilt_words

__all__ = ["Advice", "LensLimits", "advise", "f_number_for_scale"]

#: Builds the scene anew from another vantage; only demo scenes can.
Rebuild = Callable[[Vantage], Scene]

_STOPS = (1.0, 1.4, 2.0, 2.8, 4.0, 5.6, 8.0, 11.0, 16.0, 22.0, 32.0)
_ON_PICTURE = "run on this picture"
_ON_SCENE = "run on the demo scene from there"
_UNTESTED = "a photo cannot test this: take one from there, or try a demo scene"
_LEAST_GAIN = 1.0  # points of score a proposal must bring
_LEAST_SHOWN = 0.75  # share of a new frame the picture must show to test it
_STOREY_M = 3.0  # common practice
_SAME_DEPTH = 0.1
_MOST_CLIMB, _CLIMB_ALWAYS_M = 3.0, 20.0  # times the height now, or up to this height
_AIMS = (0.35, 0.45, 0.55, 0.65)  # where to try the band, from the top


@dataclass(frozen=True, slots=True)
class LensLimits:
    """What the lens allows; the defaults are usual for such lenses (common practice)."""

    widest_f_number: float = 2.8
    most_tilt_deg: float = 8.0
    most_shift_mm: float = 12.0

    def __post_init__(self) -> None:
        if not self.widest_f_number > 0:
            raise SettingError(f"the widest f-number must be above 0, not {self.widest_f_number!r}")
        if not (0 <= self.most_tilt_deg < 90 and self.most_shift_mm >= 0):
            raise SettingError("the most tilt must lie from 0 to 90°, the most shift from 0 mm")


@dataclass(frozen=True, slots=True)
class Advice:
    """One thing to try.

    Attributes
    ----------
    text : str
        What to do: "open to f/2.8".
    part : str
        The part it is meant to mend: "nearness", "agreement", "visibility" or "viewpoint".
    setting : LensSetting or None
        The changed setting; None where only the vantage changes and could not be tested.
    vantage : Vantage or None
        The changed vantage, if it changes.
    before, after : float, float or None
        Scores; None where it could not be run.
    word : Word or None
        The new word.
    tested : str
        What the new score was run on, or why not.
    """

    text: str
    part: str
    setting: LensSetting | None
    vantage: Vantage | None
    before: float
    after: float | None
    word: Word | None
    tested: str

    @property
    def line(self) -> str:
        """As printed: "open to f/2.8: 71 → 94"."""
        if self.after is None:
            return f"{self.text} ({self.tested})"
        how = "" if self.tested == _ON_PICTURE else f" ({self.tested})"
        return f"{self.text}: {self.before:.0f} → {self.after:.0f}{how}"


@dataclass(frozen=True, slots=True, eq=False)
class _Now:
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
        """``cos p / h``: change of 1/z down the picture, 1/m per unit of slope."""
        if self.case.vantage:
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
class _Trial:
    text: str
    part: str
    setting: LensSetting
    case: Case
    vantage: Vantage | None = None
    tested: str = _ON_PICTURE


def advise(
    scene: Scene,
    case: Case,
    setting: LensSetting,
    *,
    limits: LensLimits | None = None,
    rebuild: Rebuild | None = None,
) -> tuple[Advice, ...]:
    """Propose changes and re-judge each; those that help come first, best first.

    Parameters
    ----------
    scene : Scene
        With its margin, which lets another pitch or fall be tested.
    case : Case
        `render.judge.case.look` of that scene.
    limits : LensLimits, optional
    rebuild : callable, optional
        Builds a demo scene from another vantage, so that height and pitch can be tested.

    Returns
    -------
    tuple of Advice
        Proposals that gain at least a point, then those a picture cannot test.
    """
    now = _Now(scene, case, setting, assess(case, setting), limits or LensLimits())
    tested: list[Advice] = []
    seen: set[tuple[LensSetting, Vantage | None]] = set()
    for trial in _trials(now, rebuild):
        if (trial.setting, trial.vantage) in seen:
            continue
        seen.add((trial.setting, trial.vantage))
        advice = _run(now, trial)
        if advice is not None:
            tested.append(advice)
    tested.sort(key=lambda advice: -(advice.after or 0.0))
    return (*_best_of_each(tested), *(_unseen(now) if rebuild is None else ()))


def f_number_for_scale(found: Assessment, setting: LensSetting, scale: float) -> float:
    """F-number at which the picture would read as 1:`scale`; exact, as the pupil goes as 1/N.

    Raises
    ------
    SettingError
        If the scale is not above 0, or no f-number gives it.
    """
    now = 1000.0 * found.measures.pupil_m / RULES.pupil_mm
    if not (scale > 0 and math.isfinite(scale)):
        raise SettingError(f"a scale 1:{scale:g} is no scale: give a number above 0, such as 87")
    if not now > 0:
        raise SettingError("no f-number gives this scale: the blur does not follow the depth")
    return setting.f_number * now / scale


def _trials(now: _Now, rebuild: Rebuild | None) -> Iterator[_Trial]:
    yield from _apertures(now)
    yield from _tilts(now)
    yield from _turned_axis(now)
    yield from _aims(now)
    yield from _falls(now)
    yield from _steeper(now, rebuild)
    if rebuild is not None:
        yield from _climbs(now, rebuild)


def _run(now: _Now, trial: _Trial) -> Advice | None:
    try:
        after = assess(trial.case, trial.setting).score
    except SettingError:  # a proposal that no extension focuses is no advice
        return None
    before = now.found.score.value
    if after.value < before + _LEAST_GAIN:
        return None
    return Advice(
        trial.text,
        trial.part,
        trial.setting,
        trial.vantage,
        before,
        after.value,
        after.word,
        trial.tested,
    )


def _best_of_each(tested: list[Advice]) -> list[Advice]:
    """Keep one place for the band, the best; of the rest all."""
    aimed = [advice for advice in tested if advice.text.startswith("lay the band")]
    return [advice for advice in tested if advice not in aimed[1:]]


def _apertures(now: _Now) -> Iterator[_Trial]:
    n = now.setting.f_number
    if now.found.apparent_m > RULES.near_m:
        wanted = max(n * RULES.near_m / now.found.apparent_m, now.limits.widest_f_number)
        stop = max((s for s in _STOPS if s <= wanted * 1.001), default=wanted)
        stop = max(stop, now.limits.widest_f_number)
        if stop < 0.95 * n:
            yield _with_stop(now, stop, "open to")
    thin = now.found.measures.band.height_fraction / RULES.band_low
    if 0 < thin < 1:
        stop = min((s for s in _STOPS if s >= n / thin * 0.999), default=_STOPS[-1])
        if stop > 1.05 * n:
            yield _with_stop(now, stop, "stop down to")


def _with_stop(now: _Now, stop: float, verb: str) -> _Trial:
    part = "nearness" if verb == "open to" else "visibility"
    setting = replace(now.setting, f_number=stop)
    return _Trial(f"{verb} {spell_f_number(stop)}", part, setting, now.case)


def _tilts(now: _Now) -> Iterator[_Trial]:
    """The other way, and as much as nearness asks for within the limits."""
    tilt = now.setting.tilt_deg
    if tilt > 0:
        text = _instead(-tilt, tilt)
        yield _Trial(text, "nearness", replace(now.setting, tilt_deg=-tilt), now.case)
    sine = now.wanted_strength - now.setting.focal_mm / 1000.0 * now.ground_slope
    if math.isnan(sine) or sine <= 0:
        return
    wanted = math.degrees(math.asin(sine)) if sine < 1 else 90.0
    new = -min(math.ceil(2 * wanted) / 2, now.limits.most_tilt_deg)
    if tilt <= new or now.found.apparent_m <= RULES.near_m:
        return
    text = _instead(new, tilt)
    if tilt > 0 and now.found.apparent_m > RULES.far_m:
        text = f"the ground is all sharp; turn the lens the other way: {text}"
    if wanted > now.limits.most_tilt_deg:
        text += f" (not enough by tilt alone: the full effect would ask for {wanted:.0f}°)"
    yield _Trial(text, "nearness", replace(now.setting, tilt_deg=new), now.case)


def _instead(new_deg: float, old_deg: float) -> str:
    if old_deg == 0:
        return tilt_words(new_deg)
    return f"{tilt_words(new_deg)} instead of {tilt_words(old_deg).removeprefix('lens ')}"


def _turned_axis(now: _Now) -> Iterator[_Trial]:
    """Tilt and swing shared so that blur runs along the slant of the scene."""
    psi = now.found.measures.orientation_deg
    right, down = now.found.measures.depth_gradient
    length = math.hypot(right, down)
    if not (psi > 15 and length > 0):
        return
    total = math.radians(total_and_azimuth(now.setting.tilt_deg, now.setting.swing_deg)[0])
    nx, ny = -math.sin(total) * right / length, -math.sin(total) * down / length
    tilt = round(2 * math.degrees(math.asin(ny))) / 2
    swing = round(2 * math.degrees(math.atan2(nx, math.cos(total)))) / 2
    setting = replace(now.setting, tilt_deg=tilt, swing_deg=swing)
    text = f"{tilt_words(tilt)}, {swing_words(swing)}, so that blur follows the slant of the scene"
    yield _Trial(text, "agreement", setting, now.case)


def _aims(now: _Now) -> Iterator[_Trial]:
    """The band elsewhere: on open ground at four heights, and at the foot of the worst telltale."""
    camera = now.case.samples.camera
    x = (camera.width_px / 2 - camera.centre_x_px) / camera.focal_px
    for share in _AIMS:
        y = (share * camera.height_px - camera.centre_y_px) / camera.focal_px
        depth = _ground_depth(now.case, x, y)
        if math.isfinite(depth) and _is_seen(now.case, x, y, depth):
            where = f"{metres(depth)} away, {100 * share:.0f} % from the top"
            yield _aimed(now, x, y, depth, f"lay the band at the ground {where}")
    telltales, _ = find_telltales(now.case.samples, focus_lens(now.setting), now.found.measures)
    if telltales and now.case.vantage:
        thing = telltales[0]
        x = (thing.box.left + thing.box.width / 2 - camera.centre_x_px) / camera.focal_px
        across, down, along = level_ground_per_m(now.case.vantage)
        y = (1.0 / thing.depth_m - along - across * x) / down
        inside = 0 < y * camera.focal_px + camera.centre_y_px < camera.height_px
        if inside and _is_seen(now.case, x, y, thing.depth_m):
            foot = f"the foot of the thing at {thing.place}, {metres(thing.depth_m)} away"
            yield _aimed(now, x, y, thing.depth_m, f"lay the band at {foot}")


def _ground_depth(case: Case, x: float, y: float) -> float:
    if case.vantage is None:
        return case.samples.depth_towards(x, y)
    inverse = float(level_ground_per_m(case.vantage) @ (x, y, 1.0))
    return 1.0 / inverse if inverse > 0 else math.inf


def _is_seen(case: Case, x: float, y: float, depth_m: float) -> bool:
    """True unless something else stands before the ground there."""
    return abs(case.samples.depth_towards(x, y) / depth_m - 1.0) < _SAME_DEPTH


def _aimed(now: _Now, x: float, y: float, depth_m: float, text: str) -> _Trial:
    setting = replace(now.setting, focus=FocusSpot(x, y, depth_m))
    return _Trial(text, "agreement", setting, now.case)


def _falls(now: _Now) -> Iterator[_Trial]:
    """Shift the view down until the horizon is out of it, if the picture's margin shows that."""
    if not (now.found.stance.sky_share > 0.01 and now.case.vantage):
        return
    camera = now.case.samples.camera
    extension = focus_lens(now.setting).extension_mm
    shift = camera.centre_y_px / camera.focal_px - math.tan(now.pitch_rad) + 0.01
    fall_mm = math.ceil(shift * extension)
    if not 0 < fall_mm <= now.limits.most_shift_mm + min(0.0, now.setting.rise_mm):
        return
    moved = replace(camera, centre_y_px=camera.centre_y_px - fall_mm / extension * camera.focal_px)
    samples, shown = sample(now.scene, margin=True).reframed(0.0, moved)
    if shown < _LEAST_SHOWN:
        return
    setting = replace(now.setting, rise_mm=now.setting.rise_mm - fall_mm)
    text = f"{rise_words(setting.rise_mm)}, so that the horizon leaves the picture"
    case = replace(now.case, samples=samples)
    yield _Trial(text, "viewpoint", setting, case, tested=_shown(shown))


def _steeper(now: _Now, rebuild: Rebuild | None) -> Iterator[_Trial]:
    """Pitch down: as much as nearness asks, as the viewpoint asks, or until the sky is gone."""
    if now.case.vantage is None:
        return
    for more in sorted(set(_pitch_changes(now))):
        pitch = now.case.vantage.pitch_deg + more
        if not (more >= 1 and pitch < 85):
            continue
        vantage = replace(now.case.vantage, pitch_deg=pitch)
        if rebuild is not None:
            yield _from_there(now, rebuild, vantage, f"pitch down {more:.0f}° more")
            continue
        samples, shown = _pitched(now, more)
        if shown >= _LEAST_SHOWN:
            case = replace(now.case, samples=samples, vantage=vantage)
            setting = _same_place(now, samples)
            text = f"pitch down {more:.0f}° more"
            yield _Trial(text, "viewpoint", setting, case, vantage, _shown(shown))


def _pitched(now: _Now, more_deg: float) -> tuple[Samples, float]:
    """The picture, margin included, as seen pitched down by so much more."""
    return sample(now.scene, margin=True).reframed(more_deg, now.case.samples.camera)


def _pitch_changes(now: _Now) -> Iterator[int]:
    phi = now.found.stance.depression_deg
    wanted = max(_wanted_phi(now), RULES.phi_low_deg)
    if not math.isnan(phi) and wanted > phi:
        yield math.ceil(min(wanted, RULES.phi_high_deg) - phi)
    if now.found.stance.sky_share > 0:
        camera = now.case.samples.camera
        above = math.degrees(math.atan(camera.centre_y_px / camera.focal_px))
        yield math.ceil(above + 1.0 - math.degrees(now.pitch_rad))


def _wanted_phi(now: _Now) -> float:
    """Depression that brings the band to the full mark of nearness; 0 where it is there already."""
    if now.found.apparent_m <= RULES.near_m or not now.strength > 0:
        return 0.0
    steep = RULES.pupil_mm / 1000.0 * now.setting.f_number / (RULES.near_m * now.strength)
    return math.degrees(math.atan(steep))


def _climb(now: _Now) -> tuple[Vantage, float] | None:
    """Vantage above the same ground distance with the depression wanted, and that distance."""
    vantage, phi = now.case.vantage, now.found.stance.depression_deg
    if vantage is None or not phi > 1:
        return None
    away = vantage.height_m / math.tan(math.radians(phi))
    wanted = min(max(_wanted_phi(now), RULES.phi_low_deg), RULES.phi_high_deg)
    if wanted < phi + 1:
        return None
    highest = max(_MOST_CLIMB * vantage.height_m, _CLIMB_ALWAYS_M)
    focal_m, sine = now.setting.focal_mm / 1000.0, math.sin(math.radians(now.setting.tilt_deg))
    new = vantage
    for _ in range(4):  # M depends a little on height and pitch
        pitch = min(vantage.pitch_deg + wanted - phi, 85.0)
        new = Vantage(away * math.tan(math.radians(wanted)), pitch, vantage.roll_deg)
        strength = abs(focal_m * math.cos(math.radians(pitch)) / new.height_m - sine)
        if now.found.apparent_m > RULES.near_m and strength > 0:
            steep = RULES.pupil_mm / 1000.0 * now.setting.f_number / (RULES.near_m * strength)
            nearness = math.degrees(math.atan(steep))
            wanted = min(max(nearness, RULES.phi_low_deg), RULES.phi_high_deg)
    return (new, away) if new.height_m <= highest else None


def _climb_words(vantage: Vantage) -> str:
    storeys = max(1, round(vantage.height_m / _STOREY_M))
    return (
        f"climb to {metres(vantage.height_m)} (about {storeys} "
        f"store{'y' if storeys == 1 else 'ys'}) and pitch to {vantage.pitch_deg:.0f}° down"
    )


def _climbs(now: _Now, rebuild: Rebuild) -> Iterator[_Trial]:
    climb = _climb(now)
    if climb is not None:
        yield _from_there(now, rebuild, climb[0], _climb_words(climb[0]))


def _unseen(now: _Now) -> Iterator[Advice]:
    """What a picture from here cannot test: a pitch it does not show, a height, a distance."""
    vantage = now.case.vantage
    if vantage is None:
        return
    for more in sorted(set(_pitch_changes(now))):
        pitched = vantage.pitch_deg + more
        if more >= 1 and pitched < 85 and _pitched(now, more)[1] < _LEAST_SHOWN:
            there = replace(vantage, pitch_deg=pitched)
            yield _untested(now, f"pitch down {more:.0f}° more", there)
    climb = _climb(now)
    if climb is not None:
        there, away = climb
        yield _untested(now, _climb_words(there), there)
        nearer = vantage.height_m * away / there.height_m
        text = f"stand {metres(nearer)} from the band, over the ground, instead of {metres(away)}"
        yield _untested(now, text, None)


def _untested(now: _Now, text: str, vantage: Vantage | None) -> Advice:
    before = now.found.score.value
    return Advice(text, "viewpoint", None, vantage, before, None, None, _UNTESTED)


def _from_there(now: _Now, rebuild: Rebuild, vantage: Vantage, text: str) -> _Trial:
    scene = rebuild(vantage)
    case = look(
        scene,
        coc_mm=now.case.coc_mm,
        reference_pupil_mm=now.case.reference_pupil_mm,
        visual_range_m=now.case.visual_range_m,
        small_things=now.case.small_things,
        depth_error=now.case.depth_error,
    )
    setting = _same_place(now, case.samples)
    return _Trial(text, "viewpoint", setting, case, vantage, _ON_SCENE)


def _same_place(now: _Now, samples: Samples) -> LensSetting:
    """Focus on what now lies where the band lay in the picture."""
    band = now.found.measures.band
    depth = samples.depth_towards(band.centre_x, band.centre_y)
    return replace(now.setting, focus=FocusSpot(band.centre_x, band.centre_y, depth))


def _shown(share: float) -> str:
    if share > 0.995:
        return "run on this picture, reframed"
    return f"run on the {100 * share:.0f} % of the new frame that the picture shows"
