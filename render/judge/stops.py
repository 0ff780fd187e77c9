"""Where stopping down weakens it: the f-numbers at which each part of the effect goes.

All three are exact from one setting: the apparent distance and the band's height go as N, blur
as 1/N.
"""

import math
from dataclasses import dataclass

from render.judge.measures import Measures
from render.judge.weights import RULES
from render.words import marked_f_number, spell_f_number

__all__ = ["StopLimits", "stop_limits"]

_FADING_M = 1.0  # the effect fades by about a metre (Vishwanath 2007, abstract)
_WIDE_BAND = 0.5  # a band this high leaves little to be soft, ours


@dataclass(frozen=True, slots=True)
class StopLimits:
    """F-numbers at which the effect goes; ``inf`` where it never does, 0 where it never was.

    Attributes
    ----------
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
    """

    strong_to: float
    fading_from: float
    edge_lost_from: float
    band_wide_from: float
    band_lost_from: float

    @property
    def sentence(self) -> str:
        """As printed: "Stopping down: strong to f/3.5, fading by f/11; ..."."""
        return (
            f"Stopping down: strong to {_stop(self.strong_to)}, fading by "
            f"{_stop(self.fading_from)}; edges under {100 * RULES.telltale_residual:g} % from "
            f"{_stop(self.edge_lost_from)}, band over {100 * RULES.band_high:.0f} % from "
            f"{_stop(self.band_wide_from)} and over {100 * _WIDE_BAND:.0f} % from "
            f"{_stop(self.band_lost_from)}"
        )


def stop_limits(measures: Measures, apparent_m: float, f_number: float) -> StopLimits:
    """F-numbers at which nearness, edge blur and band go, all else kept.

    Parameters
    ----------
    measures : Measures
    apparent_m : float
        D_p; ``inf`` allowed.
    f_number : float
        That both were measured at.
    """
    band = measures.band.height_fraction
    widest = math.inf if band == 0 else f_number / band
    return StopLimits(
        strong_to=f_number * RULES.near_m / apparent_m,
        fading_from=f_number * _FADING_M / apparent_m,
        edge_lost_from=f_number * measures.edge_blur / RULES.telltale_residual,
        band_wide_from=RULES.band_high * widest,
        band_lost_from=_WIDE_BAND * widest,
    )


def _stop(f_number: float) -> str:
    """The nearest mark will do: the limits are no sharper."""
    if f_number < 0.5:
        return "no stop"
    return spell_f_number(marked_f_number(f_number)) if f_number < 66 else "no stop there is"
