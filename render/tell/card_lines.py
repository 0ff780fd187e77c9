"""What a field card says to people, under headings."""

from render.optics.solving.holding import leaned_words, ring_leans, ring_words
from render.plan.card import FieldCard
from render.plan.exposure import ExposurePlan, Histogram, filter_words, share_words, shutter_words
from render.plan.motion import Smear
from render.plan.timelapse import TimeLapse, Video
from render.words import focal_words, percent

__all__ = ["card_lines"]


def card_lines(card: FieldCard) -> list[str]:
    """The card for people, under headings; what is not planned has none."""
    camera = card.camera
    parts: dict[str, list[str]] = {
        "First": [f"{text[0].upper()}{text[1:]}." for text in card.first],
        "Before anything else": list(card.cautions),
        "Where": _where_lines(card),
        "Light": list(card.sunlight.lines) if card.sunlight else [],
        "Setting up": [f"{n}. {step}" for n, step in enumerate(card.setting_up, start=1)],
        "Check, 10 times magnified": [
            check.sentence(camera.width_px, camera.height_px) for check in card.checks
        ],
        "Tolerance": []
        if card.blind
        else [card.slack.sentence, *(t.sentence for t in card.tolerances), card.caveats[0]],
        "Exposure": _exposure_lines(card.exposure, card.histogram, card.bracket),
        "People": [card.sitting.sentence] if card.sitting else [],
        "What moves": [*map(_smear_line, card.smears)],
        "Time-lapse": _timelapse_lines(card, card.timelapse) if card.timelapse else [],
        "Or video": [_video_line(card.video, card.timelapse)] if card.video else [],
        "Which stop survives": [shown.sentence(card.limits) for shown in card.shown],
        "Vary on site": list(card.vary),
        "Bring": list(card.bring),
    }
    lines = []
    for heading, entries in parts.items():
        if entries:
            lines.append(f"{heading}:")
            lines += [f"  {entry}" for entry in entries]
    return lines


def _where_lines(card: FieldCard) -> list[str]:
    name = (
        card.limits.name
        if card.lens_named
        else f"no lens file, a usual {focal_words(card.limits.focal_mm)} is assumed"
    )
    setting, checks = card.verdict.setting, card.checks
    ring = ring_words(card.ring)
    if checks and (by := leaned_words(card.ring, setting, checks[0].depth_m)):
        ring += f", {by}"
    if checks and ring_leans(card.ring, setting, checks[0].depth_m):
        ring += ": it is marked for a straight lens"
    size = f", for a frame of {card.size_words}" if card.size_words else ""
    lines = [f"lens: {name}{size}; focus ring at {ring}"]
    if card.pivot_words:
        lines.append(card.pivot_words)
    if card.ring_on_the_way:
        lines.append(f"focus ring in the film: {card.ring_on_the_way}, as under Time-lapse")
    if card.stand.looks or card.stand.where:
        lines.insert(0, ", ".join(filter(None, [card.stand.where, card.stand.looks])))
    return lines


def _video_line(video: Video, timelapse: TimeLapse | None) -> str:
    exposed = timelapse is not None and not timelapse.by_remote
    return (
        f"record {video.record_s:.0f} s at {video.record_fps:g} a second, play "
        f"{video.speed_up:.1f} times as fast; shutter "
        f"{'and filter as under Exposure' if exposed else _video_shutter(video)}"
    )


def _video_shutter(video: Video) -> str:
    """Smooth and snappy, where a recording can do both."""
    if shutter_words(video.smooth_s) == shutter_words(video.snap_s):
        return f"{shutter_words(video.smooth_s)}, the longest that video has: it will look snappy"
    return f"{shutter_words(video.smooth_s)} smooth, {shutter_words(video.snap_s)} snappy"


def _exposure_lines(
    exposure: ExposurePlan, histogram: Histogram, bracket: tuple[Histogram, ...]
) -> list[str]:
    clipped = ", ".join(
        f"{shutter_words(time_s)} clips {share_words(h.clipped_share)}, leaves "
        f"{share_words(h.dark_share)} in the dark"
        for time_s, h in zip(exposure.bracket_s, bracket, strict=True)
    )
    return [
        f"EV {exposure.brightness.ev100:.1f} at ISO 100 ({exposure.brightness.source}); "
        f"ISO {exposure.iso:g}",
        *_extension_lines(exposure),
        exposure.metered.sentence,
        *(choice.sentence for choice in exposure.choices),
        f"bracket{_filtered(exposure.bracket_filter_stops)}: {clipped}",
        f"expected, stops under saturation: {_bins(histogram)} ({histogram.basis})",
    ]


def _extension_lines(exposure: ExposurePlan) -> list[str]:
    lost = exposure.extension_stops
    if lost < 0.1:
        return []
    return [
        f"{lost:.1f} stops are lost because the lens stands out so far, and counted in below; a "
        "meter that reads through the lens counts them by itself"
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
    share = percent(smear.width_fraction) if smear.width_fraction < 1 else "all"
    share = share if smear.width_fraction >= 1e-4 else "under 0.01 %"
    looks = ", which looks frozen" if smear.frozen else ""
    looks = ", which leaves hardly a trace but of its lamps" if smear.gone else looks
    return (
        f"{smear.mover.name} in {shutter_words(smear.time_s)}: smears {share} of the frame's "
        f"width, {smear.own_lengths:.2g} of its length{looks}"
    )


def _timelapse_lines(card: FieldCard, timelapse: TimeLapse) -> list[str]:
    plan = timelapse.interval
    every = f"one frame every {timelapse.interval_s:.3g} s"
    if not timelapse.by_remote:
        every = f"a burst of {1 / timelapse.interval_s:.2g} frames a second"
    return [
        f"{every} ({timelapse.look}): {plan.frames} frames, "
        f"{timelapse.site_words} on site, {plan.speed_up:.1f} times as fast as life, "
        f"{timelapse.card_words} of raw for a clip of {timelapse.clip_s:.3g} s at "
        f"{timelapse.frames_per_s:g} a second",
        *card.light_of_take,
        *(
            f"{step.mover.name}: {step.own_lengths:.2g} of its length from frame to frame, "
            f"{step.look}"
            for step in card.steps
        ),
        *(turn.sentence for turn in card.turns),
        *([card.between] if card.between and card.turns else []),
        *card.unreached,
        *timelapse.remarks,
    ]
