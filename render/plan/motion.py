"""What moves: how far it smears in one exposure, and how far it steps between two."""

from dataclasses import dataclass

from render.optics.exposure import marked_shutter_s
from render.optics.timelapse import smear_px
from render.units import speed_words

__all__ = ["MOVERS", "Mover", "Smear", "Step", "smears", "steps"]

_SMOOTH, _JERKY = 0.2, 1.0  # own lengths between frames, ours
#: Own lengths of smear that still look frozen (ours).
_FROZEN = 0.05
#: And over which it is spread to less than a seventh of its weight (ours).
_GONE = 7.0


@dataclass(frozen=True, slots=True)
class Mover:
    """Something that crosses the view.

    Attributes
    ----------
    noun : str
    speed_m_s, length_m : float
        Common practice for a town: a car at 30 km/h, a person walking.
    on_wheels : bool
        It is told with its speed.
    """

    noun: str
    speed_m_s: float
    length_m: float
    on_wheels: bool = False

    @property
    def name(self) -> str:
        """As it is told: "car at 30 km/h", "walker"."""
        return f"{self.noun} at {speed_words(self.speed_m_s)}" if self.on_wheels else self.noun

    @property
    def freeze_s(self) -> float:
        """Longest shutter time that freezes it: a twentieth of its length."""
        return _FROZEN * self.length_m / self.speed_m_s


MOVERS = (Mover("car", 30 / 3.6, 4.5, on_wheels=True), Mover("walker", 1.4, 0.45))


@dataclass(frozen=True, slots=True)
class Smear:
    """A mover's smear in one exposure at the band.

    Attributes
    ----------
    mover : Mover
    time_s : float
    pixels : float
        Of the camera that takes the picture.
    width_fraction : float
        Share of the frame's width; what crosses all of it smears over more than 1.
    own_lengths : float
    """

    mover: Mover
    time_s: float
    pixels: float
    width_fraction: float
    own_lengths: float

    @property
    def frozen(self) -> bool:
        """Whether it looks frozen, by the shutter mark nearest to the longest that freezes it."""
        return self.time_s <= marked_shutter_s(self.mover.freeze_s) * 1.001

    @property
    def gone(self) -> bool:
        """Whether it covers each place so briefly that it hardly shows."""
        return self.own_lengths >= _GONE


def smears(time_s: float, depth_m: float, focal_px: float, width_px: float) -> tuple[Smear, ...]:
    """Smear of each mover crossing the view at `depth_m`, in a frame so wide."""
    found = []
    for mover in MOVERS:
        pixels = smear_px(mover.speed_m_s, time_s, depth_m, focal_px)
        lengths = mover.speed_m_s * time_s / mover.length_m
        found.append(Smear(mover, time_s, pixels, pixels / width_px, lengths))
    return tuple(found)


@dataclass(frozen=True, slots=True)
class Step:
    """How far a mover steps between two frames, and how that looks."""

    mover: Mover
    own_lengths: float
    height_fraction: float
    look: str


def steps(interval_s: float, depth_m: float, focal_px: float, height_px: int) -> tuple[Step, ...]:
    """Step of each mover: smooth under 0.2 own lengths, a jerky toy to 1, hopping beyond (ours)."""
    found = []
    for mover in MOVERS:
        lengths = mover.speed_m_s * interval_s / mover.length_m
        look = "smooth" if lengths < _SMOOTH else "jerky toy" if lengths <= _JERKY else "hopping"
        across = smear_px(mover.speed_m_s, interval_s, depth_m, focal_px)
        found.append(Step(mover, lengths, across / height_px, look))
    return tuple(found)
