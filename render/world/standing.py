"""What stands where, so that nothing is strewn into it."""

import math
from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from render.world.description import Thing
from render.world.line import run_along
from render.world.things.feet import Foot, disc, path
from render.world.things.kind import Kind, Values

__all__ = ["Room", "Standing", "Tops", "inside"]

Place = tuple[float, float, float, float, float]

#: Whoever stands on something is not inside it: heights overlap by more than this.
_STEP_M = 0.15
#: Ways are looked at so often, m.
_WAY_STEP_M = 0.25


@dataclass(frozen=True, slots=True)
class Room:
    """A circle that a copy needs, however it is turned, between two heights."""

    reach_m: float
    low_m: float
    high_m: float

    @classmethod
    def of(cls, kind: Kind, values: Values, lift_m: float, scale: float) -> "tuple[Room, ...]":
        """Room of a kind of thing, none for what is in nobody's way."""
        feet = kind.feet(values) if kind.feet is not None else ()
        return tuple(
            cls(scale * f.reach_m, lift_m + scale * f.low_m, lift_m + scale * f.high_m)
            for f in feet
        )


def inside(p: NDArray[np.float64], shape: NDArray[np.float64]) -> NDArray[np.bool_]:
    """Whether each of some points (..., 2) lies in a closed outline, shape (n, 2)."""
    crossed = _crosses(p, shape, np.concatenate([shape[1:], shape[:1]])).sum(axis=-1)
    return np.asarray(crossed % 2 == 1)


def _laid(
    outline_m: NDArray[np.float64], x: float, y: float, turn_deg: float, scale: float
) -> NDArray[np.float64]:
    """An outline (n, 2) at a place, turned counter-clockwise seen from above."""
    c, s = math.cos(math.radians(turn_deg)), math.sin(math.radians(turn_deg))
    return np.asarray(scale * outline_m @ np.array([[c, s], [-s, c]]) + [x, y])


#: Thinner sheets are coats of the ground: what stands in them isn't sunk.
_COAT_M = 0.03


class Tops:
    """What one can stand on: pavements, lawns, kerbed islands.

    Houses keep their walls in the ground, and what is built of bare shapes keeps the heights that
    its file gives them: only what has feet and no inside is lifted.
    """

    def __init__(self, things: Iterable[Thing]) -> None:
        self._areas: list[tuple[NDArray[np.float64], float]] = []
        for area in things:
            if area.kind.name == "area":
                for x, y, lift, turn, scale in area.places:
                    top = lift + scale * area.values.lift_m
                    if top > _COAT_M:
                        outline = np.asarray(area.values.outline_m)
                        self._areas.append((_laid(outline, x, y, turn, scale), top))
        boxes = [(*o.min(axis=0), *o.max(axis=0)) for o, _ in self._areas]
        self._boxes = np.array(boxes).reshape(-1, 4)

    def over(self, p: NDArray[np.float64]) -> NDArray[np.float64]:
        """Height (m) over the ground of what lies at places of shape (n, 2), 0 for bare ground."""
        low, high = p.min(axis=0), p.max(axis=0)
        near = (self._boxes[:, :2] <= high).all(axis=1) & (self._boxes[:, 2:] >= low).all(axis=1)
        tops = np.zeros(len(p))
        for at in np.flatnonzero(near):
            outline, top = self._areas[at]
            tops = np.where(inside(p, outline), np.maximum(tops, top), tops)
        return tops

    def places_on(self, thing: Thing) -> tuple[Place, ...]:
        """Its places, lifted onto what lies there; what moves keeps to the lowest of its way."""
        kind = thing.kind
        if kind.feet is None or kind.solid or not self._areas:
            return thing.places
        if "path_m" in thing.values or "outline_m" in thing.values:
            return thing.places
        if thing.motion is not None:
            path = np.asarray(thing.motion.path_m)
            run = run_along(path)
            at = np.append(np.arange(0.0, run[-1], _WAY_STEP_M), run[-1])
            way = np.column_stack([np.interp(at, run, path[:, k]) for k in range(2)])
            lifts = np.full(len(thing.places), self.over(way).min())
        else:
            lifts = self.over(np.array(thing.places)[:, :2])
        return tuple(
            (x, y, z + float(lift), turn, scale)
            for (x, y, z, turn, scale), lift in zip(thing.places, lifts, strict=True)
        )


