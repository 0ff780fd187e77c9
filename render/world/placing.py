"""Where things stand: one, a row, an array, a seeded scatter; and how they move."""

import functools
import itertools
import math
from collections.abc import Callable, Mapping
from dataclasses import replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from render.errors import InputError
from render.limits import COPIES, CORNERS
from render.words import choices
from render.world.description import Motion, Thing
from render.world.line import run_along
from render.world.motion import round_s
from render.world.standing import Room, Standing, Tops, inside
from render.world.surfaces.material import Material
from render.world.table import Table
from render.world.things import load_kinds
from render.world.things.kind import KINDS

__all__ = ["PLACING", "read_things"]

#: So many places in a row that don't fit mean that no more will.
_MOST_MISSES = 5000
#: So many directions are tried for a way to and fro, and so long one rests at its ends.
_TRIES, _PAUSE_S = 6, 2.5
#: What lists every word of a scene file.
_ALL = "hingeline scenes words lists them"

Place = tuple[float, float, float, float, float]

#: Keys that every thing understands, beside those of its kind.
PLACING = {
    "kind": "what it is",
    "name": "what to call it, for focusing on it",
    "at_m": "[x, y], upon the pavement or lawn that lies there, or [x, y, height above the ground]",
    "turn_deg": "turned counter-clockwise seen from above",
    "scale": "size factor",
    "vary": "copies differ in size by up to this share, 0 to 0.9",
    "seed": "another seed, another choice of shapes and places",
    "colours": "lists of colours or materials that copies draw from, by slot",
    "array": "{ count = [5, 3], step_m = [4, 6] }: rows and columns from at_m",
    "along": "{ path_m = [...], step_m = 8, aside_m = 3, keep_out_m = [[...]] }: a row on a path",
    "scatter": '{ outline_m = [...], count = 40, apart_m = 1.5, turn = "any", stroll_m = 6 }: '
    "strewn with a seed; stroll_m gives each a way to and fro",
    "moves": "{ path_m = [...], speed_m_s = 1.3, spread_m = 6, loose = 0.5, returns = true, "
    "pause_s = 2 } or { ..., waits = [[12, 30]], every_s = 60 }: moves with time",
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
    tops = Tops(things.values())
    for at, t in by_hand_first:
        if len(t.numbers("at_m", start=(0.0, 0.0))) == 2:
            things[at] = replace(things[at], places=tops.places_on(things[at]))
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
    rooms = functools.partial(Room.of, kind, values)
    places = _places(t, seed, rooms, standing)
    strolls: tuple[Motion | None, ...] = ()
    strewn = t.table("scatter")
    if "stroll_m" in strewn.keys_found():
        if motion is not None:
            raise t.error("moves", "give either this or stroll_m in scatter")
        at = t.numbers("at_m", start=(0.0, 0.0))[:2]
        strolls = _strolls(strewn, at, places, rooms, standing, seed)
    return Thing(kind, values, stuff, colours, places, called, seed, motion, strolls)


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
    keep_out = _keep_out(t)
    t.finish()
    legs = np.diff(path, axis=0)
    run = run_along(path)
    _check_count(t, run[-1] / step)
    s = np.arange(0.0, run[-1] + 1e-9, step)
    s = np.clip(s + loose * step * rng.uniform(-0.5, 0.5, len(s)), 0, run[-1])
    leg = np.clip(np.searchsorted(run, s, side="right") - 1, 0, len(legs) - 1)
    head = np.arctan2(legs[leg, 1], legs[leg, 0])
    x = np.interp(s, run, path[:, 0]) - aside * np.sin(head)
    y = np.interp(s, run, path[:, 1]) + aside * np.cos(head)
    left = [i for i, p in enumerate(np.column_stack([x, y]))
            if not any(inside(p, hole) for hole in keep_out)]  # fmt: skip
    if not left:
        raise t.error("keep_out_m", "all of the path lies inside")
    return np.stack([x + at[0], y + at[1], np.degrees(head) + turn], -1)[left]


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
    t.number("stroll_m", 0.0, 0, 1000)  # read by _strolls, once all have their places
    t.number("speed_m_s", 1.2, 0.01, 50)
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


def _strolls(
    t: Table,
    at: tuple[float, ...],
    places: tuple[Place, ...],
    rooms: Callable[[float, float], tuple[Room, ...]],
    standing: Standing,
    seed: int,
) -> tuple[Motion | None, ...]:
    """A way to and fro for everyone who finds one that is free, the way they face if it is.

    Each starts on its own spot; ways cross neither each other nor anyone who stands.
    """
    shape = np.asarray(t.points("outline_m"), float) + at
    keep_out = [hole + at for hole in _keep_out(t)]
    longest, speed = t.number("stroll_m", 0.0), t.number("speed_m_s", 1.2)
    rng = np.random.default_rng([seed, 78])
    spots = np.array([p[:2] for p in places])
    reach = max((room.reach_m for p in places for room in rooms(p[2], p[4])), default=0.3)
    taken: dict[int, NDArray[np.float64]] = {i: p[None] for i, p in enumerate(spots)}
    found: list[Motion | None] = []
    for i, (spot, place) in enumerate(zip(spots, places, strict=True)):
        others = np.concatenate([way for k, way in taken.items() if k != i] or [np.zeros((0, 2))])
        near = others[np.hypot(*(others - spot).T) < longest + 2 * reach]
        motion = None
        for turn in (0.0, *rng.uniform(-180, 180, _TRIES)):
            angle = math.radians(place[3] + turn - 90.0)  # things face -y
            length = longest * rng.uniform(0.55, 1.0)
            behind = length * rng.uniform(0.1, 0.6)
            way = spot + np.outer(
                np.append(np.arange(-behind, length - behind, reach), length - behind),
                [math.cos(angle), math.sin(angle)],
            )
            if (
                len(near)
                and np.hypot(*(way[:, None] - near).transpose(2, 0, 1)).min() < 2.2 * reach
            ):
                continue
            if not inside(way, shape).all() or any(inside(way, h).any() for h in keep_out):
                continue
            if all(standing.free(way, room) for room in rooms(place[2], place[4])):
                path = (tuple(way[0].tolist()), tuple(way[-1].tolist()))
                motion = Motion(path, speed, behind / speed, returns=True, pause_s=_PAUSE_S)
                taken[i] = way
                break
        found.append(motion)
    return tuple(found)


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
    if not sum(math.dist(a, b) for a, b in itertools.pairwise(path)) > 0:
        raise t.error("path_m", "at least 2 points that differ, [[0, 0], [20, 5]]")
    waits = t.points("waits") if "waits" in t.keys_found() else ()
    motion = Motion(
        path_m=path,
        speed_m_s=t.number("speed_m_s", 1.3, 0),
        start_s=t.number("start_s", 0.0),
        spread_m=t.number("spread_m", 0.0),
        returns=t.flag("returns", False),
        loose=t.number("loose", 0.0, 0, 1),
        pause_s=t.number("pause_s", 0.0, 0),
        waits=waits,
        every_s=t.number("every_s", 0.0, 0),
    )
    t.finish()
    _check_waits(t, motion)
    return motion


def _check_waits(t: Table, motion: Motion) -> None:
    """Refuse waits that lie beside the way, or in the past, or a round that takes too long."""
    if not (motion.waits or motion.every_s):
        return
    if motion.returns or not motion.speed_m_s > 0:
        raise t.error("waits", "for what goes one way at a speed above 0, without returns")
    length = sum(math.dist(a, b) for a, b in itertools.pairwise(motion.path_m))
    pairs = [w for w in motion.waits if isinstance(w, tuple) and len(w) == 2]
    at = [0.0, *(w[0] for w in pairs), length]
    if len(pairs) < len(motion.waits) or any(b - a <= 0 for a, b in itertools.pairwise(at)):
        raise t.error(
            "waits", "[[distance along the path, until so many s after its start]], in order"
        )
    if motion.every_s and round_s(motion) > motion.every_s:
        raise t.error(
            "every_s", f"the way with its waits takes {round_s(motion):.1f} s, so no less than that"
        )
