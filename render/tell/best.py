"""The best setting from here: of this lens, or of several to choose from, each its own frame."""

from dataclasses import dataclass, replace

import numpy as np

from render.errors import HingelineError
from render.files.lenses import read_lens
from render.judge.advising.best import Found, best_setting, preferred
from render.judge.advising.proposals import change_words
from render.judge.case import Case
from render.judge.notes import frame_width_m
from render.judge.score import Score
from render.judge.verdict import Verdict
from render.load.case import case_of
from render.load.prepare import prepare
from render.load.prepared import Prepared
from render.load.progress import silent
from render.load.variants import turned
from render.optics.lens import FocusExtension, FocusSpot, LensSetting
from render.optics.solving.holding import nearest_inside
from render.optics.solving.limits import LensLimits, usual_limits
from render.shot.declaring import Words
from render.shot.shot import Shot, merged
from render.shot.wishes import JudgeWishes
from render.tell.records.declared import BestRecord
from render.tell.setting_values import in_full, option_words, options_line, setting_values
from render.tell.verdict_lines import ToDo
from render.words import focal_words, length_words

__all__ = ["Best", "Tried", "best_of", "best_record", "best_shot", "best_to_do", "tried_words"]

_LEAST_GAIN = 0.5  # points, below which a setting is no better
_SAME_FRAME = 0.01  # share by which two frames may differ and are the same


@dataclass(frozen=True, slots=True, eq=False)
class Tried:
    """One lens that was tried.

    Attributes
    ----------
    name : str
        As it is said: "45 mm", "long 90".
    given : mapping of name to words
        What of a shot names the lens; empty for the lens that the shot has.
    prepared : Prepared or None
        The place through it; None where it cannot be.
    case : Case or None
    found : Found or None
        Its best setting.
    refused : str
        Why it cannot be.
    """

    name: str
    given: dict[str, Words]
    prepared: Prepared | None = None
    case: Case | None = None
    found: Found | None = None
    refused: str = ""

    @property
    def wide_m(self) -> float:
        """How wide its frame is at the sharp band, m; infinity in the sky, NaN if unknown."""
        if self.case is None or self.found is None:
            return float("nan")
        return frame_width_m(self.case, self.found.assessment.measures)


@dataclass(frozen=True, slots=True, eq=False)
class Best:
    """What the search found.

    Attributes
    ----------
    now : Prepared
        The shot as it is.
    before : Score
    frame_m : float
        How wide the shot's frame is at its sharp band as it is.
    tried : tuple of Tried
        Every lens; the shot's own comes first, unless others were named and the shot names none.
    chosen : int
        Which of them is best.
    """

    now: Prepared
    before: Score
    frame_m: float
    tried: tuple[Tried, ...]
    chosen: int

    @property
    def found(self) -> Found:
        """The best setting."""
        found = self.tried[self.chosen].found
        assert found is not None
        return found

    @property
    def values(self) -> dict[str, str | None]:
        """Values of a shot that turn it so; empty where it is set so already."""
        best = self.tried[self.chosen]
        if not best.given:
            return setting_values(self.found.setting, self.now)
        assert best.prepared is not None
        # a spot counts in the frame, and the frame is another
        old = _unfocused(self.now.setting) if self.now.shot.scene else self.now.setting
        values = setting_values(self.found.setting, replace(best.prepared, setting=old))
        return {**{name: str(text) for name, text in best.given.items()}, **values}

    @property
    def gains(self) -> bool:
        """Whether it is better than what is set."""
        return bool(self.values) and self.found.score.value >= self.before.value + _LEAST_GAIN


def best_of(prepared: Prepared, case: Case, verdict: Verdict, wishes: JudgeWishes) -> Best:
    """Search tilt, swing, f-number and focus, of every lens that may be used.

    Raises
    ------
    HingelineError
        If none of the lenses can be used here.
    """
    limits = prepared.limits or usual_limits(prepared.setting.focal_mm)
    own = Tried(_named(limits, prepared.limits), {}, prepared, case)
    keys = prepared.shot.lens
    wanted = [_lens(text) for text in wishes.lenses]
    others = [(name, given, other) for name, given, other in wanted if other != limits]
    tried = [own] if keys.focal_mm or keys.lens_file or not others else []
    asked = replace(wishes, rendered=None) if others else wishes
    tried += [_through(prepared, *each, asked) for each in others]
    tried = [_searched(one) for one in tried]
    able = [(number, one.found) for number, one in enumerate(tried) if one.found is not None]
    if not able:
        raise HingelineError(tried[0].refused)
    now = prepared.setting if tried[0] is own or not tried[0].given else None
    place = preferred([(found.setting, found.score) for _, found in able], now)
    frame_m = frame_width_m(case, verdict.measures)
    return Best(prepared, verdict.score, frame_m, tuple(tried), able[place][0])


def best_shot(best: Best) -> Shot:
    """The shot so set."""
    shot = in_full(best.now.shot, best.now)
    if best.tried[best.chosen].given:
        shot = _without_lens(shot)
    given: dict[str, Words] = {name: text or "0" for name, text in best.values.items()}
    return merged(shot, given, "--{name}")


def _typed(best: Best) -> str:
    at = best.tried[best.chosen].prepared
    return (
        f"As options: {option_words(best.values)}" if at is None else options_line(best.values, at)
    )


