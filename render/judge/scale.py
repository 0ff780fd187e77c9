"""Reads as 1:N: the scale that blur names, its range, and the nearest customary scale.

Divide all distances by S and the pupil by S, and every blur stays the same (exact; derived here).
So a picture that a plain lens of pupil A_eq would have blurred alike is a picture of a 1:S model,
S = A_eq / A_ref, looked at through the pupil A_ref.
"""

import math
from dataclasses import dataclass

from render.errors import SettingError
from render.judge.weights import RULES
from render.words import scale_words

__all__ = [
    "CUSTOMARY",
    "REFERENCE_PUPILS_MM",
    "ReadsAs",
    "froude_speedup",
    "reads_as",
    "reference_pupil_mm",
]

#: Scales in use, by the number after the colon (from memory; 76 is the railway model of
#: Meese, Baker & Summers, PLoS ONE 18(5) e0285423, 2023).
CUSTOMARY: dict[int, str] = {
    12: "dolls' house",
    24: "model vehicle",
    32: "model vehicle",
    43: "model vehicle",
    45: "model railway",
    64: "model vehicle",
    76: "model railway",
    87: "model railway",
    120: "model railway",
    160: "model railway",
    200: "architect's model",
    220: "model railway",
    500: "architect's model",
    1000: "architect's model",
}

#: "As photographed by": pupils a model might be looked at through, mm. The eye's is the mean of
#: Held et al. 2010 (from memory); the others are focal length over f-number.
REFERENCE_PUPILS_MM: dict[str, float] = {
    "eye": RULES.pupil_mm,
    "telephone": 6.0 / 1.8,
    "close-up lens at f/8": 100.0 / 8.0,
    "close-up lens at f/16": 100.0 / 16.0,
}


@dataclass(frozen=True, slots=True)
class ReadsAs:
    """The scale a picture reads as; the pupil of the viewer makes it uncertain by a factor of 2.

    Attributes
    ----------
    denominator : float
        N of 1:N. A wider aperture makes it **larger**: a smaller model.
    low, high : float
        Its range: pupils of 9 to 3 mm, times the spread of the votes.
    customary : int
        The nearest scale in use, by ratio.
    customary_name : str
    """

    denominator: float
    low: float
    high: float
    customary: int
    customary_name: str

    @property
    def ratio(self) -> str:
        """As short as it can be said: "1:170"."""
        return scale_words(self.denominator)

    @property
    def words(self) -> str:
        """As printed: "about 1:170 (1:85 to 1:250), nearest in use 1:160 (model railway)".

        No scale in use is named where it is off by more than a quarter, or where the range spans
        more than four to one.
        """
        text = f"about {self.ratio} ({scale_words(self.low)} to {scale_words(self.high)})"
        off = abs(math.log(self.customary / self.denominator))
        if off > math.log(1.25) or self.high > 4.0 * self.low:
            return text
        return f"{text}, nearest in use 1:{self.customary} ({self.customary_name})"


def reads_as(pupil_m: float, spread_ln: float, reference_mm: float = RULES.pupil_mm) -> ReadsAs:
    """Name the scale for an equivalent pupil.

    Parameters
    ----------
    pupil_m : float
        A_eq, > 0.
    spread_ln : float
        Spread of the scale votes (natural log); NaN counts as none.
    reference_mm : float
        Pupil through which the model would be seen.
    """
    scale = 1000.0 * pupil_m / reference_mm
    spread = 0.0 if math.isnan(spread_ln) else spread_ln
    nearest = min(CUSTOMARY, key=lambda known: abs(math.log(known / scale)))
    return ReadsAs(
        denominator=scale,
        low=1000.0 * pupil_m / max(RULES.pupil_high_mm, reference_mm) * math.exp(-spread),
        high=1000.0 * pupil_m / min(RULES.pupil_low_mm, reference_mm) * math.exp(spread),
        customary=nearest,
        customary_name=CUSTOMARY[nearest],
    )


def reference_pupil_mm(name: str) -> float:
    """Pupil of `REFERENCE_PUPILS_MM` by name.

    Raises
    ------
    SettingError
        If the name is not one of them.
    """
    try:
        return REFERENCE_PUPILS_MM[name.strip().lower()]
    except KeyError:
        known = ", ".join(f'"{known}"' for known in REFERENCE_PUPILS_MM)
        raise SettingError(f'"{name}" does not look at models here: choose {known}') from None


def froude_speedup(scale: float) -> float:
    """How much faster a 1:`scale` model moves under gravity: ``sqrt(S)`` (Froude scaling).

    Film makers shoot a 1:16 model at 96 frames a second for 24.

    >>> froude_speedup(16)
    4.0
    """
    return math.sqrt(scale)
