"""Whether one thing stands inside another: signed crossings of the faces, along three axes."""

import zlib
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cache
from typing import Any

import numba
import numpy as np
from numpy.typing import NDArray

from render.trace.tree.placed import (
    STEPS,
    Mover,
    part_places,
    part_share,
    parts_of,
    share_of,
    stand,
)
from render.trace.tree.shapes import Meshes
from render.world.description import Description, Thing
from render.world.ground import ground_height
from render.world.mesh import Mesh, extrude
from render.world.standing import inside
from render.world.things.kind import Values

__all__ = ["Inside", "things_inside", "things_sunk"]

#: What lies on the ground or encloses everything.
_AROUND = {"area", "road", "room", "puddle", "manhole", "litter", "bust"}
_AROUND |= {"surf"}  # bathers stand in it
#: What fills its feet up to their height: quicker than all its windows and rails.
_FILLED = {"house", "fence", "garden"}
#: What a builder joins: their parts may meet.
_BUILT = {"house", "tower", "box", "prism", "cylinder", "sphere", "bar", "wall", "string lights"}
_BUILT |= {"quay wall"}
#: Leaves and cloth give way.
_SOFT = ("leaf", "flower", "cloth", "awning", "sail", "rope", "foam", "churn", "wave")
#: So deep counts: people touch what they sit on.
_DEEP_M = 0.05


@dataclass(frozen=True, slots=True)
class Inside:
    """One thing that reaches into another."""

    what: str
    copy: int
    into: str
    into_copy: int
    at_m: tuple[float, float, float]


@dataclass(frozen=True, slots=True, eq=False)
class _Body:
    thing: Thing
    copy: int
    xyz: NDArray[np.float64]
    low: NDArray[np.float64]
    high: NDArray[np.float64]


def things_inside(description: Description, *times_s: float) -> Iterator[Inside]:
    """Every pair of which one reaches more than 5 cm into the other, at any of the moments."""
    meshes = Meshes(description)
    still = list(_bodies(description, meshes, 0.0, moving=False))
    yield from _pairs(still, still)
    for time_s in times_s:
        moving = list(_bodies(description, meshes, time_s, moving=True))
        yield from _pairs(moving, [*still, *moving])
        yield from _pairs(still, moving)


def things_sunk(description: Description, *times_s: float) -> Iterator[str]:
    """What stands more than 5 cm under the top of a slab that it stands on."""
    flat = [(t, p) for t in description.things if t.kind.name == "area" for p in t.places]
    assert all(p[3:] == (0, 1) for _, p in flat)
    slabs = [(np.array(t.values.outline_m) + p[:2], t.values.lift_m + p[2]) for t, p in flat]
    slabs = [(outline, top) for outline, top in slabs if top > _DEEP_M]
    for thing in description.things:
        if thing.kind.feet is None or thing.kind.name in _BUILT | _FILLED or not slabs:
            continue
        for copy in range(len(thing.places)):
            for time_s in times_s if thing.way(copy) else times_s[:1]:
                at = stand(description, thing, copy, time_s)[:3, 3]
                ground = description.ground
                z = at[2] - (ground_height(ground, at[0], at[1]) if ground else 0.0)
                under = [top for outline, top in slabs if inside(at[:2], outline)]
                if under and z < max(under) - _DEEP_M:
                    yield f"{_named(thing)} {copy} at {np.round(at, 2)}, {time_s} s"


