"""Which stop survives at the size it is shown: where blur is still seen, and sharp looks sharp."""

from collections.abc import Sequence
from dataclasses import dataclass

from render.optics.camera import Camera
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
    soft_to : float
        F-number up to which the soft parts are seen to be soft.
    sharp_from : float or None
        F-number from which everything named is seen to be sharp; None where nothing is named.
    """

    viewing: Viewing
    soft_to: float
    sharp_from: float | None

    def sentence(self, limits: LensLimits) -> str:
        """One line, in stops that the lens has."""
        text = f"{self.viewing.words}: "
        if self.soft_to < limits.widest_f_number:
            text += "no blur is seen, even wide open"
        else:
            stop = min(marked_f_number(self.soft_to), limits.smallest_f_number)
            text += f"the blur is seen up to {spell_f_number(stop)}"
        if self.sharp_from is None:
            return text
        if self.sharp_from <= limits.widest_f_number:
            return f"{text}; what must be sharp looks sharp at every stop"
        if self.sharp_from > limits.smallest_f_number:
            return f"{text}; what must be sharp does not look so at any stop"
        stop = limits.f_number_at_least(self.sharp_from)
        return f"{text}; what must be sharp looks sharp from {spell_f_number(stop)}"


def shown_at(
    camera: Camera, f_number: float, edge_blur: float, named_blur: Sequence[float] = ()
) -> tuple[Shown, ...]:
    """Where the blur of a setting is seen, for every usual size of showing.

    Blur goes as 1/N, so one measurement tells all stops.

    Parameters
    ----------
    edge_blur : float
        Blur diameter of what is softest at `f_number`, fraction of the picture's height.
    named_blur : sequence of float
        The same of what must be sharp.
    """
    size = camera.width_px, camera.height_px
    return tuple(
        Shown(
            viewing=viewing,
            soft_to=viewing.last_f_number(f_number, edge_blur, *size),
            sharp_from=viewing.last_f_number(f_number, max(named_blur), *size)
            if named_blur
            else None,
        )
        for viewing in VIEWINGS.values()
    )
