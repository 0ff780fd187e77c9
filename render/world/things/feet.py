"""What a thing stands on: outlines that nothing else is strewn into, in the thing's own frame."""

import itertools
import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

__all__ = ["Foot", "block", "blocks", "disc", "path", "sized"]

#: Corners that stand for a circle.
_ROUND = 12


@dataclass(frozen=True, slots=True, eq=False)
class Foot:
    """One closed outline and the heights between which something is in the way there.

    Attributes
    ----------
    outline_m : ndarray, shape (n, 2)
        Corners, about the thing's own origin.
    low_m, high_m : float
        Above the thing's own foot.
    """

    outline_m: NDArray[np.float64]
    low_m: float
    high_m: float

    @property
    def reach_m(self) -> float:
        """Distance of the outermost corner from the thing's origin."""
        return float(np.hypot(*self.outline_m.T).max())


def block(
    wide: float, deep: float, high: float = 2.0, at: Sequence[float] = (0.0, 0.0)
) -> tuple[Foot, ...]:
    """A rectangle about `at`, `wide` along x."""
    x, y = wide / 2, deep / 2
    corners = np.array([(-x, -y), (x, -y), (x, y), (-x, y)]) + np.asarray(at, float)
    return (Foot(corners, 0.0, high),)


def blocks(many: Iterable[tuple[Foot, ...]]) -> tuple[Foot, ...]:
    """The feet of a thing that stands on several."""
    return tuple(foot for few in many for foot in few)


def disc(radius: float, high: float = 2.0, low: float = 0.0) -> tuple[Foot, ...]:
    """A circle about the origin."""
    angle = np.arange(_ROUND) * (2 * math.pi / _ROUND)
    return (Foot(radius * np.stack([np.cos(angle), np.sin(angle)], -1), low, high),)


def path(points: Iterable[Sequence[float]], thick: float, high: float) -> tuple[Foot, ...]:
    """A wall or a fence along a path: one rectangle a leg."""
    feet = []
    for a, b in itertools.pairwise(np.asarray([p[:2] for p in points], float)):
        along = (b - a) / max(math.dist(a, b), 1e-9)
        side = np.array([-along[1], along[0]]) * thick / 2
        feet.append(Foot(np.stack([a - side, b - side, b + side, a + side]), 0.0, high))
    return tuple(feet)


def sized(more_m: float = 0.0) -> Callable[..., tuple[Foot, ...]]:
    """The rectangle that a kind's own `size_m` says (width, depth, height), wider by `more_m`."""

    def feet(v) -> tuple[Foot, ...]:  # type: ignore[no-untyped-def]
        return block(v.size_m[0] + more_m, v.size_m[1] + more_m, v.size_m[2])

    return feet
