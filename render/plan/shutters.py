"""The shutters of a card, of stills and of a time-lapse's frames, and what they expose."""

import math
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from render.optics.exposure import effective_f_number, magnification
from render.optics.lens import LensSetting
from render.optics.plane import focus_lens
from render.plan.exposure import (
    Brightness,
    ExposurePlan,
    Histogram,
    Shutter,
    plan_exposure,
    predicted_histogram,
    shutter_words,
)
from render.plan.motion import MOVERS
from render.plan.ramp import FOLLOWS, FREEZES, Ramp, following
from render.plan.take import Take
from render.plan.timelapse import TimeLapse, plan_video

__all__ = ["exposed", "histograms"]

_HISTOGRAM_PIXELS = 1_000_000


def exposed(
    setting: LensSetting,
    brightness: Brightness,
    iso: float,
    timelapse: TimeLapse | None,
    take: Take | None,
) -> tuple[ExposurePlan, Ramp | None]:
    """Shutter and filter, those of a time-lapse with their angles, and the ramp."""
    stretch = magnification(focus_lens(setting))
    stops = 2 * math.log2(effective_f_number(1.0, stretch))
    longest = {} if timelapse is None else _longest_s(timelapse)
    exposure = plan_exposure(brightness, setting.f_number, iso, {}, longest, extension_stops=stops)
    if timelapse is None:
        return exposure, None
    ramp = None
    if take is not None:
        exposure, ramp = following(exposure, take, timelapse.longest_s)
    choices = tuple(_angled(choice, timelapse) for choice in exposure.choices)
    return replace(exposure, choices=choices), ramp


def histograms(
    light: NDArray[np.float32], exposure: ExposurePlan
) -> tuple[Histogram, tuple[Histogram, ...]]:
    """What to expect at the metered exposure, and at each of the bracket."""
    metered = exposure.metered
    return (
        _histogram(light, exposure, metered.time_s, metered.filter_stops),
        tuple(
            _histogram(light, exposure, time_s, exposure.bracket_filter_stops)
            for time_s in exposure.bracket_s
        ),
    )


def _longest_s(timelapse: TimeLapse) -> dict[str, float]:
    """Shutters that belong to a time-lapse's or a video's interval, by name, and freezing ones."""
    longest = {}
    if timelapse.by_remote:
        name, smooth_s, snap_s = "time-lapse", timelapse.smooth_s, timelapse.snap_s
    else:
        video = plan_video(timelapse)
        name, smooth_s, snap_s = "burst or video", video.smooth_s, video.snap_s
    if snap_s < smooth_s * 0.9:
        longest[f"{name}, smooth"] = smooth_s
        longest[f"{name}, snappy as stop motion"] = snap_s
    else:  # the recording's own frame is the longest there is
        longest[name] = smooth_s
    return longest | {
        f"{FREEZES} a {mover.name} ({shutter_words(mover.freeze_s)} or shorter)": mover.freeze_s
        for mover in MOVERS
    }


def _angled(shutter: Shutter, timelapse: TimeLapse) -> Shutter:
    """The shutter with its angle in its name: of the interval, or of a frame of video."""
    if shutter.name.startswith((FREEZES, FOLLOWS)):
        return shutter
    whole_s, of = timelapse.interval_s, "the interval"
    if not timelapse.by_remote:
        whole_s, of = 1.0 / timelapse.frames_per_s, "a frame of video"
    return replace(
        shutter, name=f"{shutter.name} ({360.0 * shutter.time_s / whole_s:.0f}° of {of})"
    )


def _histogram(
    light: NDArray[np.float32], exposure: ExposurePlan, time_s: float, filter_stops: float
) -> Histogram:
    step = max(1, math.ceil(math.sqrt(light.shape[0] * light.shape[1] / _HISTOGRAM_PIXELS)))
    return predicted_histogram(
        light,
        exposure.brightness,
        exposure.f_number,
        time_s,
        exposure.iso,
        filter_stops=filter_stops + exposure.extension_stops,
        step_px=step,
    )