class Standing:
    """Outlines that are taken, seen from above, with the heights between which they are."""

    def __init__(self) -> None:
        self._outlines: list[NDArray[np.float64]] = []
        self._circles: list[tuple[float, float, float, float, float]] = []
        self._known: NDArray[np.float64] = np.zeros((5, 0))
        #: Where every edge of every outline begins and ends, and which is the first of each.
        self._edges: NDArray[np.float64] = np.zeros((2, 0, 2))
        self._begins: NDArray[np.int64] = np.zeros(1, np.int64)

    def add(self, thing: Thing) -> None:
        """Take the places of all copies; of what moves, the whole way that it goes."""
        if thing.kind.feet is None:
            return
        feet = thing.kind.feet(thing.values)
        if thing.motion is not None:
            wide = max(2 * float(np.abs(foot.outline_m[:, 0]).max()) for foot in feet)
            wide += 2 * thing.motion.aside_m if thing.kind.gait is not None else 0.0
            high = max(foot.high_m for foot in feet)
            legs = path(thing.motion.path_m, wide, high)
            for lift in {place[2] for place in thing.places}:
                self._take(legs, (0.0, 0.0, lift, 0.0, 1.0))
                for x, y in set(thing.motion.path_m):  # round its corners
                    self._take(disc(wide / 2, high), (x, y, lift, 0.0, 1.0))
            return
        for copy, place in enumerate(thing.places):
            stroll = thing.way(copy)
            if stroll is None:
                self._take(feet, place)
                continue
            reach = place[4] * max(foot.reach_m for foot in feet)
            a, b = np.asarray(stroll.path_m)
            more = reach * (b - a) / max(math.dist(a, b), 1e-9)
            legs = path([a - more, b + more], 2 * reach, place[4] * max(f.high_m for f in feet))
            self._take(legs, (0.0, 0.0, place[2], 0.0, 1.0))

    def _take(self, feet: tuple[Foot, ...], place: Place) -> None:
        x, y, lift, turn, scale = place
        for foot in feet:
            outline = _laid(foot.outline_m, x, y, turn, scale)
            middle = outline.mean(axis=0)
            reach = float(np.hypot(*(outline - middle).T).max())
            low, high = lift + scale * foot.low_m, lift + scale * foot.high_m
            self._outlines.append(outline)
            self._circles.append((float(middle[0]), float(middle[1]), reach, low, high))

    def free(self, p: NDArray[np.float64], room: Room) -> bool:
        """Whether a circle between two heights touches nothing that stands.

        Parameters
        ----------
        p : ndarray, shape (2,) or (n, 2)
            Its middle, or all the places where it will be.
        """
        if len(self._begins) <= len(self._outlines):
            self._gather()
        p = np.atleast_2d(p)
        middle = p.mean(axis=0)
        wide = room.reach_m + np.hypot(*(p - middle).T).max()
        x, y, reach, low, high = self._known
        near = np.hypot(x - middle[0], y - middle[1]) < reach + wide
        level = (high > room.low_m + _STEP_M) & (low < room.high_m - _STEP_M)
        meets = np.flatnonzero(near & level)
        if not len(meets):
            return True
        runs = [np.arange(*self._begins[k : k + 2]) for k in meets]
        a, b = self._edges[:, np.concatenate(runs)]
        if np.any(_distances(p, a, b) < room.reach_m):
            return False
        begins = np.cumsum([0, *map(len, runs[:-1])])
        crossed = np.add.reduceat(_crosses(p, a, b), begins, axis=1, dtype=np.int64)
        return not np.any(crossed % 2)

    def _gather(self) -> None:
        """Lay what was taken out in arrays."""
        late = self._outlines[len(self._begins) - 1 :]
        edges = [np.stack([o, np.roll(o, -1, axis=0)]) for o in late]
        self._edges = np.concatenate([self._edges, *edges], axis=1)
        self._begins = np.append(self._begins, self._begins[-1] + np.cumsum([len(o) for o in late]))
        self._known = np.array(self._circles).T.copy()


def _crosses(
    p: NDArray[np.float64], a: NDArray[np.float64], b: NDArray[np.float64]
) -> NDArray[np.bool_]:
    """Which edges, shapes (n, 2), rays from points (..., 2) towards +x meet, shape (..., n)."""
    x, y = p[..., 0, None], p[..., 1, None]
    rises = (a[:, 1] > y) != (b[:, 1] > y)
    with np.errstate(divide="ignore", invalid="ignore"):
        there = a[:, 0] + (y - a[:, 1]) * (b[:, 0] - a[:, 0]) / (b[:, 1] - a[:, 1])
    return np.asarray(rises & (x < there))


def _distances(
    p: NDArray[np.float64], a: NDArray[np.float64], b: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Of points (m, 2) from edges, shapes (n, 2): shape (m, n)."""
    along, away = b - a, p[:, None] - a
    share = np.einsum("mni,ni->mn", away, along) / np.maximum((along**2).sum(axis=1), 1e-12)
    missed = away - np.clip(share, 0.0, 1.0)[..., None] * along
    return np.asarray(np.hypot(missed[..., 0], missed[..., 1]))
