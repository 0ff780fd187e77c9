"""The field card: everything to take along, as numbers and sentences."""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from render.judge.advice import usual_limits
from render.judge.case import Case
from render.judge.verdict import Verdict
from render.optics.camera import Camera
from render.optics.solving.limits import LensLimits
from render.plan.cautions import cautions, place_for
from render.plan.exposure import (
    METER_CAVEAT,
    Brightness,
    ExposurePlan,
    Histogram,
    plan_exposure,
    predicted_histogram,
)
from render.plan.focusing import FocusCheck, focus_checks, setting_up, spot_in_focus
from render.plan.motion import MOVERS, Smear, Step, smears, steps
from render.plan.timelapse import (
    LOOKS,
    MODEL_LOOK,
    TimeLapse,
    Video,
    look_interval_s,
    plan_timelapse,
    plan_video,
)
from render.plan.tolerance import START_VALUES, Slack, Tolerance, slack, tolerances
from render.shot.wishes import DayWishes
from render.words import marked_f_number, spell_f_number

__all__ = ["FieldCard", "plan_card"]

_HISTOGRAM_PIXELS = 1_000_000
_NO_WISHES = DayWishes()


@dataclass(frozen=True, slots=True, eq=False)
class FieldCard:
    """The plan for the day.

    Attributes
    ----------
    verdict : Verdict
    camera : Camera
        Of the planned frame.
    limits : LensLimits
    exposure : ExposurePlan
    histogram : Histogram
        At the metered exposure of the plan.
    bracket : tuple of Histogram
        One for each shutter time of `exposure.bracket_s`.
    smears : tuple of Smear
        At the shutter times of the plan, in pixels of a camera of so many megapixels.
    timelapse : TimeLapse
    steps : tuple of Step
    video : Video
    setting_up : tuple of str
        In order.
    checks : tuple of FocusCheck
    tolerances : tuple of Tolerance
    slack : Slack
        How far tilt and focus may be off at the first spot of `checks`.
    vary : tuple of str
        What to vary on site.
    bring : tuple of str
    caveats : tuple of str
    cautions : tuple of str
    """

    verdict: Verdict
    camera: Camera
    limits: LensLimits
    exposure: ExposurePlan
    histogram: Histogram
    bracket: tuple[Histogram, ...]
    smears: tuple[Smear, ...]
    timelapse: TimeLapse
    steps: tuple[Step, ...]
    video: Video
    setting_up: tuple[str, ...]
    checks: tuple[FocusCheck, ...]
    tolerances: tuple[Tolerance, ...]
    slack: Slack
    vary: tuple[str, ...]
    bring: tuple[str, ...]
    caveats: tuple[str, ...]
    cautions: tuple[str, ...]


def plan_card(
    case: Case,
    verdict: Verdict,
    light: NDArray[np.float32],
    brightness: Brightness,
    wishes: DayWishes = _NO_WISHES,
    limits: LensLimits | None = None,
) -> FieldCard:
    """Plan the day for a verdict.

    Parameters
    ----------
    light : ndarray, shape (h, w, 3)
        Linear light of the planned frame, sharp or rendered, for the histogram.
    brightness : Brightness
        Of the day.

    Raises
    ------
    SettingError
        If a wish cannot be: a negative interval, an unknown look.
    """
    setting, camera = verdict.setting, case.samples.camera
    limits = limits or usual_limits(setting.focal_mm)
    timelapse = _timelapse(verdict, wishes)
    exposure = plan_exposure(
        brightness,
        setting.f_number,
        wishes.iso,
        wanted={
            "half the interval (smooth)": timelapse.smooth_s,
            "30° of it (stop-motion snap)": timelapse.snap_s,
        },
        longest={f"longest that freezes a {mover.name}": mover.freeze_s for mover in MOVERS},
    )
    depth_m = _band_depth(case, verdict)
    camera_px = camera.focal_px * math.sqrt(
        1e6 * wishes.megapixels / (camera.width_px * camera.height_px)
    )
    times = [shutter.time_s for shutter in (exposure.metered, *exposure.choices)]
    return FieldCard(
        verdict=verdict,
        camera=camera,
        limits=limits,
        exposure=exposure,
        histogram=_histogram(
            light, exposure, exposure.metered.time_s, exposure.metered.filter_stops
        ),
        bracket=tuple(
            _histogram(light, exposure, time_s, exposure.bracket_filter_stops)
            for time_s in exposure.bracket_s
        ),
        smears=tuple(s for time_s in times for s in smears(time_s, depth_m, camera_px)),
        timelapse=timelapse,
        steps=steps(timelapse.interval_s, depth_m, camera.focal_px, camera.height_px),
        video=plan_video(timelapse.interval_s, wishes.frames_per_s, wishes.clip_s),
        setting_up=setting_up(case, verdict, limits),
        checks=focus_checks(case, verdict),
        tolerances=tolerances(case, setting),
        slack=slack(case, setting, spot_in_focus(case, verdict)),
        vary=_vary(verdict, limits),
        bring=_bring(exposure, timelapse),
        caveats=(START_VALUES, METER_CAVEAT),
        cautions=cautions(
            place_for(wishes.place, None if case.vantage_found else _height_m(case)),
            sun_in_frame=wishes.sun_in_frame,
            on_site_s=timelapse.interval.on_site_s,
        ),
    )


