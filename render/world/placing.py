"""Where things stand: one, a row, an array, a seeded scatter; and how they move."""

import math
from collections.abc import Callable, Mapping
from typing import Any

import numpy as np
from numpy.typing import NDArray

from render.errors import InputError
from render.limits import COPIES, CORNERS
from render.words import choices
from render.world.description import Motion, Thing
from render.world.standing import Room, Standing, inside
from render.world.surfaces.material import Material
from render.world.table import Table
from render.world.things import load_kinds
from render.world.things.kind import KINDS

__all__ = ["PLACING", "read_things"]

#: So many places in a row that don't fit mean that no more will.
_MOST_MISSES = 5000
#: What lists every word of a scene file.
_ALL = "hingeline scenes words lists them"

Place = tuple[float, float, float, float, float]

#: Keys that every thing understands, beside those of its kind.
PLACING = {
    "kind": "what it is",
    "name": "what to call it, for focusing on it",
    "at_m": "[x, y] or [x, y, height above the ground]",
    "turn_deg": "turned counter-clockwise seen from above",
    "scale": "size factor",
    "vary": "copies differ in size by up to this share, 0 to 0.9",
    "seed": "another seed, another choice of shapes and places",
    "colours": "lists of colours or materials that copies draw from, by slot",
    "array": "{ count = [5, 3], step_m = [4, 6] }: rows and columns from at_m",
    "along": "{ path_m = [...], step_m = 8, aside_m = 3 }: a row along a path",
    "scatter": '{ outline_m = [...], count = 40, apart_m = 1.5, turn = "any" }: strewn with a seed',
    "moves": "{ path_m = [...], speed_m_s = 1.3, spread_m = 6, returns = true }: moves with time",
}


def read_things(tables: list[Table], materials: Mapping[str, Material]) -> list[Thing]:
    """Check the [[things]] of a scene and work out where every copy stands."""
    load_kinds()
    things: dict[int, Thing] = {}
    standing = Standing()
    count = 0
    by_hand_first = sorted(enumerate(tables), key=lambda it: "scatter" in it[1].keys_found())
    for at, t in by_hand_first:
        things[at] = _thing(t, materials, standing)
        standing.add(things[at])
        count += len(things[at].places)
        _check_count(t, count)
    return [things[at] for at in sorted(things)]


def _check_count(t: Table, count: float) -> None:
    COPIES.check(count, f"{t.where}: with this the scene holds {count:,.0f} things", "strew fewer")


def _thing(t: Table, materials: Mapping[str, Material], standing: Standing) -> Thing:
    name = t.text("kind", "")
    if name not in KINDS:
        raise t.error("kind", f"choose one of {choices(sorted(KINDS), name, _ALL)}")
    kind = KINDS[name]
    seed = int(t.number("seed", 1, 0, 1e15))
    motion = _motion(t.table("moves")) if "moves" in t.keys_found() else None
    called = t.text("name", "")
    colours = _colours(t.table("colours"), kind.stuff, materials)
    stuff, own = dict(kind.stuff), {}
    for key, value in t.rest():
        if key in kind.stuff:
            stuff[key] = _material(t, key, value, materials)
        elif key not in PLACING:
            own[key] = value
    try:
        values = kind.read(own)
    except InputError as error:
        extra = (
            f"; every thing also knows {choices(PLACING, where=_ALL)}"
            if "is not a key" in str(error)
            else ""
        )
        raise InputError(f"{t.where}, {error}{extra}") from None
    places = _places(t, seed, lambda lift, scale: Room.of(kind, values, lift, scale), standing)
    return Thing(kind, values, stuff, colours, places, called, seed, motion)


def _material(t: Table, key: str, value: Any, materials: Mapping[str, Material]) -> str:
    if isinstance(value, str) and (value in materials or value.startswith("#")):
        if value.startswith("#"):
            try:
                Material(colour=value)
            except InputError as error:
                raise t.error(key, str(error)) from None
        return value
    raise t.error(
        key, f'a material\'s name or a colour "#rrggbb"; {choices(materials, str(value), _ALL)}'
    )


