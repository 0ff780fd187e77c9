"""A field card as plain numbers and text, for JSON."""

from dataclasses import asdict
from typing import Any

from render.plan.card import FieldCard
from render.plan.motion import Smear
from render.plan.ramp import Ramp
from render.plan.take import Take
from render.tell.records.commands import CardPlan, RampRecord, TakeRecord
from render.tell.records.plain import plain

__all__ = ["card_record"]


def card_record(card: FieldCard) -> CardPlan:
    """Everything on the card but the verdict, as dicts, lists, text, numbers and None."""
    width, height = card.camera.width_px, card.camera.height_px
    exposure = card.exposure
    record: CardPlan = {
        "stand": asdict(card.stand) | {"words": card.stand.looks},
        "named": [
            {
                "name": thing.name,
                "slope_x": thing.slope_x,
                "slope_y": thing.slope_y,
                "depth_m": thing.depth_m,
            }
            for thing in card.named
        ],
        "light": list(card.sunlight.lines) if card.sunlight else None,
        "exposure": {
            **asdict(exposure),
            "metered": asdict(exposure.metered) | {"sentence": exposure.metered.sentence},
            "choices": [
                asdict(choice) | {"sentence": choice.sentence} for choice in exposure.choices
            ],
        },
        "histogram": asdict(card.histogram),
        "bracket": [
            {"time_s": time_s, **asdict(histogram)}
            for time_s, histogram in zip(exposure.bracket_s, card.bracket, strict=True)
        ],
        "sitting": asdict(card.sitting) | {"sentence": card.sitting.sentence}
        if card.sitting
        else None,
        "smears": [_smear(smear) for smear in card.smears],
        "timelapse": asdict(card.timelapse) if card.timelapse else None,
        "take": _take(card.take, card) if card.take else None,
        "sensor_mm": [card.sensor.width_mm, card.sensor.height_mm] if card.sensor else None,
        "focused": card.focused,
        "turns": [asdict(turn) | {"sentence": turn.sentence} for turn in card.turns],
        "between": card.between,
        "unreached": list(card.unreached),
        "steps": [asdict(step) for step in card.steps],
        "video": asdict(card.video) if card.video else None,
        "setting_up": list(card.setting_up),
        "checks": [
            asdict(check) | {"sentence": check.sentence(width, height)} for check in card.checks
        ],
        "tolerances": [asdict(t) | {"sentence": t.sentence} for t in card.tolerances],
        "slack": asdict(card.slack) | {"sentence": card.slack.sentence},
        "shown": [
            asdict(shown) | {"sentence": shown.sentence(card.limits)} for shown in card.shown
        ],
        "vary": list(card.vary),
        "bring": list(card.bring),
        "caveats": list(card.caveats),
        "cautions": list(card.cautions),
    }
    return plain(record)


def _smear(smear: Smear) -> dict[str, Any]:
    return asdict(smear) | {"mover": smear.mover.name}


def _take(take: Take, card: FieldCard) -> TakeRecord:
    return {
        "start": take.start.isoformat(),
        "end": take.end.isoformat(),
        "lost_stops": take.lost_stops,
        "changes": [
            {
                "start": change.start.isoformat(),
                "end": change.end.isoformat(),
                "lost_stops": change.lost_stops,
                "turns": [at.isoformat() for at in change.turns],
            }
            for change in take.changes
        ],
        "ramp": _ramp(card.ramp) if card.ramp else None,
        "sentences": list(card.light_of_take),
    }


def _ramp(ramp: Ramp) -> RampRecord:
    return {
        "filter_stops": ramp.first.filter_stops,
        "time_s": ramp.first.time_s,
        "iso": ramp.first.iso,
        "to_time_s": ramp.to_s,
        "full_at": ramp.full_at.isoformat() if ramp.full_at else None,
        "to_iso": ramp.iso,
    }