def _height_m(case: Case) -> float | None:
    return case.vantage.height_m if case.vantage else None


def _timelapse(verdict: Verdict, wishes: DayWishes) -> TimeLapse:
    look, interval_s = wishes.look, wishes.interval_s
    scale = verdict.reads_as.denominator if verdict.reads_as else None
    if interval_s is None and look == MODEL_LOOK and scale is None:
        look = next(iter(LOOKS))  # no scale is named: what traffic usually gets
    if interval_s is None:
        interval_s = look_interval_s(look, wishes.frames_per_s, scale)
    else:
        look = "as given"
    return plan_timelapse(look, interval_s, wishes.frames_per_s, wishes.clip_s, wishes.megapixels)


def _band_depth(case: Case, verdict: Verdict) -> float:
    """Depth where things move through the band."""
    band = verdict.measures.band
    depth = case.samples.depth_towards(band.centre_x, band.centre_y)
    if math.isinf(depth):
        depth = 1.0 / float(np.median(case.samples.inverse[case.samples.seen]))
    return depth


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
        filter_stops=filter_stops,
        step_px=step,
    )


def _vary(verdict: Verdict, limits: LensLimits) -> tuple[str, ...]:
    """Brackets besides exposure (common practice; the focus step is half the band)."""
    n, tilt = verdict.setting.f_number, abs(verdict.setting.tilt_deg)
    wider = max(n / math.sqrt(2), limits.widest_f_number)
    stops = [
        spell_f_number(marked_f_number(stop)) for stop in (n * math.sqrt(2), wider) if stop != n
    ]
    lines = [
        "Exposure: three frames at 2 stops, raw; keep white cars and walls.",
        f"Focus: three to five settings, each moving the band by half its height "
        f"({50 * min(verdict.measures.band.height_fraction, 1.0):.2g} % of the picture).",
        f"Aperture: planned, and {' and '.join(stops)}.",
    ]
    if limits.tilt_limit_deg > 0:
        around = {max(0.0, tilt - 1), min(tilt + 1, max(limits.tilt_limit_deg, tilt))} - {tilt}
        degrees = " and ".join(f"{angle:.3g}°" for angle in sorted(around))
        lines.append(f"Tilt: planned, and {degrees} the same way.")
    return tuple(lines)


def _bring(exposure: ExposurePlan, timelapse: TimeLapse) -> tuple[str, ...]:
    filters = [shutter.filter_stops for shutter in (exposure.metered, *exposure.choices[:2])]
    lines = [
        "Tripod with a weight, spirit level, tethers, lens cap, cloth.",
        "Loupe or screen hood.",
    ]
    if max(filters) > 0.5:
        lines.append(f"Neutral density: {max(filters):.0f} stops (screw it on before focusing).")
    lines.append(
        f"Cards: {timelapse.card_gb:.2g} GB for each take; battery and remote release for "
        f"{math.ceil(timelapse.interval.on_site_s / 60)} min."
    )
    return tuple(lines)
