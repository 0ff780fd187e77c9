"""The verdict in sentences, for a person: what it reads as and how sure, and why not."""

import math

from render.judge.case import Assessment, Case
from render.judge.scale import ReadsAs
from render.judge.score import Score, Word
from render.judge.weights import RULES
from render.optics.lens import LensSetting
from render.words import metres

__all__ = ["headline", "reasons", "sure_words", "top_line"]

_NEARLY_ALL, _MOST = 0.95, 0.85
_COSTS = 0.6  # a gate below this is a reason
_STEEP_ENOUGH, _AGREES = 0.6, 0.45  # marks below these are


def headline(word: Word, reads_as: ReadsAs | None) -> str:
    """The word, and the scale where the picture reads as a model: "Reads as a model, about 1:240"."""
    text = f"{word[0].upper()}{word[1:]}"
    named = reads_as is not None and word in (Word.READS, Word.MIGHT)
    return f"{text}, about {reads_as.ratio}" if named and reads_as else text


def sure_words(score: Score) -> str:
    """How sure: "firm: 99 of 100 ways of weighing it agree"."""
    ways = min(99, round(100 * score.agreement)) if score.agreement < 1 else 100
    if score.word is Word.MIGHT:
        return f"open: {round(100 * score.reads_share)} of 100 ways of weighing it say it reads"
    how = (
        "firm"
        if score.agreement >= _NEARLY_ALL
        else "fairly firm"
        if score.agreement >= _MOST
        else "not firm"
    )
    return f"{how}: {ways} of 100 ways of weighing it agree"


def top_line(score: Score, reads_as: ReadsAs | None, why: tuple[str, ...]) -> str:
    """One line: word, scale, the main reason where it does not read, and how sure."""
    said = headline(score.word, reads_as)
    if why and score.word is not Word.READS:
        said += f": {why[0]}"
    number = f"score {score.value:.0f} of 100, {score.low:.0f} to {score.high:.0f}"
    return f"{said}. {_capital(sure_words(score))} ({number})."


def reasons(case: Case, setting: LensSetting, found: Assessment) -> tuple[str, ...]:
    """What stands against it, worst first; empty where nothing much does."""
    m, stood, gates, marks = found.measures, found.stance, found.gates, found.marks
    ranked: list[tuple[float, str]] = []
    tilted = setting.tilt_deg != 0 or setting.swing_deg != 0
    if m.correlation < _AGREES and m.edge_blur > case.just_seen:
        ranked.append((0.3 * gates.seen, _across(m.correlation)))
    if gates.seen < _COSTS and m.correlation >= RULES.single_scale_from:
        ranked.append((gates.seen, _unseen(case, found)))
    elif gates.seen < _COSTS and m.edge_blur <= case.just_seen * RULES.seen_none:
        ranked.append((gates.seen, _unseen(case, found)))
    if gates.eye_level < _COSTS:
        ranked.append((gates.eye_level, _eye_level(case, found)))
    if gates.close < _COSTS and m.edge_blur > case.just_seen:
        lens = "its blur is that of an ordinary fast lens" if tilted else "its blur is a plain lens's"
        ranked.append((gates.close, f"{lens} so near, so it shows a close photograph, not a model"))
    if gates.empty_band < 0.9:
        ranked.append((gates.empty_band, "nothing stands in the sharp band for the eye to rest on"))
    if found.evidence.sharp_share < RULES.sharp_none:
        ranked.append((0.3, "nothing in the frame looks sharp"))
    elif found.evidence.sharp_share > RULES.sharp_all:
        ranked.append((0.3, "nearly all of it looks sharp"))
    if marks.nearness < 0.2:
        away = found.apparent_m
        far = f"the blur puts the scene {metres(away)} away, too far to look small"
        ranked.append((0.35, far if math.isfinite(away) else "the blur does not bring it near"))
    if marks.viewpoint < _STEEP_ENOUGH and gates.eye_level >= _COSTS:
        phi = stood.depression_deg
        if phi == phi and phi < RULES.phi_low_deg:
            ranked.append((0.5, f"it looks along, not down: the band lies {phi:.0f}° below eye level"))
    return tuple(text for _, text in sorted(ranked, key=lambda pair: pair[0]))


def _across(correlation: float) -> str:
    return f"the blur does not follow the depth (correlation {max(0.0, correlation):.2f})"


def _unseen(case: Case, found: Assessment) -> str:
    blur = found.measures.following_blur
    if blur < 0.5 * case.just_seen:
        return "everything is sharp"
    return (
        f"the blur is hardly seen {case.viewing.words}: {100 * blur:.2g} % of the height at the "
        f"softest, {100 * case.just_seen:.2g} % is just seen"
    )


def _eye_level(case: Case, found: Assessment) -> str:
    share, sky = found.stance.above_share, found.stance.sky_share
    what = "sky" if sky > 0.7 * share else "sky and what hides it" if sky > 0.1 * share else "things"
    text = f"{100 * share:.0f} % of the picture ({what}) rises above eye level"
    if case.vantage and case.vantage.height_m < RULES.high_stand_m:
        text += f", seen from {metres(case.vantage.height_m)} up: that gives the true size away"
    return text


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]
