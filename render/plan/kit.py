"""What to vary on site and what to bring (common practice)."""

import math

from render.judge.case import Case
from render.judge.notes import uprights
from render.judge.verdict import Verdict
from render.optics.lens import LensSetting
from render.optics.solving.dialling import HALF_A_MARK
from render.optics.solving.holding import lean_name
from render.optics.solving.limits import MARK_SHARE, LensLimits, stops_away
from render.optics.solving.movements import total_and_azimuth
from render.plan.exposure import ExposurePlan, filter_words, shutter_words
from render.plan.timelapse import TimeLapse
from render.plan.tolerance import Slack
from render.words import marked_f_number, percent, spell_f_number

__all__ = ["bring", "upright", "vary"]

_LOOKS_UP_DEG = 2.0  # from here the camera looks up at a building (ours)
_STEP_DEG = 1.0


def vary(
    verdict: Verdict,
    limits: LensLimits,
    slack: Slack,
    exposure: ExposurePlan,
    *,
    by_name: bool,
    blind: bool = False,
) -> tuple[str, ...]:
    """Brackets of exposure, focus, aperture and lean; the focus step is half the band.

    Parameters
    ----------
    slack : Slack
        Round things by name the lean is varied by no more than keeps them sharp, in half marks.
    blind : bool
        Nothing in the frame is sharp: neither focus nor lean can be varied round a band.
    by_name : bool
        Things are named, so focus is bracketed round them rather than by the band, and the lens
        is stopped down only.
    """
    setting = verdict.setting
    n = setting.f_number
    # a wider stop may lose what must be sharp
    others = [stops_away(n, stops) for stops in ((1.0,) if by_name else (1.0, -1.0))]
    stops = [
        spell_f_number(marked_f_number(stop))
        for stop in others
        if limits.widest_f_number * (1 - MARK_SHARE)
        <= stop
        <= limits.smallest_f_number * (1 + MARK_SHARE)
    ]
    band = min(verdict.measures.band.height_fraction, 1.0)
    focus = f"each moving the band by half its height ({percent(band / 2)} of the picture)"
    if by_name or band >= 1.0:
        focus = "one on what must be sharp, one a hair nearer, one a hair farther"
    lines = [
        f"Exposure: three frames at 2 stops ({_bracket_words(exposure)}), raw; keep the brightest "
        "things that matter.",
    ]
    if not blind:
        few = "three" if by_name or band >= 1.0 else "three to five"
        lines.append(f"Focus: {few} settings, {focus}.")
    if stops:
        lines.append(f"Aperture: planned, and {' and '.join(stops)}.")
    total, _ = total_and_azimuth(setting.tilt_deg, setting.swing_deg)
    offs = [off for off in (slack.tilt_deg, slack.swing_deg) if off]  # 0: soft as planned
    half_deg = HALF_A_MARK / limits.marks_per_degree
    most = min([_STEP_DEG, *offs]) if by_name else _STEP_DEG
    step = half_deg * math.floor(most / half_deg + 1e-6)
    if total > 0.005 and not blind:
        name = lean_name(setting.tilt_deg, setting.swing_deg)
        # to either side the farthest half marks that are not beyond the step
        low = half_deg * math.ceil((total - step) / half_deg - 1e-6)
        high = half_deg * math.floor((total + step) / half_deg + 1e-6)
        around = [max(0.0, low), min(high, limits.tilt_limit_deg)]
        inside = [a for a in around if abs(a - total) > half_deg / 4]
        if inside:
            degrees = " and ".join(f"{a:.4g}°" for a in inside)
            lines.append(f"{name}: planned, and {degrees} the same way.")
        else:
            lines.append(
                f"{name}: as planned, and by a hair: ±{most:.2g}° keeps all sharp, which is less "
                "than half a mark, so go by the magnified picture."
            )
    return tuple(lines)


def _bracket_words(exposure: ExposurePlan) -> str:
    """The shutter times of the bracket, and the filter that brings its fastest within reach."""
    stops = exposure.bracket_filter_stops
    filtered = f" with {filter_words(stops)}" if stops > 0.5 else ""
    return f"{', '.join(map(shutter_words, exposure.bracket_s))}{filtered}"


def _stops_words(stops: float) -> str:
    return f"{stops:.0f} stop{'' if round(stops) == 1 else 's'}"


def bring(exposure: ExposurePlan, timelapse: TimeLapse | None, *, raised: bool) -> tuple[str, ...]:
    """Tripod, loupe, filters, cards; tethers where something can fall."""
    most = max(shutter.filter_stops for shutter in (exposure.metered, *exposure.choices))
    bracket = exposure.bracket_filter_stops
    filters = [_stops_words(most)] if most > 0.5 else []
    if bracket > 0.5 and bracket != most:
        filters.append(f"{_stops_words(bracket)} for the bracket")
    tethers = "tethers, " if raised else ""
    lines = [
        f"Tripod with a weight, spirit level, {tethers}lens cap, cloth.",
        "Loupe or screen hood; a lens hood or a card to shade the lens.",
    ]
    if filters:
        lines.append(f"Neutral density: {' and '.join(filters)} (screw it on before focusing).")
    if timelapse is not None:
        lines.append(
            f"Cards: {timelapse.card_words} for each take; battery and remote release for "
            f"{timelapse.site_words}."
        )
    return tuple(lines)


def upright(case: Case, setting: LensSetting) -> tuple[str, ...]:
    """How to keep uprights upright, where the camera looks up at them."""
    if case.vantage is None or case.vantage.pitch_deg >= -_LOOKS_UP_DEG:
        return ()
    text = uprights(case, case.vantage, setting, as_model=False).text
    return (f"{text[0].upper()}{text[1:]}.",)
