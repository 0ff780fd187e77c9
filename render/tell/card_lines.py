"""What a field card says to people, under headings."""

from render.plan.card import FieldCard
from render.plan.exposure import ExposurePlan, Histogram, filter_words, shutter_words
from render.plan.motion import Smear, Step
from render.plan.timelapse import TimeLapse, Video

__all__ = ["card_lines"]


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
