"""Proposals for another frame: steeper, higher, nearer, or the sensor let down.

A picture shows another pitch or fall as far as its frame and margin reach; a demo scene can be
built from anywhere; a photo cannot show another height.
"""

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace

import numpy as np
from scipy.spatial import cKDTree

from render.judge.advising.proposals import Situation, Trial
from render.judge.case import Case, without_near
from render.judge.samples import Samples, sample
from render.judge.viewpoint import in_the_way
from render.judge.weights import RULES
from render.optics.camera import Vantage
from render.optics.lens import FocusSpot, LensSetting
from render.optics.plane import focus_lens
from render.scene.scene import Scene
from render.words import length_words, percent, rise_words

__all__ = ["NOTHING_CARRIES_IT", "NO_ELSEWHERE", "Elsewhere", "frame_proposals", "unseen"]

#: Of a camera higher than a map has anything to stand on.
NOTHING_CARRIES_IT = "where nothing on the map carries it (a drone, if that is allowed)"


@dataclass(frozen=True, slots=True)
class Elsewhere:
    """What is known of other vantages over the same place.

    Attributes
    ----------
    rebuild : callable or None
        Builds the scene anew from a vantage, or None where no camera can stand; only demo scenes
        and maps can.
    crowded_share : callable or None
        Share of the frame that one's own roof, or what else stands within reach, fills from a
        vantage (`render.judge.viewpoint.crowded`); None where nobody knows, as of a photo.
    flies : bool
        Whether above the present height nothing carries a person.
    """

    rebuild: Callable[[Vantage], Scene | None] | None = None
    crowded_share: Callable[[Vantage], float] | None = None
    flies: bool = False


#: A photo: nothing is known but what it shows.
NO_ELSEWHERE = Elsewhere()

_PAST_IT = "get in front of or over what stands near the lens, without leaning out"
_AS_IF_GONE = "judged as if it were not there"
_ON_SCENE = "run on the same place, seen from there"
_LEAST_SHOWN = 0.75  # share of a new frame the picture must show to test it
_STOREY_M = 3.0  # common practice
_MOST_CLIMB, _CLIMB_ALWAYS_M = 2.0, 12.0  # times the height now, or up to this height
_MOST_PITCH_DEG = 30.0  # more shows another subject
#: Shares of the frame that a focus keeps from its edge: one that lay in it, one that did not.
_AT_THE_EDGE, _WELL_INSIDE = 0.02, 0.2
#: How much of the frame one's own roof may fill, and from what more on it is said (ours).
_MOST_CROWDED, _WORTH_SAYING = 0.15, 0.01
_CLEAR = 0.02  # of the picture's height: so far from a near thing a focus spot is clear of it
_HORIZON = 0.01  # share above eye level from which a horizon is in the picture


def frame_proposals(now: Situation, there: Elsewhere = NO_ELSEWHERE) -> Iterator[Trial]:
    """All that can be tested, unjudged."""
    if now.found.stance.foreground_share > RULES.foreground_share:
        rest = without_near(now.case, now.found)
        if rest is not None:
            yield Trial(_PAST_IT, "viewpoint", now.setting, rest, tested=_AS_IF_GONE)
    proposals = [*_falls(now), *_pitches(now, there)]
    if there.rebuild is not None and not _indoors(now):
        proposals += _climbs(now, there)
    for trial in proposals:
        crowded = trial.case.crowded_share
        more = crowded - now.case.crowded_share
        if crowded <= _MOST_CROWDED or more <= 0:
            yield replace(trial, cost=_crowd_words(crowded, more))


def unseen(now: Situation, there: Elsewhere = NO_ELSEWHERE) -> Iterator[tuple[str, Vantage | None]]:
    """What a picture from here cannot test: a pitch it does not show, a height, a distance."""
    vantage = now.case.vantage
    if vantage is None or _indoors(now):
        return
    more = max(_pitch_changes(now), default=0)
    pitched = vantage.pitch_deg + more
    if more >= 1 and pitched < 85 and _pitched(now, more)[1] < _LEAST_SHOWN:
        steeper = replace(vantage, pitch_deg=pitched)
        text = _pitch_words(more, pitched)
        if there.crowded_share is None:
            yield f"{text}, as far as no sill or roof of your own comes in", steeper
        else:
            crowded = there.crowded_share(steeper)
            added = crowded - now.case.crowded_share
            if crowded <= _MOST_CROWDED or added <= 0:
                yield ", ".join(filter(None, (text, _crowd_words(crowded, added)))), steeper
    climb = _climb(now)
    if climb is not None:
        higher, away = climb
        yield _climb_words(higher, there), higher
        over = now.case.stand_m
        nearer = over * away / (over + higher.height_m - vantage.height_m)
        text = (
            f"stand {length_words(nearer)} from the band, along the ground, instead "
            f"of {length_words(away)}"
        )
        yield text, None


