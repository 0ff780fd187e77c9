"""Advice: what would help, worked out backwards and then re-judged by running it.

Closed forms propose (`proposals` and `vantages` of this room); the score beside each line is
that of the whole judgement run anew, never a promise.
"""

import math
from dataclasses import dataclass

from render.errors import SettingError
from render.judge.advising.best import best_setting
from render.judge.advising.proposals import (
    ON_PICTURE,
    Situation,
    Trial,
    change_words,
    lens_proposals,
    spot_words,
)
from render.judge.advising.vantages import NO_ELSEWHERE, Elsewhere, frame_proposals, unseen
from render.judge.case import Assessment, Case, assess
from render.judge.score import Word
from render.judge.weights import RULES
from render.optics.camera import Vantage
from render.optics.lens import LensSetting
from render.optics.solving.holding import misfits
from render.optics.solving.limits import LensLimits, usual_limits
from render.scene.scene import Scene
from render.words import percent

__all__ = ["Advice", "advise", "f_number_for_scale"]

_UNTESTED = "a photo cannot test this: take one from there, or try a demo scene"
_NOT_TRIED = "not tried: move the camera there"
_LEAST_GAIN = 3.0  # points of score a proposal must bring
_MORE_THAN_ONE = 3.0  # points that several changes must bring over the best single one
_MOST, _STILL = 6, 2  # lines that are said; where none makes a model of it


@dataclass(frozen=True, slots=True)
class Advice:
    """One thing to try.

    Attributes
    ----------
    text : str
        What to do: "open to f/2.8".
    part : str
        The part it is meant to mend: "nearness", "agreement", "visibility", "viewpoint", or
        "together" where several are.
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
    cost : str
        What it costs: "the sharp band is then 4.9 % high"; empty where nothing to speak of.
    """

    text: str
    part: str
    setting: LensSetting | None
    vantage: Vantage | None
    before: float
    after: float | None
    word: Word | None
    tested: str
    cost: str = ""

    @property
    def of_the_lens(self) -> bool:
        """Whether it is for the lens alone, in the frame as it is, and was seen to help."""
        return self.after is not None and self.part != "viewpoint"

    @property
    def line(self) -> str:
        """As printed: "open to f/2.8: 71 → 94"."""
        if self.after is None:
            return f"{self.text} ({self.tested})"
        how = "" if self.tested == ON_PICTURE else f" ({self.tested})"
        cost = f"; {self.cost}" if self.cost else ""
        if self.word is not None and not self.word.of_a_model:
            cost += "; it still won't read"
        return f"{self.text}: {self.before:.0f} → {self.after:.0f}{how}{cost}"


def advise(
    scene: Scene,
    case: Case,
    setting: LensSetting,
    *,
    limits: LensLimits | None = None,
    there: Elsewhere = NO_ELSEWHERE,
) -> tuple[Advice, ...]:
    """Propose changes and re-judge each; those that help come first, best first.

    Parameters
    ----------
    scene : Scene
        With its margin, which lets another pitch or fall be tested.
    case : Case
        `render.judge.case.look` of that scene.
    limits : LensLimits, optional
    there : Elsewhere
        What is known of other vantages, so that height and pitch can be tested.

    Returns
    -------
    tuple of Advice
        Proposals that gain at least three points and might read then, or else the two best;
        where none reads, also those that a picture cannot test.
    """
    now = Situation(
        scene, case, setting, assess(case, setting), limits or usual_limits(setting.focal_mm)
    )
    tested: list[Advice] = []
    seen: set[tuple[LensSetting, Vantage | None]] = set()
    for trial in (*lens_proposals(now), *frame_proposals(now, there)):
        if (trial.setting, trial.vantage) in seen or (limits and misfits(limits, trial.setting)):
            continue
        seen.add((trial.setting, trial.vantage))
        advice = _run(now, trial)
        if advice is not None:
            tested.append(advice)
    # as printed, so that what gains alike stands in one order for any number of pixels
    tested.sort(key=lambda advice: -round(advice.after or 0.0))
    lines = _best_of_each([*_together(now, tested), *tested])
    helping = [line for line in lines if line.word is None or line.word.of_a_model]
    lines = helping[:_MOST] or lines[:_STILL]  # no crowd of lines that lead nowhere
    enough = any(line.word is Word.READS for line in lines) or now.found.score.word is Word.READS
    hopeless = now.found.score.word is Word.CLOSE
    untested = () if there.rebuild or enough or hopeless else unseen(now, there)
    return (*lines, *(_untested(now, there, *proposal) for proposal in untested))


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


def _together(now: Situation, tested: list[Advice]) -> list[Advice]:
    """What the search finds, where it brings more than the best single proposal."""
    found = best_setting(now.case, now.setting, now.limits)
    single = max((line.after or 0.0 for line in tested), default=now.found.score.value)
    words = change_words(now.case, now.setting, found.setting)
    if found.score.value < single + _MORE_THAN_ONE or not words:
        return []  # one change alone is a place for the band that no closed form proposed
    part = "together" if len(words) > 1 else "agreement"
    trial = Trial(", ".join(words), part, found.setting, now.case)
    line = _run(now, trial)
    return [line] if line else []


def _run(now: Situation, trial: Trial) -> Advice | None:
    try:
        found = assess(trial.case, trial.setting)
    except SettingError:  # a proposal that no extension focuses is no advice
        return None
    before, after = now.found.score.value, found.score
    if after.value < before + _LEAST_GAIN:
        return None
    text = trial.text
    if trial.refocused:
        text += f", focused {spot_words(trial.case, trial.setting)}"
    return Advice(
        text,
        trial.part,
        trial.setting,
        trial.vantage,
        before,
        after.value,
        after.word,
        trial.tested,
        _cost(now, trial, found),
    )


def _cost(now: Situation, trial: Trial, found: Assessment) -> str:
    """What comes into the frame; or a thinner band, the price of a wider stop or more tilt."""
    if trial.cost:
        return trial.cost
    band, before = found.measures.band.height_fraction, now.found.measures.band.height_fraction
    thinner = trial.case is now.case and band < min(RULES.band_high, 0.8 * before)
    return f"the sharp band is then {percent(band)} of the height" if thinner else ""


def _best_of_each(tested: list[Advice]) -> list[Advice]:
    """Keep one place for the band and one pitch, the best; of the rest all."""
    dropped: list[Advice] = []
    for start in ("lay the band", "pitch down"):
        dropped += [advice for advice in tested if advice.text.startswith(start)][1:]
    return [advice for advice in tested if advice not in dropped]


def _untested(now: Situation, there: Elsewhere, text: str, vantage: Vantage | None) -> Advice:
    before = now.found.score.value
    tested = _UNTESTED if there.crowded_share is None else _NOT_TRIED
    return Advice(text, "viewpoint", None, vantage, before, None, None, tested)
