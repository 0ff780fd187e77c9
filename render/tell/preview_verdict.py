"""The verdict beside the picture: words, marks, places in the frame, advice to apply."""

from dataclasses import replace
from typing import Any

from render.judge.advising.advice import Advice
from render.judge.advising.best import suggested
from render.judge.advising.proposals import ON_PICTURE
from render.judge.case import Case, assess
from render.judge.score import Word
from render.judge.sharpness import Sharpness, holds_best, sharpness
from render.judge.telltales import Telltale
from render.judge.verdict import Verdict
from render.judge.verdict_words import built_words, if_guessed, stands_words
from render.load.case import NO_WISHES, case_of
from render.load.prepared import Prepared
from render.optics.exposure import WHOLE_STOPS
from render.optics.lens import LensSetting
from render.optics.plane import focus_lens
from render.optics.solving.limits import MARK_SHARE, LensLimits, usual_limits
from render.scene.field import frame_field
from render.shot.wishes import JudgeWishes
from render.tell.best import best_to_do, tried_words
from render.tell.judged import Judged, judge_prepared, near_record, scale_words
from render.tell.seen import asked_for, named_sharpness
from render.tell.setting_values import advised_values
from render.tell.summary import fact_lines, summary_of, undialled_words
from render.tell.verdict_lines import first_words, parts_of
from render.words import spell_f_number

__all__ = ["preview_verdict", "stop_strip"]

_SHOWN = 6
_SAME_STOP = 1 + MARK_SHARE
#: As engraved, which is how every command takes them.
_STOPS = (*WHOLE_STOPS, 45.0, 64.0)
#: Of a scene, which could be looked at from elsewhere: too slow to follow a hand.
_NOT_TRIED = (
    "Other standpoints are not tried here, which would take long. The verdict under “Save or "
    "print” tries them, so it may advise another one, or put it first."
)


def preview_verdict(prepared: Prepared, wishes: JudgeWishes = NO_WISHES) -> dict[str, Any]:
    """Judge what was prepared and put it into words and shares of the frame.

    Raises
    ------
    HingelineError
        As the judgement.
    """
    judged = judge_prepared(prepared, wishes, elsewhere=False)
    verdict, advice = judged.verdict, judged.advice
    field = frame_field(prepared.scene, prepared.setting)
    facts = fact_lines(prepared, focus_lens(prepared.setting), summary_of(prepared, field))
    facts += filter(None, [scale_words(judged)])
    said: dict[str, Any] = {
        "sentence": verdict.headline,
        "short": _short(verdict),
        "why": _why(verdict),
        "parts": [
            {
                "name": part.name.capitalize(),
                "mark": part.mark,
                "words": part.words,
                "weakest": part.name == verdict.marks.weakest,
            }
            for part in parts_of(verdict)
        ],
        "telltales": [_tale(tale, prepared) for tale in verdict.telltales[:_SHOWN]],
        "first": _first(first_words(verdict)),
        "advice": [_advice(line, prepared) for line in advice[:_SHOWN]],
        "untried": _NOT_TRIED if prepared.shot.scene and judged.sharpness is None else "",
        "best": _best(judged),
        "stopping": verdict.stops.sentence,
        "facts": facts,
        "remarks": [*verdict.remarks, *(f"{n.text} ({n.source})" for n in judged.notes)],
        "near": near_record(judged.near_question),
        "small_print": verdict.small_print,
    }
    if asked := judged.sharpness:
        said |= _sharp_opinion(asked, verdict, prepared.limits)
    elif named := named_sharpness(prepared, judged.case):
        facts.insert(0, named.sentence)
    if undialled := undialled_words(prepared):
        said["why"] = f"Cannot be dialled: {undialled}. {said['why']}"
    if prepared.guesses:
        said["sentence"] = if_guessed(said["sentence"])
    return said


def _sharp_opinion(asked: Sharpness, verdict: Verdict, limits: LensLimits | None) -> dict[str, Any]:
    """Of a shot that asks for sharp things; as a model it is one line, its parts help nobody."""
    count = f"{asked.count[:1].upper()}{asked.count[1:]}" or "For sharpness"
    return {
        "sentence": count,
        "short": f"{count} · {asked.rest}",
        "why": f"{asked.sentence}.",
        "parts": [],
        "first": None,
        "telltales": [],
        "stopping": f"To do: {asked.to_do(verdict.setting, limits)}",
        "remarks": [f"As a model: {verdict.sentence}"],
    }