def _falls(now: Situation) -> Iterator[Trial]:
    """Shift the view down until the horizon is out of it, if the picture shows all of that."""
    if not (now.found.stance.above_share > _HORIZON and now.case.vantage):
        return
    camera, scene = now.case.samples.camera, now.scene
    extension = focus_lens(now.setting).extension_mm
    shift = camera.centre_y_px / camera.focal_px - math.tan(now.pitch_rad) + 0.01
    fall_mm = math.ceil(shift * extension)
    if not 0 < fall_mm <= now.limits.shift_limit_mm + min(0.0, now.setting.rise_mm):
        return
    top = scene.frame.top + round(fall_mm / extension * camera.focal_px)
    if top + scene.frame.height > scene.depth_m.shape[0]:
        return  # the picture ends above that: nobody can say what is there
    moved = replace(scene, window=replace(scene.frame, top=top))
    setting = replace(now.setting, rise_mm=now.setting.rise_mm - fall_mm)
    text = f"{rise_words(setting.rise_mm)}, so that the horizon leaves the picture"
    case = now.case.at(moved)
    setting = _same_place(now, setting, case)
    yield Trial(text, "viewpoint", setting, case, tested=_shown(1.0), refocused=True)


def _pitches(now: Situation, there: Elsewhere) -> Iterator[Trial]:
    """Pitch down as nearness or the viewpoint asks, or until the sky is gone; or up from a plan."""
    if now.case.vantage is None or _indoors(now):
        return
    for more in sorted(set(_pitch_changes(now))):
        pitch = now.case.vantage.pitch_deg + more
        if not (abs(more) >= 1 and pitch < 85):
            continue
        vantage, text = replace(now.case.vantage, pitch_deg=pitch), _pitch_words(more, pitch)
        if there.rebuild is not None:
            yield from _from_there(now, there, vantage, text)
            continue
        samples, shown = _pitched(now, more)
        if shown >= _LEAST_SHOWN:
            case = now.case.reframed(samples, vantage)
            setting = _same_place(now, now.setting, case)
            yield Trial(text, "viewpoint", setting, case, vantage, _shown(shown), refocused=True)


def _pitch_words(more_deg: float, pitch_deg: float) -> str:
    if more_deg > 0:
        return f"pitch down {more_deg:.0f}° more"
    return f"pitch up {-more_deg:.0f}°, to {pitch_deg:.0f}° down"


def _crowd_words(crowded: float, more: float) -> str:
    """What comes into the frame with it, where that is worth a word."""
    if more < _WORTH_SAYING:
        return ""
    return (
        f"{percent(crowded)} of the frame is then your own roof, or what else stands within reach"
    )


def _pitched(now: Situation, more_deg: float) -> tuple[Samples, float]:
    """The picture, margin included, as seen pitched down by so much more."""
    return sample(now.scene, margin=True).reframed(more_deg, now.case.samples.camera)


def _pitch_changes(now: Situation) -> Iterator[int]:
    """Whole degrees, at most as many as leave a part of the present view in the frame."""
    camera = now.case.samples.camera
    field = math.degrees(2 * math.atan(camera.height_px / (2 * camera.focal_px)))
    field = min(field, _MOST_PITCH_DEG)
    phi = now.found.stance.depression_deg
    wanted = max(_wanted_phi(now), RULES.phi_low_deg)
    if not math.isnan(phi) and wanted > phi:
        yield min(math.ceil(min(wanted, RULES.phi_high_deg) - phi), int(field))
    if now.found.stance.sky_share > 0:
        above = math.degrees(math.atan(camera.centre_y_px / camera.focal_px))
        yield min(math.ceil(above + 1.0 - math.degrees(now.pitch_rad)), int(field))
    if phi > RULES.phi_high_deg:
        yield -min(math.ceil(phi - RULES.phi_high_deg), int(field))


def _wanted_phi(now: Situation) -> float:
    """Depression that brings the band to the full mark of nearness; 0 where it is there already."""
    if now.found.apparent_m <= RULES.near_m or not now.strength > 0:
        return 0.0
    steep = RULES.pupil_mm / 1000.0 * now.setting.f_number / (RULES.near_m * now.strength)
    return math.degrees(math.atan(steep))


