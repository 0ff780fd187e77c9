"""How the light changes while a time-lapse is taken, and what to do about it."""

import math
from dataclasses import dataclass
from datetime import datetime, timedelta

from render.plan.exposure import brightness_from_lux
from render.plan.light import LightPlan, span_words
from render.world.sky import horizontal_lux

__all__ = ["Take", "light_of_take"]

#: Exposure is changed by the step between the marks of a camera.
_STEP_STOPS = 1.0 / 3.0


@dataclass(frozen=True, slots=True)
class Take:
    """The sky's light from the first frame of a time-lapse to its last.

    Attributes
    ----------
    start, end : datetime
    lost_stops : float
        By which the light of a clear sky falls; negative where it rises.
    good_until : datetime or None
        When the good light ends that the take begins in, if before the last frame.
    """

    start: datetime
    end: datetime
    lost_stops: float
    good_until: datetime | None

    @property
    def steps(self) -> int:
        """Thirds of a stop that the exposure has to follow by."""
        return round(abs(self.lost_stops) / _STEP_STOPS)

    @property
    def sentences(self) -> tuple[str, ...]:
        """What to know of the light of the take; nothing where it stays."""
        said = []
        if self.steps:
            said.append(
                f"the light {self._change} from the first frame to the last "
                f"({span_words((self.start, self.end))}): give {self._step} about every "
                f"{self._every}, by shutter and then ISO, never by the f-number, and even the "
                "steps out afterwards (common practice, no source)"
            )
        if self.good_until is not None:
            said.append(
                f"the last frame comes at {self.end:%H:%M}, after the good light that ends at "
                f"{self.good_until:%H:%M}"
            )
        return tuple(said)

    @property
    def words(self) -> str:
        """The same in few: "falls by 1.9 stops: 1/3 stop more every 2.9 min"."""
        return f"{self._change}: {self._step} every {self._every}" if self.steps else ""

    @property
    def _change(self) -> str:
        falls = self.lost_stops > 0
        return f"{'falls' if falls else 'rises'} by {abs(self.lost_stops):.1f} stops"

    @property
    def _step(self) -> str:
        return f"1/3 stop {'more' if self.lost_stops > 0 else 'less'}"

    @property
    def _every(self) -> str:
        every_s = (self.end - self.start).total_seconds() / self.steps
        return f"{every_s / 60:.1f} min" if every_s >= 60 else f"{every_s:.0f} s"


def light_of_take(sunlight: LightPlan, on_site_s: float, besides_lux: float | None) -> Take:
    """The light of a take that begins at the planned moment.

    Parameters
    ----------
    besides_lux : float or None
        What lamps give besides the sky; None where the sky does not light what is taken.
    """
    start = sunlight.planned.moment
    end = start + timedelta(seconds=on_site_s)
    lost = 0.0
    if besides_lux is not None:
        before, after = (
            brightness_from_lux(horizontal_lux(sunlight.sun_height_deg(at)) + besides_lux, "")
            for at in (start, end)
        )
        lost = before.ev100 - after.ev100
    held = [span for span in sunlight.window if span[0] <= start <= span[1]]
    ends = math.inf if not held else (held[0][1] - end).total_seconds()
    return Take(start, end, lost, held[0][1] if ends < 0 else None)