def stop_strip(prepared: Prepared, wishes: JudgeWishes = NO_WISHES) -> list[dict[str, Any]]:
    """What each whole stop of the lens would be judged as, all else kept, and the one set.

    The best is the one that a stop sheet would suggest.
    """
    setting = prepared.setting
    case = case_of(prepared, wishes)
    lens = prepared.limits or usual_limits(setting.focal_mm)
    widest, smallest = lens.widest_f_number / _SAME_STOP, lens.smallest_f_number * _SAME_STOP
    others = [n for n in _STOPS if widest < n < smallest and not _same_stop(n, setting.f_number)]
    stops = sorted([*others, setting.f_number])
    if asked_for(prepared, case, assess(case, setting)) is not None:
        return _sharp_stops(prepared, case, stops)
    score = {n: assess(case, replace(setting, f_number=n)).score for n in stops}
    best = suggested([(replace(setting, f_number=n), score[n]) for n in stops])
    return [
        _stop(
            n,
            setting,
            "close" if score[n].word is Word.CLOSE else str(score[n].word).partition(" ")[0],
            f"{score[n].word}, {score[n].value:.0f} of 100",
            score[n].value,
        )
        | {"best": place == best}
        for place, n in enumerate(stops)
    ]


def _same_stop(f_number: float, other: float) -> bool:
    return 1 / _SAME_STOP < f_number / other < _SAME_STOP


def _stop(
    f_number: float, setting: LensSetting, word: str, words: str, height: float
) -> dict[str, Any]:
    return {
        "f": spell_f_number(f_number).removeprefix("f/"),
        "word": word,
        "words": words,
        "score": round(height),
        "now": f_number == setting.f_number,
        "best": False,
    }


def _sharp_stops(prepared: Prepared, case: Case, stops: list[float]) -> list[dict[str, Any]]:
    """Whether all that was asked for is sharp at each; the bar is how much of the rest is soft."""
    found = {
        n: sharpness(
            case,
            replace(prepared.setting, f_number=n),
            prepared.named,
            unseen=prepared.unseen,
        )
        for n in stops
    }
    best, _ = holds_best(list(found.values()), stops.index(prepared.setting.f_number))
    return [
        _stop(
            n,
            prepared.setting,
            "sharp"
            if one.as_asked
            else one.count.removesuffix(" sharp")
            if len(one.things) + len(one.unseen) > 1
            else "soft",
            ", ".join(filter(None, (one.count, one.rest))),
            100 * one.soft_share,
        )
        | {"best": place == best}
        for place, (n, one) in enumerate(found.items())
    ]


def _short(verdict: Verdict) -> str:
    return f"{verdict.headline} · {verdict.score.value:.0f} of 100"


def _why(verdict: Verdict) -> str:
    score = verdict.score
    though = "though " if verdict.word is Word.READS else ""
    near = f"{stands_words(verdict.apparent_m)}, seen {verdict.viewing.words}"
    parts = [
        *([near] if verdict.word is Word.READS else []),
        *([though + verdict.reasons[0]] if verdict.reasons else []),
        verdict.sure,
        f"{score.value:.0f} of 100 ({score.low:.0f} to {score.high:.0f})",
        built_words(score, verdict.built_over),
    ]
    sentence = "; ".join(filter(None, parts))
    return f"{sentence[:1].upper()}{sentence[1:]}."


def _tale(tale: Telltale, prepared: Prepared) -> dict[str, Any]:
    frame, box = prepared.scene.frame, tale.box
    return {
        "x": (box.left + box.width / 2) / frame.width,
        "y": (box.top + box.height / 2) / frame.height,
        "radius": max(box.width, box.height) / 2 / frame.height,
        "sentence": tale.sentence,
    }


def _best(judged: Judged) -> dict[str, Any] | None:
    """What the search for the best setting found, if it was asked for."""
    if judged.best is None:
        return None
    best = judged.best
    words = best_to_do(best).words
    if not best.gains:
        return {"sentence": words, "values": None}
    return {"sentence": "; ".join(filter(None, (words, tried_words(best)))), "values": best.values}


def _first(words: str) -> dict[str, Any] | None:
    """What comes before all advice; what stands is said by clicks."""
    if not words:
        return None
    said = words.startswith("say ")
    how = "click each, or draw round it" if said else ""
    return {"sentence": words[:1].upper() + words[1:], "how": how, "tool": "thing" if said else ""}


def _advice(line: Advice, prepared: Prepared) -> dict[str, Any]:
    """One line of advice; it can be applied where the page can show what it makes."""
    text = line.text[:1].upper() + line.text[1:]
    how = "" if line.tested == ON_PICTURE else line.tested
    if line.word in (Word.WONT, Word.CLOSE):
        how = "; ".join(filter(None, (how, "it still won't read")))
    gain = "" if line.after is None else f"{line.before:.0f} → {line.after:.0f}"
    if not (values := advised_values(line, prepared)):
        how = how or "this picture does not show enough for it"
    elif not gain:
        how = "not tried yet"
    return {
        "sentence": text,
        "gain": gain,
        "how": "; ".join(filter(None, (how, line.cost))),
        "values": values or None,
    }
