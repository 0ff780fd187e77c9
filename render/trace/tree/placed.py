"""Where every shape stands at a moment, and which of its shapes a thing shows then."""

import math
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from render.trace.tree.shapes import drawn_for, words_of
from render.world.description import Description, Thing
from render.world.ground import ground_height
from render.world.mesh import turned
from render.world.motion import along_path, way_done
from render.world.things.kind import Part

__all__ = ["STEPS", "Mover", "Placed", "part_places", "part_share", "parts_of", "share_of", "stand"]

#: Shapes that two steps of something which walks are made of.
STEPS = 12
#: Copies of one thing are so far apart in time, so that flags do not wave in step.
_APART_S = 1.7


@dataclass(frozen=True, slots=True)
class Mover:
    """What moves a shape: which thing, which copy of it, which of its parts (-1: the whole)."""

    thing: int
    copy: int
    variant: int
    part: int = -1
    which: int = 0


@dataclass(frozen=True, slots=True, eq=False)
class Placed:
    """One shape where it stands."""

    root: int
    bounds: NDArray[np.float64]
    matrix: NDArray[np.float64]
    first: int
    solid: list[bool]
    names: list[str]
    #: None for what stands.
    moves: Mover | None = None
    #: Roots and bounds of every shape that it changes between, as `share_of` counts them.
    steps: tuple[tuple[int, NDArray[np.float64]], ...] = ()
    #: Spots that move with it.
    spots: list[str] = field(default_factory=list)


def stand(description: Description, thing: Thing, copy: int, time_s: float) -> NDArray[np.float64]:
    """From a copy's own frame into the world's, shape (4, 4)."""
    x, y, lift, turn, scale = thing.places[copy]
    motion = thing.way(copy)
    if motion is not None:
        aside = motion.aside_m if thing.kind.gait is not None else 0.0
        x, y, heading = along_path(motion, copy if thing.motion else 0, time_s, aside)
        turn = heading + (turn if thing.motion else 0.0)
    c, s = math.cos(math.radians(turn)), math.sin(math.radians(turn))
    z = lift + _ground_m(description, x, y)
    matrix = np.array(
        [
            [scale * c, -scale * s, 0, x],
            [scale * s, scale * c, 0, y],
            [0, 0, scale, z],
            [0, 0, 0, 1],
        ]
    )
    if thing.kind.follows:  # it faces -y
        ahead, behind = (_ground_m(description, x + k * s, y - k * c) for k in (0.8, -0.8))
        slope = math.atan2(behind - ahead, 1.6)
        matrix = matrix @ turned((1, 0, 0), slope)
    if thing.kind.sways is not None and time_s:
        matrix = matrix @ thing.kind.sways(thing.values, time_s * (1 + 0.07 * (copy % 7)))
    return matrix


def _ground_m(description: Description, x: float, y: float) -> float:
    ground = description.ground
    return float(ground_height(ground, np.array(x), np.array(y))) if ground is not None else 0.0


def share_of(thing: Thing, copy: int, time_s: float) -> int | None:
    """Which of its `STEPS` shapes something that walks shows, `STEPS` where it waits; else None."""
    gait, motion = thing.kind.gait, thing.way(copy)
    if gait is None or motion is None:
        return None
    number = copy if thing.motion else 0
    way, turned, goes = way_done(motion, number, time_s)
    if not goes:
        return STEPS
    walks_on = not motion.returns or (motion.aside_m and not motion.pause_s)
    if walks_on and not (motion.waits or motion.every_s):
        way = motion.speed_m_s * (time_s + motion.start_s) + motion.spread_m * number
    elif turned:
        way = -way
    length = gait.length_m(thing.values) * thing.places[copy][4]
    return round(way / length * STEPS) % STEPS


def parts_of(thing: Thing) -> list[tuple[int, Part]]:
    """The parts that are there: a wake only where something goes."""
    return [
        (number, part)
        for number, part in enumerate(thing.kind.parts)
        if thing.motion is not None or not part.under_way
    ]


def part_places(thing: Thing, mover: Mover, time_s: float) -> NDArray[np.float64]:
    """Where each of a part is in the thing's frame, shape (n, 4, 4)."""
    part = thing.kind.parts[mover.part]
    time_s += _APART_S * mover.copy
    return part.at(words_of(thing), drawn_for(thing, mover.variant), time_s)


def part_share(part: Part, copy: int, time_s: float) -> int:
    """Which of its shapes a part shows."""
    return math.floor((time_s + _APART_S * copy) / part.period_s * part.shapes) % part.shapes