def _colours(
    t: Table, stuff: Mapping[str, str], materials: Mapping[str, Material]
) -> dict[str, tuple[str, ...]]:
    chosen = {}
    for slot in t.keys_found():
        values = t.raw(slot)
        if slot not in stuff:
            raise t.error(slot, f"choose one of {choices(stuff, slot)}")
        if not isinstance(values, list) or not values:
            raise t.error(slot, 'a list of materials or colours, ["#d0c0a0", "brick"]')
        chosen[slot] = tuple(_material(t, slot, value, materials) for value in values)
    return chosen


def _places(
    t: Table, seed: int, room: Callable[[float, float], tuple[Room, ...]], standing: Standing
) -> tuple[Place, ...]:
    """Where every copy is; `room` says what one needs at a height above the ground and a scale."""
    at = t.numbers("at_m", start=(0.0, 0.0))
    if len(at) not in (2, 3):
        raise t.error("at_m", "[x, y] or [x, y, height above the ground]")
    turn = t.number("turn_deg", 0.0)
    scale = t.number("scale", 1.0, 1e-3, 1e3)
    vary = t.number("vary", 0.0, 0.0, 0.9)
    lift = at[2] if len(at) == 3 else 0.0
    rng = np.random.default_rng([seed, 77])
    ways = [way for way in ("array", "along", "scatter") if way in t.keys_found()]
    if len(ways) > 1:
        raise t.error(ways[1], f"use either {ways[0]} or {ways[1]}")
    if not ways:
        spots = np.array([[at[0], at[1], turn]])
    elif ways == ["scatter"]:
        needs = room(lift, scale * (1 + vary))
        spots = _scatter(t.table("scatter"), at, turn, rng, needs, standing)
    else:
        spots = {"array": _array, "along": _along}[ways[0]](t.table(ways[0]), at, turn, rng)
    sizes = (
        scale * (1 + vary * rng.uniform(-1, 1, len(spots))) if vary else np.full(len(spots), scale)
    )
    return tuple(
        (float(x), float(y), lift, float(a), float(s))
        for (x, y, a), s in zip(spots, sizes, strict=True)
    )


