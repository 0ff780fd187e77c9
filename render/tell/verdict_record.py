"""A verdict as plain numbers and text, for JSON."""

from collections.abc import Sequence
from dataclasses import asdict
from typing import Any

from render.judge.advising.advice import Advice
from render.judge.notes import Note
from render.judge.score import Word
from render.judge.telltales import Telltale
from render.judge.verdict import Verdict
from render.judge.weights import RULES
from render.optics.camera import Vantage
from render.tell.records.declared import (
    AdviceRecord,
    VantageRecord,
    VerdictBase,
    VerdictRecord,
)
from render.tell.records.plain import plain
from render.words import movement_words, spell_f_number

__all__ = ["verdict_base", "verdict_record"]


def verdict_record(
    verdict: Verdict, advice: Sequence[Advice] = (), notes: Sequence[Note] = ()
) -> VerdictRecord:
    """Everything a verdict says, as dicts, lists, text, numbers and None; no NaN, no infinity."""
    setting = verdict.setting
    record: VerdictRecord = {
        **verdict_base(verdict, advice, notes),
        "setting": {
            "focal_mm": setting.focal_mm,
            "f_number": setting.f_number,
            "tilt_deg": setting.tilt_deg,
            "swing_deg": setting.swing_deg,
            "words": ", ".join(
                (
                    spell_f_number(setting.f_number),
                    *movement_words(setting.tilt_deg, setting.swing_deg),
                )
            ),
        },
    }
    return plain(record)


def verdict_base(
    verdict: Verdict,
    advice: Sequence[Advice] = (),
    notes: Sequence[Note] = (),
    options: Sequence[str] = (),
) -> VerdictBase:
    """The same without the setting; `options` are what to type for each advice, if known."""
    m, s = verdict.measures, verdict.stance
    record: VerdictBase = {
        "word": str(verdict.word),
        "sentence": verdict.sentence,
        "on_the_border": verdict.word is Word.MIGHT,
        "sure": verdict.sure,
        "built_over_score": verdict.built_over,
        "reasons": list(verdict.reasons),
        "score": {
            "value": verdict.score.value,
            "low": verdict.score.low,
            "high": verdict.score.high,
            "agreement": verdict.score.agreement,
            "shares": {
                "reads": verdict.score.reads_share,
                "does_not": 1.0 - verdict.score.reads_share,
            },
        },
        "gates": asdict(verdict.gates),
        "viewing": asdict(verdict.viewing)
        | {"words": verdict.viewing.words, "just_seen_fraction": verdict.just_seen},
        "strength": verdict.strength,
        "reads_as": asdict(verdict.reads_as) if verdict.reads_as else None,
        "parts": {
            "nearness": {
                "mark": verdict.marks.nearness,
                "seems_to_stand_at_m": verdict.apparent_m,
                "equivalent_pupil_m": m.pupil_m,
                "equivalent_focus_m": m.focus_m,
            },
            "agreement": {
                "mark": verdict.marks.agreement,
                "correlation": m.correlation,
                "correlation_seen_or_not": m.follows,
                "near_unlike_share": m.near_unlike,
                "spread_ln": m.spread_ln,
                "orientation_error_deg": m.orientation_deg,
            },
            "visibility": {
                "mark": verdict.marks.visibility,
                "edge_blur_fraction": m.edge_blur,
                "following_blur_fraction": m.following_blur,
                "looks_sharp_share": m.looks_sharp,
                "seen_sharp_share": m.seen_sharp,
                "band_height_fraction": m.band.height_fraction,
                "band_from_top_fraction": verdict.picture.band_from_top,
                "sharp_share": m.sharp_share,
                "coc_mm": verdict.coc_mm,
            },
            "viewpoint": {
                "mark": verdict.marks.viewpoint,
                "depression_deg": s.depression_deg,
                "sky_share": s.sky_share,
                "above_eye_level_share": s.above_share,
                "standing_in_band_share": s.standing_share,
                "vantage": _vantage(s.vantage),
                "vantage_found_from_depth": s.found,
                "foreground_share": s.foreground_share,
            },
            "picture": asdict(verdict.picture),
        },
        "stops": asdict(verdict.stops) | {"sentence": verdict.stops.sentence},
        "weights": list(RULES.weights),
        "telltales": [_telltale(thing) for thing in verdict.telltales],
        "advice": [
            _advice(*pair) for pair in zip(advice, options or [""] * len(advice), strict=True)
        ],
        "practice": [asdict(note) for note in notes],
        "remarks": list(verdict.remarks),
        "small_print": verdict.small_print,
    }
    return plain(record)


def _telltale(thing: Telltale) -> dict[str, Any]:
    return asdict(thing) | {"sentence": thing.sentence}


def _vantage(held: Vantage | None) -> VantageRecord | None:
    if held is None:
        return None
    return {"height_m": held.height_m, "pitch_deg": held.pitch_deg, "roll_deg": held.roll_deg}


def _advice(advice: Advice, options: str) -> AdviceRecord:
    return {
        "line": advice.line,
        "text": advice.text,
        "part": advice.part,
        "before": advice.before,
        "after": advice.after,
        "word": advice.word,
        "tested": advice.tested,
        "cost": advice.cost,
        "setting": asdict(advice.setting) if advice.setting else None,
        "vantage": _vantage(advice.vantage),
        "options": options,
    }
