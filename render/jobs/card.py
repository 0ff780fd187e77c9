"""`hingeline card`: the plan for the day, in words and as a record."""

from dataclasses import dataclass
from typing import Any

from render.errors import InputError
from render.files.formats.exif import exposed_with
from render.files.lenses import read_lens
from render.jobs.judge import Judged, judge_prepared
from render.judge.record import plain
from render.load.case import JudgeWishes, case_of
from render.load.compiled import say_compiling
from render.load.prepare import prepare
from render.load.prepared import Prepared
from render.load.progress import Progress
from render.optics.exposure import SUNNY_F_NUMBER
from render.plan.card import CardWishes, FieldCard, plan_card
from render.plan.cautions import place_for
from render.plan.exposure import (
    Brightness,
    ExposurePlan,
    Histogram,
    brightness_from_exposure,
    brightness_from_weather,
    filter_words,
    shutter_words,
)
from render.plan.motion import Smear, Step
from render.plan.record import card_record
from render.plan.timelapse import TimeLapse, Video
from render.shot.shot import Shot
from render.tell.summary import credit_words, setting_words

__all__ = ["Carded", "DayWishes", "card_lines", "card_shot"]


@dataclass(frozen=True, slots=True, kw_only=True)
class DayWishes:
    """What was asked of the plan besides the shot; fields as in `CardWishes`.

    Attributes
    ----------
    weather : str or None
        A condition of daylight; the picture's own exposure (EXIF) where None.
    lens : str or None
        Lens file or shipped lens.
    place : str or None
        "ground", "window", "roof" or "drone".
    """

    weather: str | None = None
    lens: str | None = None
    place: str | None = None
    iso: float = 100.0
    look: str = "model"
    interval_s: float | None = None
    frames_per_s: float = 25.0
    clip_s: float = 10.0
    megapixels: float = 24.0
    sun_in_frame: bool = False


@dataclass(frozen=True, slots=True, eq=False)
class Carded:
    """The card with everything said on it."""

    prepared: Prepared
    card: FieldCard
    judged: Judged
    lines: tuple[str, ...]
    record: dict[str, Any]


def card_shot(shot: Shot, wishes: DayWishes, *, progress: Progress) -> Carded:
    """Plan the day for a shot.

    Raises
    ------
    HingelineError
        In one sentence.
    """
    say_compiling(progress)
    prepared = prepare(shot, progress, for_render=False)
    progress("planning", 0.5)
    brightness = _brightness(prepared, wishes.weather)
    limits = read_lens(wishes.lens) if wishes.lens else None
    vantage = prepared.scene.vantage
    asked = CardWishes(
        brightness=brightness,
        iso=wishes.iso,
        look=wishes.look,
        interval_s=wishes.interval_s,
        frames_per_s=wishes.frames_per_s,
        clip_s=wishes.clip_s,
        megapixels=wishes.megapixels,
        place=place_for(wishes.place, vantage.height_m if vantage else None),
        sun_in_frame=wishes.sun_in_frame,
    )
    judged = judge_prepared(prepared, JudgeWishes(lens=wishes.lens))
    frame = prepared.scene.frame
    light = prepared.scene.picture[frame.rows, frame.columns]
    card = plan_card(case_of(prepared), judged.verdict, light, asked, limits)
    lines = [f"Setting: {setting_words(prepared)}", judged.verdict.sentence, *card_lines(card)]
    lines += [f"Assumed: {note}" for note in prepared.notes]
    lines += filter(None, [credit_words(prepared)])
    record = plain({"verdict": judged.record, **card_record(card)})
    return Carded(prepared, card, judged, tuple(lines), record)


