"""The verdict beside the picture: words, marks, places in the frame, advice to apply."""

import math
from typing import Any

from render.judge.advice import Advice
from render.judge.score import Word
from render.judge.telltales import Telltale
from render.judge.verdict import Verdict
from render.load.prepared import Prepared
from render.optics.lens import FocusDistance, FocusExtension, FocusSpot, LensSetting
from render.optics.plane import focus_lens
from render.tell.judged import judge_prepared, near_record
from render.tell.told import counted_in, spot_words
from render.tell.verdict_lines import parts_of
from render.words import metres, spell_direction, spell_f_number

__all__ = ["opinion", "setting_values"]

_SHOWN = 6
_NAMES = {"picture": "Colour and place"}
#: A spot stands for a focus if the depth there is the wanted one, within this share.
_SAME_DEPTH = 0.005


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
        "why": _why(verdict),
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


def setting_values(wanted: LensSetting, prepared: Prepared) -> dict[str, str | None]:
    """Values of a shot that turn the setting of `prepared` into `wanted`; None takes one away."""
    now = prepared.setting
    values: dict[str, str | None] = {}
    if wanted.tilt_deg != now.tilt_deg:
        values["tilt"] = spell_direction("tilt", wanted.tilt_deg)
    if wanted.swing_deg != now.swing_deg:
        values["swing"] = spell_direction("swing", wanted.swing_deg)
    if wanted.rise_mm != now.rise_mm:
        values["rise"] = spell_direction("rise", wanted.rise_mm)
    if wanted.lateral_mm != now.lateral_mm:
        values["shift"] = spell_direction("lateral", wanted.lateral_mm)
    if wanted.f_number != now.f_number:
        values["f"] = spell_f_number(wanted.f_number).removeprefix("f/")
    if wanted.focal_mm != now.focal_mm:
        values["lens"] = f"{wanted.focal_mm:.4g}"
    if wanted.focus != now.focus:
        values["focus"] = _focus_words(wanted, prepared)
    return values


def _focus_words(wanted: LensSetting, prepared: Prepared) -> str:
    match wanted.focus:
        case FocusSpot(slope_x, slope_y, depth_m):
            camera, counted = prepared.scene.camera, counted_in(prepared)
            x, y = (float(place) for place in camera.positions((slope_x, slope_y)))
            if 0 <= x - counted.left < counted.width and 0 <= y - counted.top < counted.height:
                there = float(prepared.scene.depth_m[int(y), int(x)])
                if there == depth_m or abs(there / depth_m - 1) < _SAME_DEPTH:
                    return spot_words(prepared, x, y)
        case FocusDistance(depth_m):
            return "infinity" if math.isinf(depth_m) else f"{depth_m:.6g} m"
        case FocusExtension(extension_mm):
            return f"extension {extension_mm:.4f} mm"
    return f"extension {focus_lens(wanted).extension_mm:.4f} mm"


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
