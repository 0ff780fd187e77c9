"""What is to be filmed, whole: everything that a worker anywhere needs to make any segment."""

import hashlib
from collections.abc import Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from pathlib import Path

from render.film.segments import Segment
from render.film.timing import Moment
from render.shot.filmwishes import FilmWishes
from render.shot.shot import Shot

__all__ = ["FilmOrder", "fingerprint"]


@dataclass(frozen=True, slots=True)
class FilmOrder:
    """A film, planned.

    Attributes
    ----------
    shot : Shot
    wishes : FilmWishes
    out : Path
        A clip, an animation, or a pattern of numbered stills.
    parts : Path
        Folder of finished segments.
    moments : tuple of Moment
    segments : tuple of Segment
    rate : Fraction
        Frames a second of the finished clip.
    tick : Fraction
        What its time stamps count in, s.
    gains : tuple of float
        What evens the light of each frame; empty: nothing.
    constant : bool
        Whether its frames follow each other evenly.
    names : tuple of str
        Name of the still behind each frame, where stills keep their own; else empty.
    mark : str
        Tells this film from any other: settings, source and program.
    """

    shot: Shot
    wishes: FilmWishes
    out: Path
    parts: Path
    moments: tuple[Moment, ...]
    segments: tuple[Segment, ...]
    rate: Fraction
    tick: Fraction
    gains: tuple[float, ...] = ()
    constant: bool = True
    names: tuple[str, ...] = ()
    mark: str = ""

    def stamp(self, number: int) -> int:
        """When a frame is shown, in ticks."""
        return round(self.moments[number].at_s / self.tick)


def fingerprint(order: FilmOrder, sources: Sequence[tuple[str, int, int]], version: str) -> str:
    """A word that changes with anything that changes a frame; who does the work changes nothing.

    Parameters
    ----------
    sources : sequence of (name, size in bytes, time of change in ns)
    """
    wishes = replace(order.wishes, workers=1, scheduler=None)
    shot = replace(order.shot, written=tuple(sorted(order.shot.written)))  # order tells nothing
    held = (shot, wishes, order.out.name, order.moments, order.segments, order.rate)
    told = repr((*held, order.tick, order.gains, order.names, tuple(sources), version))
    return hashlib.sha256(told.encode()).hexdigest()[:16]
