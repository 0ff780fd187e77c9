"""Where stopping down ends it: judged anew stop by stop, and the f-numbers of each part.

The limits of the parts are exact from one setting: the apparent distance and the band's height go
as N, blur as 1/N.
"""

import math
from dataclasses import dataclass, replace

from render.judge.case import Assessment, Case, assess
from render.judge.score import Word
from render.judge.weights import RULES
from render.optics.exposure import WHOLE_STOPS
from render.optics.lens import LensSetting
from render.optics.solving.limits import MARK_SHARE, LensLimits
from render.words import spell_f_number

__all__ = ["StopLimits", "reading_stops", "stop_limits"]

_WIDE_BAND = 0.5  # a band this high leaves little to be soft, ours
_MARK = 1 + MARK_SHARE
_WIDEST = 2.8  # what such lenses open to (common practice), unless the setting is wider


@dataclass(frozen=True, slots=True)
class StopLimits:
    """F-numbers at which the effect goes; ``inf`` where it never does, 0 where it never was.

    Attributes
    ----------
    reads_from : float
        Widest whole stop that reads as a model where wider ones do not; 0 where none wider fails.
    reads_to : float
        Smallest whole stop that still reads as a model, all else kept; 0 where none does.
    might_to : float
        Smallest whole stop that still might.
    gone_from : float
        The next whole stop, from which the effect is gone; ``inf`` where the lens has none.
    seen_to : float
        Up to here blur that follows depth is seen at the viewing size.
    strong_to : float
        Up to here the scene seems to stand within 0.3 m.
    fading_from : float
        From here it seems to stand beyond 1 m.
    edge_lost_from : float
        From here the edges are blurred by less than 0.5 % of the picture's height.
    band_wide_from : float
        From here the band is higher than a quarter of the picture.
    band_lost_from : float
        From here the band is higher than half of the picture.
    viewed : str
        How large the picture is seen, in words.
    """

    reads_from: float
    reads_to: float
    might_to: float
    gone_from: float
    seen_to: float
    strong_to: float
    fading_from: float
    edge_lost_from: float
    band_wide_from: float
    band_lost_from: float
    viewed: str

    @property
    def sentence(self) -> str:
        """As printed: "Stopping down: reads to f/5.6, might to f/8, gone from f/11"."""
        if self.might_to == 0:
            return f"Stopping down: reads at no stop, seen {self.viewed}"
        stops = reading_stops(self.reads_from, self.reads_to)
        parts = [f"reads {stops}"] if stops else []
        if self.might_to > self.reads_to:
            parts.append(f"might to {spell_f_number(self.might_to)}")
        if math.isfinite(self.gone_from):
            parts.append(f"gone from {spell_f_number(self.gone_from)}")
        return f"Stopping down: {', '.join(parts)}, seen {self.viewed}"


def reading_stops(reads_from: float, reads_to: float) -> str:
    """The stops that read as a model: "to f/5.6", "from f/8 to f/11", "at f/8 alone"; or ""."""
    if reads_to == 0:
        return ""
    last = spell_f_number(reads_to)
    if reads_from == reads_to:
        return f"at {last} alone"
    return f"from {spell_f_number(reads_from)} to {last}" if reads_from else f"to {last}"


def stop_limits(
    case: Case, setting: LensSetting, found: Assessment, limits: LensLimits | None = None
) -> StopLimits:
    """Judge the setting at every whole stop of the lens, and work out where each part goes.

    Parameters
    ----------
    found : Assessment
        Of the setting as it is.
    limits : LensLimits or None
        Stops that this lens does not have are not looked at.
    """
    n, measures = setting.f_number, found.measures
    words = {n: found.score.word}
    widest, smallest = min(n, _WIDEST), math.inf
    if limits is not None:
        widest, smallest = limits.widest_f_number, limits.smallest_f_number
    here = [n for n in WHOLE_STOPS if widest <= _MARK * n and n <= _MARK * smallest]
    for stop in here:
        if abs(stop / n - 1.0) > 0.02:
            words[stop] = assess(case, replace(setting, f_number=stop)).score.word
    reading = [stop for stop, word in words.items() if word is Word.READS]
    first, reads = min(reading, default=0.0), max(reading, default=0.0)
    might = max((stop for stop, word in words.items() if word is Word.MIGHT), default=0.0)
    band = measures.band.height_fraction
    full = math.inf if band == 0 else n / band
    last = max(reads, might)
    apparent = found.apparent_m
    return StopLimits(
        reads_from=first if min(words) < first else 0.0,
        reads_to=reads,
        might_to=last,
        gone_from=next((stop for stop in here if stop > 1.05 * last), math.inf),
        seen_to=n * measures.following_blur / case.just_seen,
        strong_to=n * RULES.near_m / apparent,
        fading_from=n * RULES.fading_m / apparent,
        edge_lost_from=n * measures.edge_blur / RULES.telltale_residual,
        band_wide_from=RULES.band_high * full,
        band_lost_from=_WIDE_BAND * full,
        viewed=case.viewing.words,
    )
