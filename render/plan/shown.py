"""Which stop survives at the size it is shown: where it reads as a model, and sharp looks sharp."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from render.judge.case import Case, assess
from render.judge.stops import reading_stops, stop_limits
from render.judge.verdict import Verdict
from render.optics.solving.limits import LensLimits
from render.optics.viewing import VIEWINGS, Viewing
from render.words import marked_f_number, spell_f_number

__all__ = ["Shown", "shown_at"]


@dataclass(frozen=True, slots=True)
class Shown:
    """One size at which the picture is looked at.

    Attributes
    ----------
    viewing : Viewing
    reads_from, reads_to, might_to : float or None
        Stops of the lens at which it reads as a model, and might, as in `StopLimits`; 0 where it
        does at none, None where no model is asked for.
    soft_to : float
        F-number up to which the soft parts are seen to be soft.
    sharp_from : float or None
        F-number from which everything named is seen to be sharp; None where nothing is named.
    """

    viewing: Viewing
    reads_from: float | None
    reads_to: float | None
    might_to: float | None
    soft_to: float
    sharp_from: float | None

    def sentence(self, limits: LensLimits) -> str:
        """One line, in stops that the lens has."""
        said = [self._model_words() or self._soft_words(limits), self._sharp_words(limits)]
        return f"{self.viewing.words}: {'; '.join(filter(None, said))}"

    def _model_words(self) -> str:
        if self.reads_from is None or self.reads_to is None or self.might_to is None:
            return ""
        if self.might_to == 0:
            return "reads as a model at no stop"
        reading = reading_stops(self.reads_from, self.reads_to)
        said = [f"reads as a model {reading}"] if reading else []
        if self.might_to > self.reads_to:
            might = "might" if said else "at most might read as a model"
            said.append(f"{might} to {spell_f_number(self.might_to)}")
        return ", ".join(said)

    def _soft_words(self, limits: LensLimits) -> str:
        if self.soft_to < limits.widest_f_number:
            return "no blur is seen, even wide open"
        stop = min(marked_f_number(self.soft_to), limits.smallest_f_number)
        return f"the blur is seen up to {spell_f_number(stop)}"

    def _sharp_words(self, limits: LensLimits) -> str:
        if self.sharp_from is None:
            return ""
        if self.sharp_from <= limits.widest_f_number:
            return "what must be sharp looks sharp at every stop"
        if self.sharp_from > limits.smallest_f_number:
            return "what must be sharp does not look so at any stop"
        stop = limits.f_number_at_least(self.sharp_from)
        return f"what must be sharp looks sharp from {spell_f_number(stop)}"


def shown_at(
    case: Case,
    verdict: Verdict,
    limits: LensLimits,
    named_blur: Sequence[float] = (),
    *,
    as_model: bool = True,
) -> tuple[Shown, ...]:
    """Which stops survive, for every usual size of showing: judged anew at each.

    Parameters
    ----------
    named_blur : sequence of float
        Blur diameters of what must be sharp, fractions of the picture's height.
    as_model : bool
        Whether a model is asked for, and not only sharp things.
    """
    camera, setting = case.samples.camera, verdict.setting
    n, size = setting.f_number, (camera.width_px, camera.height_px)
    found = []
    for viewing in VIEWINGS.values():
        seen = replace(case, viewing=viewing)
        stops = stop_limits(seen, setting, assess(seen, setting), limits) if as_model else None
        found.append(
            Shown(
                viewing=viewing,
                reads_from=stops.reads_from if stops else None,
                reads_to=stops.reads_to if stops else None,
                might_to=stops.might_to if stops else None,
                soft_to=viewing.last_f_number(n, verdict.measures.edge_blur, *size),
                sharp_from=viewing.last_f_number(n, max(named_blur), *size) if named_blur else None,
            )
        )
    return tuple(found)
