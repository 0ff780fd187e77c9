"""A row of things between two spots of a picture: what is in line, and what shows through it."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from render.optics.solving.targets import ELSEWHERE

__all__ = ["Row", "row_of"]

_STRAIGHT = 0.01  # of the distance: what stands no farther off the line is on it (ours)

#: What stands off a row's line, and on which side: nearer or farther than the line (1, -1).
_OFF_LINE = {"part standing forward": 1.0, "part standing back": -1.0}


@dataclass(frozen=True, slots=True, eq=False)
class Row:
    """A row between two spots of the picture.

    Attributes
    ----------
    seen : dict of name to (x, y, z)
        What it is solved for and checked at: its first, middle and last place, and of what stands
        off the line between its ends what stands farthest forward of it and farthest back. Where
        the picture shows something else in its middle, the middle is that of the straight line.
    gaps_m : tuple of float
        Depths of what the picture shows through it, or before it.
    """

    seen: dict[str, NDArray[np.float64]]
    gaps_m: tuple[float, ...]


def row_of(
    start: NDArray[np.float64], between: list[NDArray[np.float64]], end: NDArray[np.float64]
) -> Row:
    """Part what is in line with the ends of a row from what shows through it.

    A line's inverse depth is linear along its picture, as blur is, so the ends hold the largest
    blur of a straight row; what stands off the line adds its own.
    """
    inverse = 1.0 / np.array([start[2], *(point[2] for point in between), end[2]])
    line = np.linspace(inverse[0], inverse[-1], len(inverse))
    off = inverse / line - 1.0
    in_line = np.abs(off) <= ELSEWHERE
    found = {0: "first", len(inverse) - 1: "last"}
    middle = len(inverse) // 2
    found[middle] = "middle"
    for name, sign in _OFF_LINE.items():
        outermost = int(np.argmax(np.where(in_line, sign * off, -np.inf)))
        if sign * off[outermost] > _STRAIGHT:
            found.setdefault(outermost, name)
    points = [start, *between, end]
    seen = {found[k]: points[k] for k in sorted(found)}
    if not in_line[middle]:
        rays = start / start[2] + end / end[2]  # z is 1 on each: as linear along it as 1/z
        seen["middle"] = rays / (inverse[0] + inverse[-1])
    return Row(
        seen,
        tuple(float(points[k][2]) for k in np.flatnonzero(~in_line)),
    )