def best_to_do(best: Best) -> ToDo:
    """What the search found, what it gained, what the frame is then, and how to ask for it."""
    one, tried = best.tried[best.chosen], tried_words(best)
    which = "of these lenses" if tried else "of this lens"
    lenses = (f"Lenses tried: {tried}",) if tried else ()
    if not best.gains:
        words = f"nothing; the best setting {which} from here is the one it has"
        return ToDo(words, more=lenses)
    assert one.case is not None
    # another frame: its focus is said anew
    old = _unfocused(best.now.setting) if one.given else best.now.setting
    changes = [*([one.name] if one.given else [])]
    changes += change_words(one.case, old, best.found.setting)
    score = best.found.score
    return ToDo(
        f"{', '.join(changes)}: {best.before.value:.0f} → {score.value:.0f}, {score.word}"
        f"{_frame_words(best)}",
        lead=f"To do, for the best setting {which} from here",
        more=(_typed(best), *lenses),
    )


def tried_words(best: Best) -> str:
    """What came of each lens that was tried; empty where it was one."""
    several = len(best.tried) > 1 or bool(best.tried[0].given)
    return "; ".join(_tried_words(each) for each in best.tried) if several else ""


def best_record(best: Best) -> BestRecord:
    """The same for programs."""
    return {
        "values": best.values,
        "before": best.before.value,
        "after": best.found.score.value,
        "word": str(best.found.score.word),
        "lenses": [
            {
                "lens": one.name,
                "after": one.found.score.value if one.found else None,
                "word": one.found.score.word if one.found else None,
                "frame_width_m": one.wide_m if np.isfinite(one.wide_m) else None,
                "refused": one.refused,
            }
            for one in best.tried
        ],
    }


def _lens(text: str) -> tuple[str, dict[str, Words], LensLimits]:
    """A lens as it was written: its name, what of a shot names it, what it can do."""
    try:
        focal_mm = float(text.removesuffix("mm"))
    except ValueError:
        limits = read_lens(text)
        return limits.name, {"lens-file": text, "lens": f"{limits.focal_mm:g}"}, limits
    limits = usual_limits(focal_mm)
    return _named(limits, None), {"lens": f"{focal_mm:g}"}, limits


def _named(limits: LensLimits, known: LensLimits | None) -> str:
    return known.name if known else focal_words(limits.focal_mm)


def _without_lens(shot: Shot) -> Shot:
    """The shot without its lens."""
    names = ("lens", "lens-file")
    return replace(
        shot,
        lens=replace(shot.lens, focal_mm=None, lens_file=None),
        written=tuple(pair for pair in shot.written if pair[0] not in names),
        own=tuple(pair for pair in shot.own if pair[0] not in names),
    )


def _through(
    prepared: Prepared,
    name: str,
    given: dict[str, Words],
    limits: LensLimits,
    wishes: JudgeWishes,
) -> Tried:
    """The place through another lens, set as near to the shot as that lens can be."""
    shot = merged(_without_lens(prepared.shot), given, "--lenses")
    start = nearest_inside(limits, prepared.setting)
    names = ("f_number", "tilt_deg", "swing_deg", "rise_mm", "lateral_mm")
    keys = replace(shot.lens, **{each: getattr(start, each) for each in names})
    if isinstance(prepared.setting.focus, FocusExtension):  # of the other lens
        keys = replace(keys, focus=None)
    shot = replace(shot, lens=keys)
    try:
        other = _framed(prepared, shot)
        if not _shows(other, other.setting):
            other = _framed(prepared, replace(shot, lens=replace(keys, focus=None)))
        return Tried(name, given, other, case_of(other, wishes))
    except HingelineError as error:
        return Tried(name, given, refused=str(error))


def _framed(prepared: Prepared, shot: Shot) -> Prepared:
    if shot.scene:
        return prepare(shot, silent, for_render=False, like=prepared)
    return turned(prepared, shot)


def _unfocused(setting: LensSetting) -> LensSetting:
    """The setting with the ring at infinity, so that any other focus is a change."""
    return replace(setting, focus=FocusExtension(setting.focal_mm))


def _shows(prepared: Prepared, setting: LensSetting) -> bool:
    """Whether the frame holds the focus spot."""
    focus = setting.focus
    if not isinstance(focus, FocusSpot):
        return True
    return prepared.scene.frame_camera.shows(focus.slope_x, focus.slope_y)


def _searched(one: Tried) -> Tried:
    if one.prepared is None or one.case is None:
        return one
    setting = one.prepared.setting
    limits = one.prepared.limits or usual_limits(setting.focal_mm)
    return replace(one, found=best_setting(one.case, setting, limits, thorough=True))


def _frame_words(best: Best) -> str:
    """What the frame is then: another focal length is another picture."""
    one, now = best.tried[best.chosen], best.now
    if not one.given or not np.isfinite([one.wide_m, best.frame_m]).all():
        return ""
    assert one.case is not None
    was, will = now.scene.frame_camera, one.case.samples.camera
    if abs(was.width_px * will.focal_px / (will.width_px * was.focal_px) - 1.0) < _SAME_FRAME:
        return ""
    of_a_picture = "" if now.shot.scene else ", cut from the same picture"
    return (
        f"; the frame is then {length_words(one.wide_m)} wide at the band in place of "
        f"{length_words(best.frame_m)}"
        f"{of_a_picture}"
    )


def _tried_words(one: Tried) -> str:
    if one.found is None:
        return f"{one.name} not, as {one.refused}"
    score = one.found.score
    wide = f", {length_words(one.wide_m)} wide at the band" if np.isfinite(one.wide_m) else ""
    return f"{one.name} {score.value:.0f}, {score.word}{wide}"