def _climb(now: Situation) -> tuple[Vantage, float] | None:
    """Vantage above the same ground distance with the depression wanted, and that distance."""
    vantage, phi = now.case.vantage, now.found.stance.depression_deg
    if vantage is None or not phi > 1:
        return None
    lower = now.case.stand_m - vantage.height_m  # the ground in view lies so far below the feet
    away = now.case.stand_m / math.tan(math.radians(phi))
    wanted = min(max(_wanted_phi(now), RULES.phi_low_deg), RULES.phi_high_deg)
    if wanted < phi + 1:
        return None
    highest = max(_MOST_CLIMB * vantage.height_m, _CLIMB_ALWAYS_M)
    focal_m, sine = now.setting.focal_mm / 1000.0, math.sin(math.radians(now.setting.tilt_deg))
    new = vantage
    for _ in range(4):  # M depends a little on height and pitch
        pitch = min(vantage.pitch_deg + wanted - phi, 85.0)
        over = away * math.tan(math.radians(wanted))
        new = replace(vantage, height_m=max(over - lower, vantage.height_m), pitch_deg=pitch)
        strength = abs(focal_m * math.cos(math.radians(pitch)) / over - sine)
        if now.found.apparent_m > RULES.near_m and strength > 0:
            steep = RULES.pupil_mm / 1000.0 * now.setting.f_number / (RULES.near_m * strength)
            nearness = math.degrees(math.atan(steep))
            wanted = min(max(nearness, RULES.phi_low_deg), RULES.phi_high_deg)
    return (new, away) if new.height_m <= highest else None


def _climb_words(vantage: Vantage, there: Elsewhere) -> str:
    storeys = max(1, round(vantage.height_m / _STOREY_M))
    high = (
        f"{length_words(vantage.height_m)} (about {storeys} store{'y' if storeys == 1 else 'ys'})"
    )
    how = f"climb to {high} and"
    if there.flies:
        how = f"take the camera up to {high}, {NOTHING_CARRIES_IT}, and"
    return f"{how} pitch to {vantage.pitch_deg:.0f}° down"


def _climbs(now: Situation, there: Elsewhere) -> Iterator[Trial]:
    climb = _climb(now)
    if climb is not None:
        yield from _from_there(now, there, climb[0], _climb_words(climb[0], there))


def _from_there(now: Situation, there: Elsewhere, vantage: Vantage, text: str) -> Iterator[Trial]:
    scene = there.rebuild(vantage) if there.rebuild else None
    if scene is None:
        return
    case = now.case.at(scene)
    setting = _same_place(now, now.setting, case)
    yield Trial(text, "viewpoint", setting, case, vantage, _ON_SCENE, refocused=True)


def _indoors(now: Situation) -> bool:
    """Nothing but near things above eye level: a room, or a yard that nobody can climb out of."""
    samples, vantage = now.case.samples, now.case.vantage
    if vantage is None or now.found.stance.above_share < _HORIZON:
        return False
    return samples.indoors


def _same_place(now: Situation, setting: LensSetting, case: Case) -> LensSetting:
    """Focus on what now lies where the focus, or else the band, lay in the frame.

    A focus that the frame does not show is none of the picture's, so the band counts then; if that
    is not shown either, it is brought well inside. Never on what stands in the way: then on what
    is seen past it, nearest to there.
    """
    samples = case.samples
    camera, band = now.case.samples.camera, now.found.measures.band
    place = (band.centre_x, band.centre_y)
    if isinstance(setting.focus, FocusSpot):
        spot = (setting.focus.slope_x, setting.focus.slope_y)
        place = spot if camera.shows(*spot) else place
    share = camera.positions(place) / (camera.width_px, camera.height_px)
    edge = _AT_THE_EDGE if camera.shows(*place) else _WELL_INSIDE
    share = np.clip(share, edge, 1.0 - edge)
    x, y = (
        float(part)
        for part in samples.camera.slopes(
            share[0] * samples.camera.width_px, share[1] * samples.camera.height_px
        )
    )
    x, y = _past_what_is_near(case, x, y)
    return replace(setting, focus=FocusSpot(x, y, samples.depth_towards(x, y)))


def _past_what_is_near(case: Case, x: float, y: float) -> tuple[float, float]:
    """The same ray, or the nearest past what stands in the way, clear of its edge."""
    few = case.few
    way = in_the_way(few, case.over)
    rays = np.stack([few.slope_x, few.slope_y], axis=-1)
    off = np.hypot(rays[:, 0] - x, rays[:, 1] - y)
    if not way[np.argmin(off)] or not np.any(few.seen & ~way):
        return x, y
    away, _ = cKDTree(rays[way]).query(rays)
    clear = few.seen & ~way & (away > _CLEAR * few.slope_height)
    if not clear.any():
        clear = few.seen & ~way
    best = int(np.argmin(np.where(clear, off, np.inf)))
    return float(rays[best, 0]), float(rays[best, 1])


def _shown(share: float) -> str:
    if share > 0.995:
        return "run on this picture, reframed"
    return f"run on the {100 * share:.0f} % of the new frame that the picture shows"
