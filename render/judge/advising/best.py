"""The best setting of a lens where it stands, and which of several settings to suggest.

One rule for both: the highest score, and of those that the draws do not firmly put behind it the
one that is easiest to dial and leaves the widest tolerance.
"""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from itertools import product

from render.errors import SettingError
from render.judge.advising.places import open_place
from render.judge.case import Assessment, Case, assess
from render.judge.score import Score
from render.judge.viewpoint import in_the_way
from render.optics.exposure import WHOLE_STOPS
from render.optics.lens import Focus, FocusSpot, LensSetting
from render.optics.solving.limits import LensLimits
from render.optics.solving.movements import revolved, total_and_azimuth

__all__ = ["Found", "best_setting", "preferred", "slanted", "suggested"]

#: Within so many points, and this share of the draws, one setting is as good as another.
_TIED_POINTS, _TIED_SHARE = 2.0, 0.75
_ROWS, _COLUMNS = (0.35, 0.45, 0.55, 0.65), (0.5,)
_MORE_ROWS, _MORE_COLUMNS = (0.3, 0.4, 0.5, 0.6, 0.7), (0.35, 0.5, 0.65)


@dataclass(frozen=True, slots=True)
class Found:
    """A setting and what the whole judgement makes of it."""

    setting: LensSetting
    assessment: Assessment

    @property
    def score(self) -> Score:
        """Its score."""
        return self.assessment.score


def best_setting(
    case: Case, setting: LensSetting, limits: LensLimits, *, thorough: bool = False
) -> Found:
    """Search tilt, swing, f-number and focus within a lens's limits, the focal length kept.

    Parameters
    ----------
    setting : LensSetting
        As it is; among equals what needs the fewest rings turned wins.
    thorough : bool
        Look at more places and angles, which takes about a second.
    """
    reach = math.floor(limits.tilt_limit_deg)
    stops = [n for n in WHOLE_STOPS if limits.widest_f_number <= n <= limits.smallest_f_number]
    stops = stops or [limits.widest_f_number]
    now = (min(max(setting.f_number, limits.widest_f_number), limits.smallest_f_number),)
    spots = [setting.focus, *_spots(case, _MORE_ROWS, _MORE_COLUMNS)] if thorough else None
    spots = spots or [setting.focus, *_spots(case, _ROWS, _COLUMNS)]
    tilts = {-reach, reach, 0, -reach // 2} if thorough else {-reach, reach}
    wide = {stops[0], *(stops[1:2] if thorough else ()), *now}
    turns = [(float(t), 0.0) for t in sorted(tilts)]
    turns.append((setting.tilt_deg, setting.swing_deg))
    tried = _run(case, setting, product(turns, sorted(wide), spots))
    lead = max(tried, key=lambda found: found.score.value).setting
    turned = slanted(case, lead, limits)
    around = [(lead.tilt_deg, lead.swing_deg), *([turned] if turned else [])]
    if thorough:
        steps = (-2.0, -1.0, 1.0, 2.0)
        around += [
            (lead.tilt_deg + step, lead.swing_deg)
            for step in steps
            if total_and_azimuth(lead.tilt_deg + step, lead.swing_deg)[0]
            <= limits.tilt_limit_deg + 1e-9
        ]
    narrower = [n for n in stops if n <= 4 * stops[0]][: 5 if thorough else 3]
    tried += _run(case, setting, product(around, narrower, [lead.focus]))
    return tried[preferred([(found.setting, found.score) for found in tried], setting)]


def preferred(options: Sequence[tuple[LensSetting, Score]], now: LensSetting | None = None) -> int:
    """Which of several settings to suggest: its place among them.

    Parameters
    ----------
    now : LensSetting, optional
        As the lens stands: fewer changes from it are easier.
    """
    top = max((score for _, score in options), key=lambda score: score.value)
    tied = [
        place
        for place, (_, score) in enumerate(options)
        if score.word is top.word
        and score.value >= top.value - _TIED_POINTS
        and top.beats(score) <= _TIED_SHARE + 0.25 * (score.value >= top.value - 1.0)
    ]
    return min(tied, key=lambda place: (*_effort(options[place][0], now), place))


def suggested(options: Sequence[tuple[LensSetting, Score]]) -> int | None:
    """Place of the one to suggest, if any reads as a model and they differ.

    They differ where the scores that are printed do; where the lens is the same in all of them
    (six hours of a day), by more than what makes two settings as good as each other.
    """
    best = preferred(options)
    printed = [round(score.value) for _, score in options]
    one_lens = len({setting for setting, _ in options}) == 1
    alike = max(printed) - min(printed) <= (_TIED_POINTS if one_lens else 0.0)
    return None if alike or not options[best][1].word.of_a_model else best


def slanted(case: Case, setting: LensSetting, limits: LensLimits) -> tuple[float, float] | None:
    """Tilt and swing by the same angle along the slant of the scene; None where it runs so."""
    found = assess(case, setting)
    right, down = found.measures.depth_gradient
    psi = found.measures.orientation_deg
    total, azimuth = total_and_azimuth(setting.tilt_deg, setting.swing_deg)
    total = min(total, limits.tilt_limit_deg)
    if not (psi > 10 and math.hypot(right, down) > 0 and limits.axis_turns and total > 0):
        return None
    # towards what is farther, as "up" is over ground
    tilt, swing = revolved(total, math.degrees(math.atan2(-down, -right)))
    turned = math.trunc(2 * tilt) / 2, math.trunc(2 * swing) / 2
    same = abs(azimuth - math.degrees(math.atan2(-down, -right))) < 1
    return None if same or turned == (setting.tilt_deg, setting.swing_deg) else turned


def _run(
    case: Case,
    setting: LensSetting,
    wanted: Iterable[tuple[tuple[float, float], float, Focus]],
) -> list[Found]:
    found = []
    for (tilt, swing), stop, focus in wanted:
        try:
            tried = replace(setting, tilt_deg=tilt, swing_deg=swing, f_number=stop, focus=focus)
            found.append(Found(tried, assess(case, tried)))
        except SettingError:  # no extension focuses so: no setting
            continue
    return found


def _spots(case: Case, rows: Sequence[float], columns: Sequence[float]) -> list[FocusSpot]:
    """Open places in the frame that are not in the way of it."""
    few = case.few
    way = in_the_way(few, case.over)
    near = few.inverse[way].min() if way.any() else math.inf
    places = (open_place(case, column, row) for row, column in product(rows, columns))
    found = [place for place in places if place is not None and 1.0 / place.depth_m < near]
    return list(dict.fromkeys(found))  # two columns may lead to one place


def _effort(setting: LensSetting, now: LensSetting | None) -> tuple[float, ...]:
    """Another lens, then what is harder to dial; then less depth of field, then more turn."""
    other = now is not None and setting.focal_mm != now.focal_mm
    odd = sum(angle != round(angle) for angle in (setting.tilt_deg, setting.swing_deg))
    changed = 0
    if now is not None:
        changed = sum(
            getattr(setting, name) != getattr(now, name)
            for name in ("tilt_deg", "swing_deg", "focus", "f_number")
        )
    down = setting.tilt_deg > 0 and setting.swing_deg == 0
    turn = abs(setting.tilt_deg) + abs(setting.swing_deg)
    harder = float(other), float(setting.swing_deg != 0), float(down), float(odd), changed
    return *harder, -setting.f_number, turn