def card_lines(card: FieldCard) -> list[str]:
    """The card for people, under headings."""
    camera = card.camera
    parts: dict[str, list[str]] = {
        "Before anything else": list(card.cautions),
        "Setting up": [f"{n}. {step}" for n, step in enumerate(card.setting_up, start=1)],
        "Check, 10 times magnified": [
            check.sentence(camera.width_px, camera.height_px) for check in card.checks
        ],
        "Tolerance": [card.slack.sentence, *(t.sentence for t in card.tolerances), card.caveats[0]],
        "Exposure": _exposure_lines(card.exposure, card.histogram, card.bracket),
        "What moves": [*map(_smear_line, card.smears)],
        "Time-lapse": _timelapse_lines(card.timelapse, card.steps),
        "Or video": [_video_line(card.video)],
        "Vary on site": list(card.vary),
        "Bring": list(card.bring),
    }
    lines = []
    for heading, entries in parts.items():
        lines.append(f"{heading}:")
        lines += [f"  {entry}" for entry in entries]
    return lines


def _video_line(video: Video) -> str:
    return (
        f"record {video.record_s:.0f} s at {video.record_fps:g} a second, play "
        f"{video.speed_up:.1f} times as fast; shutter {shutter_words(video.smooth_s)} smooth, "
        f"{shutter_words(video.snap_s)} snappy"
    )


def _brightness(prepared: Prepared, weather: str | None) -> Brightness:
    if weather is not None:
        return brightness_from_weather(weather)
    if prepared.file is None:  # a demo scene lies in the sun
        return brightness_from_weather("sun")
    found = exposed_with(prepared.file.kept.exif)
    if found is None:
        known = ", ".join(SUNNY_F_NUMBER)
        raise InputError(
            "the picture does not say how it was exposed, so the light is unknown: give "
            f"--weather, one of {known}"
        )
    return brightness_from_exposure(found.f_number, found.shutter_s, found.iso)


def _exposure_lines(
    exposure: ExposurePlan, histogram: Histogram, bracket: tuple[Histogram, ...]
) -> list[str]:
    clipped = ", ".join(
        f"{shutter_words(time_s)} clips {100 * h.clipped_share:.1f} %, leaves "
        f"{100 * h.dark_share:.1f} % in the dark"
        for time_s, h in zip(exposure.bracket_s, bracket, strict=True)
    )
    return [
        f"EV {exposure.brightness.ev100:.1f} at ISO 100 ({exposure.brightness.source}); "
        f"ISO {exposure.iso:g}",
        exposure.metered.sentence,
        *(choice.sentence for choice in exposure.choices),
        f"bracket{_filtered(exposure.bracket_filter_stops)}: {clipped}",
        f"expected, stops under saturation: {_bins(histogram)} ({histogram.basis})",
    ]


def _filtered(stops: float) -> str:
    return f", with {filter_words(stops)}" if stops else ""


def _bins(histogram: Histogram) -> str:
    """The filled bins: "-4 to -3: 41 %"."""
    return ", ".join(
        f"{low:+d}: {100 * share:.0f} %"
        for low, share in zip(histogram.stops, histogram.shares, strict=True)
        if share >= 0.005
    )


def _smear_line(smear: Smear) -> str:
    pixels = f"{smear.pixels:.2g}" if smear.pixels < 10 else f"{smear.pixels:.0f}"
    return (
        f"{smear.mover.name} in {shutter_words(smear.time_s)}: smears {pixels} px, "
        f"{smear.own_lengths:.2g} of its length"
    )


def _timelapse_lines(timelapse: TimeLapse, steps: tuple[Step, ...]) -> list[str]:
    plan = timelapse.interval
    minutes = plan.on_site_s / 60
    site = f"{minutes:.1f} min" if minutes >= 1 else f"{plan.on_site_s:.0f} s"
    return [
        f"one frame every {timelapse.interval_s:.2g} s ({timelapse.look}): {plan.frames} frames, "
        f"{site} on site, {plan.speed_up:.1f} times as fast as life, "
        f"{timelapse.card_gb:.2g} GB of raw for a clip of {timelapse.clip_s:g} s at "
        f"{timelapse.frames_per_s:g} a second",
        *(
            f"{step.mover.name}: {step.own_lengths:.2g} of its length from frame to frame, "
            f"{step.look}"
            for step in steps
        ),
        *timelapse.remarks,
    ]
