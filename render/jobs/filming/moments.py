"""Nine moments of a film that nobody has made yet: for a client's page."""

from collections.abc import Iterator
from fractions import Fraction
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from render.film.order import FilmOrder
from render.jobs.filming.opening import as_planned, open_film
from render.jobs.filming.output import nine
from render.jobs.filming.plan import plan_film
from render.load.progress import Progress
from render.shot.filmwishes import FilmWishes
from render.shot.shot import Shot

__all__ = ["nine_moments"]


def nine_moments(
    shot: Shot, clip_s: float | None, progress: Progress
) -> Iterator[tuple[float, NDArray[np.float32]]]:
    """Time, s, and linear light of nine moments, from the first frame to the last.

    Raises
    ------
    HingelineError
        As `film`; if nothing moves.
    """
    order = FilmOrder(
        shot, FilmWishes(clip_s=clip_s or shot.film_s), Path("strip.png"), Path("strip"), (), (),
        Fraction(25), Fraction(1, 25),
    )  # fmt: skip
    filmed = open_film(order, progress)
    order, _ = plan_film(order, filmed, progress)
    filmed = as_planned(order, filmed)
    for done, number in enumerate(nine(order)):
        progress(f"moment {done + 1} of 9", 0.2 + 0.05 * done)
        moment = order.moments[number]
        yield float(moment.at_s), filmed.stage.taken(filmed.stage.seen(moment, number), moment)