def _pairs(some: Sequence[_Body], every: Sequence[_Body]) -> Iterator[Inside]:
    """Of all pairs of one of the first and one of the second, those where it is inside."""
    if not every:
        return
    low, high = np.array([b.low for b in every]), np.array([b.high for b in every])
    for a in some:
        shared = np.minimum(a.high, high) - np.maximum(a.low, low)
        for index in np.nonzero((shared > _DEEP_M).all(axis=1))[0]:
            b = every[index]
            if b is a or {a.thing.kind.name, b.thing.kind.name} <= _BUILT:
                continue
            points = np.concatenate([a.xyz.mean(axis=1), a.xyz.reshape(-1, 3)])
            points = points[((points > b.low + _DEEP_M) & (points < b.high - _DEEP_M)).all(axis=1)]
            points = points[:: max(1, len(points) // 80)] + 1.234e-5
            if len(points) and _deep(np.ascontiguousarray(points), b.xyz, _DEEP_M):
                at = tuple(np.round(a.xyz.mean(axis=(0, 1)), 2).tolist())
                yield Inside(_named(a.thing), a.copy, _named(b.thing), b.copy, at)


def _named(thing: Thing) -> str:
    return f"{thing.name} ({thing.kind.name})" if thing.name else thing.kind.name


def _bodies(
    description: Description, meshes: Meshes, time_s: float, *, moving: bool
) -> Iterator[_Body]:
    """What everything fills that moves, or that stays where it is."""
    for at, thing in enumerate(description.things):
        if thing.kind.name in _AROUND:
            continue
        for copy in range(len(thing.places)):
            if moving != bool(thing.way(copy) or thing.kind.parts or thing.kind.sways):
                continue
            rng = np.random.default_rng([thing.seed, zlib.crc32(thing.kind.name.encode()), copy])
            mover = Mover(at, copy, int(rng.integers(thing.kind.variants)))
            xyz = _faces(thing, mover, time_s, meshes)
            matrix = stand(description, thing, copy, time_s)
            there = (xyz.reshape(-1, 3) @ matrix[:3, :3].T + matrix[:3, 3]).reshape(xyz.shape)
            if len(there):
                flat = np.ascontiguousarray(there.reshape(-1, 3).T)  # many times as quick
                yield _Body(thing, copy, there, flat.min(axis=1), flat.max(axis=1))


def _faces(thing: Thing, mover: Mover, time_s: float, meshes: Meshes) -> NDArray[np.float64]:
    """Triangles of what is solid; who stands or walks is a post."""
    if thing.kind.feet and (
        thing.kind.name in _FILLED or thing.values.get("pose") in ("any", "stand", "walk", "wave")
    ):
        feet = thing.kind.feet(thing.values)[: 1 if thing.kind.name == "house" else None]
        posts = (_post(tuple(map(tuple, f.outline_m)), f.low_m, f.high_m) for f in feet)
        return np.concatenate(list(posts))
    if thing.values.get("near"):  # the same limbs of fewer faces
        thing = replace(thing, values=Values({**thing.values, "near": False}))
    share = share_of(thing, mover.copy, time_s)
    solid = [_solid(meshes.of(thing, mover.variant, None if share is None else share / STEPS))]
    for number, part in parts_of(thing):
        shape = part_share(part, mover.copy, time_s)
        xyz = _solid(meshes.of_part(thing, mover.variant, number, shape))
        places = part_places(thing, replace(mover, part=number), time_s)
        solid += [xyz @ place[:3, :3].T + place[:3, 3] for place in places]
    return np.concatenate(solid)


@cache
def _post(outline_m: tuple[tuple[float, float], ...], low_m: float, high_m: float) -> Any:
    return extrude(outline_m, low_m, high_m, "", "").xyz


def _solid(mesh: Mesh) -> NDArray[np.float64]:
    soft = [i for i, slot in enumerate(mesh.slots) if slot in _SOFT]
    return mesh.xyz[~np.isin(mesh.slot, soft)]


@numba.njit(cache=True)
def _deep(points, faces, deep):  # type: ignore[no-untyped-def]
    """Whether a point, and what lies `deep` around it, is behind outward faces along all axes."""
    for k in range(len(points)):
        inside = True
        for axis in range(3):
            i, j = (axis + 1) % 3, (axis + 2) % 3
            px, py, pz = points[k, i], points[k, j], points[k, axis]
            ahead = back = 0
            for f in range(len(faces)):
                ax, ay = faces[f, 0, i], faces[f, 0, j]
                bx, by = faces[f, 1, i], faces[f, 1, j]
                cx, cy = faces[f, 2, i], faces[f, 2, j]
                if px < min(ax, bx, cx) or px > max(ax, bx, cx):
                    continue
                if py < min(ay, by, cy) or py > max(ay, by, cy):
                    continue
                d = (bx - ax) * (cy - ay) - (by - ay) * (cx - ax)
                if abs(d) < 1e-14:
                    continue
                u = ((px - ax) * (cy - ay) - (py - ay) * (cx - ax)) / d
                v = ((bx - ax) * (py - ay) - (by - ay) * (px - ax)) / d
                if u < 0 or v < 0 or u + v > 1:
                    continue
                a, b, c = faces[f, 0, axis], faces[f, 1, axis], faces[f, 2, axis]
                z = a + u * (b - a) + v * (c - a)
                if z > pz + deep:
                    ahead += 1 if d > 0 else -1
                if z < pz - deep:
                    back += -1 if d > 0 else 1
            if ahead <= 0 or back <= 0:
                inside = False
                break
        if inside:
            return True
    return False
