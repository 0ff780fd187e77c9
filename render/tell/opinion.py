"""The verdict beside the picture: words, marks, places in the frame, advice to apply."""

from typing import Any

from render.judge.advising.advice import Advice
from render.judge.score import Word
from render.judge.telltales import Telltale
from render.judge.verdict import Verdict
from render.load.prepared import Prepared
from render.tell.judged import judge_prepared, near_record
from render.tell.setting_values import setting_values
from render.tell.verdict_lines import parts_of
from render.words import metres

__all__ = ["opinion"]

_SHOWN = 6
_NAMES = {"picture": "Colour and place"}


def opinion(prepared: Prepared) -> dict[str, Any]:
    """Judge what was prepared and put it into words and shares of the frame.

    Raises
    ------
    HingelineError
        As the judgement.
    """
    judged = judge_prepared(prepared, elsewhere=False)
    verdict, advice = judged.verdict, judged.advice
    return {
        "sentence": verdict.headline,
        "short": _short(verdict),
        "why": judged.sharpness.sentence + "." if judged.sharpness else _why(verdict),
        "parts": [
            {
                "name": _NAMES.get(part.name, part.name.capitalize()),
                "mark": part.mark,
                "words": part.words,
                "weakest": part.name == verdict.marks.weakest,
            }
            for part in parts_of(verdict)
        ],
        "telltales": [_tale(tale, prepared) for tale in verdict.telltales[:_SHOWN]],
        "advice": [_advice(line, prepared) for line in advice[:_SHOWN]],
        "remarks": [*verdict.remarks, *(f"{n.text} ({n.source})" for n in judged.notes)],
        "near": near_record(judged.near_question),
        "small_print": verdict.small_print,
    }


def _short(verdict: Verdict) -> str:
    return f"{verdict.headline} · {verdict.score.value:.0f} of 100"


def _why(verdict: Verdict) -> str:
    score = verdict.score
    near = f"seems to stand {metres(verdict.apparent_m)} away, seen {verdict.viewing.words}"
    parts = [
        verdict.reasons[0] if verdict.reasons and verdict.word is not Word.READS else near,
        verdict.sure,
        f"{score.value:.0f} of 100 ({score.low:.0f} to {score.high:.0f})",
    ]
    sentence = "; ".join(parts)
    return f"{sentence[:1].upper()}{sentence[1:]}."


def _tale(tale: Telltale, prepared: Prepared) -> dict[str, Any]:
    frame, box = prepared.scene.frame, tale.box
    return {
        "x": (box.left + box.width / 2) / frame.width,
        "y": (box.top + box.height / 2) / frame.height,
        "radius": max(box.width, box.height) / 2 / frame.height,
        "sentence": tale.sentence,
    }


def _advice(line: Advice, prepared: Prepared) -> dict[str, Any]:
    """One line of advice; it can be applied where only the lens changes."""
    applies = line.setting is not None and line.vantage is None
    values = setting_values(line.setting, prepared) if applies and line.setting else {}
    text = line.text[:1].upper() + line.text[1:]
    if line.after is None:
        return {"sentence": f"{text} ({line.tested})", "gain": "", "values": None}
    return {
        "sentence": text,
        "gain": f"{line.before:.0f} → {line.after:.0f}",
        "values": values or None,
    }