def _array(
    t: Table, at: tuple[float, ...], turn: float, rng: np.random.Generator
) -> NDArray[np.float64]:
    count, step = t.numbers("count", 2, (1, 1)), t.numbers("step_m", 2, (1, 1))
    t.finish()
    if not all(1 <= n == n // 1 for n in count):
        raise t.error("count", "give two whole numbers from 1, such as [5, 3]")
    _check_count(t, count[0] * count[1])
    i, j = np.meshgrid(np.arange(int(count[0])), np.arange(int(count[1])), indexing="ij")
    c, s = math.cos(math.radians(turn)), math.sin(math.radians(turn))
    dx, dy = i.ravel() * step[0], j.ravel() * step[1]
    return np.stack([at[0] + c * dx - s * dy, at[1] + s * dx + c * dy, np.full(dx.size, turn)], -1)


def _along(
    t: Table, at: tuple[float, ...], turn: float, rng: np.random.Generator
) -> NDArray[np.float64]:
    path = np.asarray(t.points("path_m"), float)
    if path.ndim != 2 or len(path) < 2 or path.shape[1] != 2:
        raise t.error("path_m", "at least 2 points, [[0, 0], [20, 5]]")
    step, aside, loose = (
        t.number("step_m", 5.0, 0.01),
        t.number("aside_m", 0.0),
        t.number("loose", 0.0, 0, 1),
    )
    t.finish()
    legs = np.diff(path, axis=0)
    run = np.concatenate([[0.0], np.cumsum(np.hypot(legs[:, 0], legs[:, 1]))])
    _check_count(t, run[-1] / step)
    s = np.arange(0.0, run[-1] + 1e-9, step)
    s = np.clip(s + loose * step * rng.uniform(-0.5, 0.5, len(s)), 0, run[-1])
    leg = np.clip(np.searchsorted(run, s, side="right") - 1, 0, len(legs) - 1)
    head = np.arctan2(legs[leg, 1], legs[leg, 0])
    x = np.interp(s, run, path[:, 0]) - aside * np.sin(head)
    y = np.interp(s, run, path[:, 1]) + aside * np.cos(head)
    return np.stack([x + at[0], y + at[1], np.degrees(head) + turn], -1)


def _scatter(
    t: Table,
    at: tuple[float, ...],
    turn: float,
    rng: np.random.Generator,
    rooms: tuple[Room, ...],
    standing: Standing,
) -> NDArray[np.float64]:
    """Spots in an outline; one that something stands on is drawn anew, the others stay."""
    shape = np.asarray(t.points("outline_m"), float)
    if shape.ndim != 2 or len(shape) < 3 or shape.shape[1] != 2:
        raise t.error("outline_m", "at least 3 points, [[0, 0], [20, 0], [10, 15]]")
    count, apart = int(t.number("count", 20, 1)), t.number("apart_m", 0.0, 0)
    _check_count(t, count)
    how = t.raw("turn", "any")
    keep_out = _keep_out(t)
    t.finish()
    if how != "any" and not isinstance(how, int | float):
        raise t.error("turn", '"any" or degrees of spread, such as 15')
    near: dict[tuple[int, int], list[NDArray[np.float64]]] = {}  # spots by square of that side

    def fits(p: NDArray[np.float64]) -> bool:
        if not inside(p, shape) or any(inside(p, hole) for hole in keep_out):
            return False
        return not apart or _stands_free(p, apart, near)

    def free(p: NDArray[np.float64]) -> bool:
        return all(standing.free(p + at[:2], room) for room in rooms)

    spots = _drawn(shape, count, rng, fits)
    taken = [i for i, p in enumerate(spots) if not free(p)]
    others = _drawn(shape, len(taken), rng.spawn(1)[0], lambda p: fits(p) and free(p))
    for i, p in zip(taken, others, strict=False):
        spots[i] = p
    left = [i for i in range(len(spots)) if i not in set(taken[len(others) :])]
    if not left:
        raise t.error(
            "outline_m", "nothing fits inside: give a larger outline or less room between"
        )
    spread = rng.uniform(0, 360, len(spots)) if how == "any" else rng.uniform(-how, how, len(spots))
    return np.column_stack([np.array(spots) + at[:2], spread + turn])[left]


def _drawn(
    shape: NDArray[np.float64],
    count: int,
    rng: np.random.Generator,
    fits: Callable[[NDArray[np.float64]], bool],
) -> list[NDArray[np.float64]]:
    """Up to `count` places around an outline that fit; fewer where no more will."""
    low, high = shape.min(axis=0), shape.max(axis=0)
    spots: list[NDArray[np.float64]] = []
    missed = 0
    for _ in range(count * 60):
        if len(spots) == count or missed > _MOST_MISSES:
            break
        missed += 1
        p = rng.uniform(low, high)
        if fits(p):
            spots.append(p)
            missed = 0
    return spots


def _stands_free(
    p: NDArray[np.float64],
    apart: float,
    near: dict[tuple[int, int], list[NDArray[np.float64]]],
) -> bool:
    """Whether no spot lies nearer than `apart`; if so, `p` is noted among them."""
    column, row = (int(v // apart) for v in p)
    around = [(column + i, row + j) for i in (-1, 0, 1) for j in (-1, 0, 1)]
    if any(math.dist(p, other) < apart for square in around for other in near.get(square, ())):
        return False
    near.setdefault((column, row), []).append(p)
    return True


def _keep_out(t: Table) -> list[NDArray[np.float64]]:
    """Outlines that nothing is strewn into."""
    try:
        holes = [np.asarray(p, float) for p in t.raw("keep_out_m", [])]
    except (TypeError, ValueError, OverflowError):
        holes = [np.zeros(0)]
    for hole in holes:
        if hole.ndim != 2 or len(hole) < 3 or hole.shape[1] != 2 or not np.isfinite(hole).all():
            raise t.error("keep_out_m", "outlines, [[[0, 0], [4, 0], [2, 3]]]")
        CORNERS.check(len(hole), f"{t.where}, keep_out_m has {len(hole)} corners", "simplify it")
    return holes


def _motion(t: Table) -> Motion:
    path = t.points("path_m")
    if len(path) < 2 or not all(isinstance(p, tuple) and len(p) == 2 for p in path):
        raise t.error("path_m", "at least 2 points, [[0, 0], [20, 5]]")
    motion = Motion(
        path_m=path,
        speed_m_s=t.number("speed_m_s", 1.3, 0),
        start_s=t.number("start_s", 0.0),
        spread_m=t.number("spread_m", 0.0),
        returns=t.flag("returns", False),
    )
    t.finish()
    return motion
