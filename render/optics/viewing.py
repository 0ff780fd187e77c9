"""How large a picture is seen: which blur its viewer can see at all.

Blur is seen by its angle before the viewer's eye, so a stop that still works on a wall is gone on
a telephone. The sizes and distances are common practice, no source.
"""

import math
from dataclasses import dataclass

from render.errors import SettingError
from render.units import round_metres

__all__ = ["JUST_SEEN_ARCMIN", "VIEWINGS", "Viewing", "viewing_of"]

#: Diameter of a blur disc that a viewer just tells from sharp: what the circle of confusion
#: diagonal / 1500 means, seen from as far away as the diagonal is long (derived; the circle is
#: common practice). Thresholds measured with sharp edges are lower, a half to one minute of arc
#: for the blur's standard deviation, which is a quarter of a disc's diameter (Watson & Ahumada,
#: J. Vision 11(5):10, 2011, from memory).
JUST_SEEN_ARCMIN = math.degrees(1.0 / 1500.0) * 60.0


@dataclass(frozen=True, slots=True)
class Viewing:
    """A size at which pictures are looked at.

    Attributes
    ----------
    name : str
    long_side_m : float
        Longer side of the picture as shown.
    distance_m : float
        From which it is seen.
    """

    name: str
    long_side_m: float
    distance_m: float

    @property
    def named(self) -> str:
        """With its article: "a screen", "an A3 print"."""
        return f"{'an' if self.name[0] in 'AEIOU' else 'a'} {self.name}"

    @property
    def words(self) -> str:
        """As printed: "on a screen (30 cm from 60 cm)": the long side, and how far away."""
        side, away = map(round_metres, (self.long_side_m, self.distance_m))
        return f"on {self.named} ({side} from {away})"

    def just_seen(self, width: float, height: float) -> float:
        """Blur diameter that is just seen, as a fraction of the picture's height.

        Parameters
        ----------
        width, height : float
            Of the picture, in any unit.

        Examples
        --------
        >>> round(100 * VIEWINGS["screen"].just_seen(3, 2), 2)  # percent of the height
        0.2
        """
        shown_m = self.long_side_m * height / max(width, height)
        return math.radians(JUST_SEEN_ARCMIN / 60.0) * self.distance_m / shown_m

    def last_f_number(self, f_number: float, blur: float, width: float, height: float) -> float:
        """F-number up to which a blur measured at `f_number` is seen: it goes as 1/N.

        Parameters
        ----------
        blur : float
            Diameter at `f_number`, fraction of the picture's height.
        """
        return f_number * blur / self.just_seen(width, height)


#: By the word a person writes.
VIEWINGS = {
    "phone": Viewing("phone", 0.10, 0.30),
    "screen": Viewing("screen", 0.30, 0.60),
    "A3": Viewing("A3 print", 0.42, 0.50),
}


def viewing_of(name: str) -> Viewing:
    """Return the viewing of that name.

    Raises
    ------
    SettingError
        If there is none.

    Examples
    --------
    >>> viewing_of("a3").name
    'A3 print'
    """
    for known, viewing in VIEWINGS.items():
        if name.strip().lower() == known.lower():
            return viewing
    raise SettingError(f'shown "{name}" is not known: write one of {", ".join(VIEWINGS)}')
