"""From a description to what the tracer walks through: shapes, placements, materials, light."""

import math
import zlib
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import ArrayLike, NDArray

from render.errors import InputError
from render.limits import TRIANGLES
from render.trace.bvh import World, aligned, build_tree, triangle_blocks, widened
from render.trace.light import Light, Surfaces
from render.world.description import Description, LightWords, Thing
from render.world.drape import draped
from render.world.ground import ground_height, ground_mesh, is_flat
from render.world.mesh import Mesh, moved
from render.world.motion import along_path
from render.world.sky import afterglow, sun_colour
from render.world.surfaces.material import Material, linear_rgb, material_row

__all__ = ["Built", "at_moment", "build"]

#: A lamp that gives less light than this (1: a white surface in the sun) is left out.
_DIM = 0.001
#: What the sky's glow (`render.trace.light.sky`) comes to on the sun itself.
_GLOW_AT_SUN = 0.32
#: Shapes that two steps of something which walks are made of.
_STEPS = 12


@dataclass(frozen=True, slots=True, eq=False)
class Built:
    """A scene at one moment, ready for rays.

    Attributes
    ----------
    world, surfaces, light : named tuples
        Arrays for the compiled loops.
    spots : mapping
        Named things and marks: world position (x, y, z) of the middle of each, metres.
    solid : tuple of tuples of bool
        Of every placement, whether a camera may not be inside each thing in it.
    names : tuple of tuples of str
        What errors call them.
    placed : tuple
        Where every shape stands, for `at_moment`.
    """

    world: World
    surfaces: Surfaces
    light: Light
    spots: Mapping[str, tuple[float, float, float]]
    solid: tuple[tuple[bool, ...], ...]
    names: tuple[tuple[str, ...], ...]
    placed: "tuple[_Placed, ...]" = ()


class _Materials:
    """Rows of materials, each stored once."""

    def __init__(self, named: Mapping[str, Material]) -> None:
        self._named = named
        self._index: dict[tuple[str, str], int] = {}
        self.rows: list[NDArray[np.float64]] = []

    def index(self, name: str, base: str) -> int:
        """Row of a named material, or of `base` in another colour."""
        key = (name, base if name.startswith("#") else "")
        if key not in self._index:
            self._index[key] = len(self.rows)
            if name.startswith("#"):
                like = self._named.get(base, Material())
                made = replace(
                    like, colour=name, second="" if like.rule != "stripes" else like.second
                )
            else:
                made = self._named[name]
            self.rows.append(material_row(made))
        return self._index[key]


class _Shapes:
    """Meshes gathered for the trees below the top."""

    def __init__(self) -> None:
        self.wide: list[NDArray[np.float32]] = []
        self.blocks: list[NDArray[np.float32]] = []
        self.tris: list[NDArray[np.float32]] = []
        self.uvs: list[NDArray[np.float32]] = []
        self.normals: list[NDArray[np.float32]] = []
        self.slots: list[NDArray[np.int32]] = []
        self.things: list[NDArray[np.int32]] = []
        self.nodes = 0
        self.ends = 0
        self.count = 0

    def add(
        self, mesh: Mesh, thing: NDArray[np.int32] | None = None
    ) -> tuple[int, NDArray[np.float64]]:
        """Root node of the mesh's tree, and its bounds (2, 3)."""
        xyz = np.ascontiguousarray(mesh.xyz, np.float32)
        low, high = xyz.min(axis=1), xyz.max(axis=1)
        box, kid, order = build_tree(low, high)
        wide, leaves = widened(box, kid)
        links = wide.view(np.int32)[:, 48:56]
        links += np.where(links >= 0, self.nodes, -self.ends)
        p = xyz[order]
        corner = np.concatenate([p[:, 0], p[:, 1] - p[:, 0], p[:, 2] - p[:, 0]], axis=1)
        self.tris.append(corner)
        self.blocks.append(triangle_blocks(corner, leaves, self.count))
        self.uvs.append(np.asarray(mesh.uv[order].reshape(-1, 6), np.float32))
        self.normals.append(np.asarray(mesh.normal[order].reshape(-1, 9), np.float32))
        self.slots.append(np.asarray(mesh.slot[order], np.int32))
        self.things.append(np.zeros(len(p), np.int32) if thing is None else thing[order])
        self.wide.append(wide)
        root = self.nodes
        self.nodes += len(wide)
        self.ends += len(leaves)
        self.count += len(p)
        return root, np.stack([low.min(axis=0), high.max(axis=0)]).astype(float)


def build(description: Description, time_s: float = 0.0, *, moving: bool = False) -> Built:
    """Work out every shape and where it is at `time_s`.

    Things that stand alone are joined into one shape; copies share theirs. What walks has its
    legs where its way has brought them; `moving` makes all of its steps, for `at_moment`.

    Raises
    ------
    InputError
        If the scene holds nothing to see.
    """
    shapes, materials = _Shapes(), _Materials(description.materials)
    meshes = _Meshes(description)
    roots: dict[int, tuple[int, NDArray[np.float64]]] = {}
    rows: list[_Placed] = []
    alone = _Alone()
    pick: list[int] = []
    spots: dict[str, tuple[float, float, float]] = dict(description.marks)  # type: ignore[arg-type]
    parts: dict[tuple[str, str], tuple[float, float, float]] = {}
    if description.ground is not None:
        ground = [materials.index(description.ground.material, "")]
        alone.add(ground_mesh(description.ground), np.eye(4), ground, False, "ground")
    of_mover: dict[str | tuple[str, str], _Placed] = {}
    for at, thing in enumerate(description.things):
        for copy, place in enumerate(thing.places):
            rng = np.random.default_rng([thing.seed, zlib.crc32(thing.kind.name.encode()), copy])
            variant = int(rng.integers(thing.kind.variants))
            share = _step(thing, copy, time_s)
            mesh = meshes.of(thing, variant, share)
            matrix = _matrix(description, thing, copy, place, time_s)
            stuff = _picked(thing, mesh.slots, materials, rng)
            named = thing.name or thing.kind.name
            if thing.name and copy == 0:
                bounds = np.stack([mesh.xyz.min(axis=(0, 1)), mesh.xyz.max(axis=(0, 1))])
                spots[thing.name] = _there(matrix, bounds.mean(axis=0))
                parts.update({(thing.name, part): _there(matrix, p) for part, p in mesh.spots})
            if len(thing.places) == 1 and thing.motion is None:
                alone.add(mesh, matrix, stuff, thing.kind.solid, named)
                continue
            every = [mesh]
            if moving and share is not None:
                every = [meshes.of(thing, variant, k / _STEPS) for k in range(_STEPS)]
            for one in every:
                if id(one) not in roots:
                    roots[id(one)] = shapes.add(one)
            root, bounds = roots[id(mesh)]
            steps = tuple(roots[id(one)] for one in every) if len(every) > 1 else ()
            moves = (at, copy) if thing.motion is not None else None
            solid = [thing.kind.solid]
            row = _Placed(root, bounds, matrix, len(pick), solid, [named], moves, steps)
            rows.append(row)
            if moves and thing.name and copy == 0:
                of_mover[thing.name] = row
                of_mover.update({(thing.name, part): row for part, _ in mesh.spots})
            pick += stuff
    if alone.meshes:
        root, bounds = shapes.add(*alone.joined())
        rows.append(_Placed(root, bounds, np.eye(4), len(pick), alone.solid, alone.names))
        pick += alone.stuff
    if not rows:
        raise InputError(f"{description.name}: the scene holds nothing: add [[things]] or a ground")
    called = _called(parts)
    spots = {**{name: parts[part] for name, part in called.items()}, **spots}
    for name in spots:
        owner = of_mover.get(called.get(name, name))
        if owner is not None:
            owner.spots.append(name)
    return _assemble(shapes, materials, rows, pick, spots, description.light)


def _there(matrix: NDArray[np.float64], point: ArrayLike) -> tuple[float, float, float]:
    x, y, z = (matrix @ np.append(np.asarray(point, float), 1.0))[:3]
    return float(x), float(y), float(z)


def _called(parts: Iterable[tuple[str, str]]) -> dict[str, tuple[str, str]]:
    """Names of parts: "left eye" where one thing has such a part, else "ann left eye"."""
    every = list(parts)
    owners = Counter(part for _thing, part in every)
    return {
        part if owners[part] == 1 else f"{thing} {part}": (thing, part) for thing, part in every
    }


def at_moment(built: Built, description: Description, time_s: float) -> Built:
    """The same scene at another moment: what `build` makes of it, without making shapes anew."""
    spots = dict(built.spots)
    rows = []
    for row in built.placed:
        if row.moves is None:
            rows.append(row)
            continue
        thing, copy = description.things[row.moves[0]], row.moves[1]
        matrix = _matrix(description, thing, copy, thing.places[copy], time_s)
        for name in row.spots:
            spots[name] = _there(matrix @ np.linalg.inv(row.matrix), spots[name])
        row = replace(row, matrix=matrix)
        share = _step(thing, copy, time_s)
        if row.steps and share is not None:
            root, bounds = row.steps[round(share * _STEPS)]
            row = replace(row, root=root, bounds=bounds)
        rows.append(row)
    top, inverse = _top(rows)
    roots = np.array([row.root for row in rows], np.int32)
    world = built.world._replace(top=top, inverse=inverse, root=roots)
    return replace(built, world=world, spots=spots, placed=tuple(rows))


def _step(thing: Thing, copy: int, time_s: float) -> float | None:
    """Share of its two steps that something which walks has done, in parts of `_STEPS`."""
    gait, motion = thing.kind.gait, thing.motion
    if gait is None or motion is None:
        return None
    way = motion.speed_m_s * (time_s + motion.start_s) + motion.spread_m * copy
    length = gait.length_m(thing.values) * thing.places[copy][4]
    return round(way / length * _STEPS) % _STEPS / _STEPS


class _Alone:
    """Things that stand alone, gathered into one shape that still knows which is which."""

    def __init__(self) -> None:
        self.meshes: list[Mesh] = []
        self.stuff: list[int] = []
        self.solid: list[bool] = []
        self.names: list[str] = []

    def add(
        self, mesh: Mesh, matrix: NDArray[np.float64], stuff: list[int], solid: bool, name: str
    ) -> None:
        there = moved(mesh, matrix[:3, 3].tolist(), matrix=matrix[:3, :3])
        slot = np.asarray(mesh.slot + len(self.stuff), np.int32)
        self.meshes.append(replace(there, slot=slot))
        self.stuff += stuff
        self.solid.append(solid)
        self.names.append(name)

    def joined(self) -> tuple[Mesh, NDArray[np.int32]]:
        """One mesh, and which thing each triangle belongs to."""
        m = self.meshes
        thing = np.repeat(np.arange(len(m), dtype=np.int32), [len(part.xyz) for part in m])
        mesh = Mesh(
            np.concatenate([part.xyz for part in m]),
            np.concatenate([part.uv for part in m]),
            np.concatenate([part.normal for part in m]),
            np.concatenate([part.slot for part in m]),
            (),
        )
        return mesh, thing


@dataclass(frozen=True, slots=True, eq=False)
class _Placed:
    root: int
    bounds: NDArray[np.float64]
    matrix: NDArray[np.float64]
    first: int
    solid: list[bool]
    names: list[str]
    #: Which thing and which copy of it moves; None for what stands.
    moves: tuple[int, int] | None = None
    #: Roots and bounds of its shape at every part of two steps, if it walks.
    steps: tuple[tuple[int, NDArray[np.float64]], ...] = ()
    #: Spots that move with it.
    spots: list[str] = field(default_factory=list)


class _Meshes:
    """Shapes that have been made, so that equal things share one."""

    def __init__(self, description: Description) -> None:
        self._description = description
        self._known: dict[tuple[object, ...], Mesh] = {}
        self._count = 0

    def of(self, thing: Thing, variant: int, share: float | None = None) -> Mesh:
        """The shape of a thing, in one of its variants, at a share of two steps if it walks."""
        kind = thing.kind
        what = (kind.name, repr(sorted(thing.values.items())))
        key: tuple[object, ...] = (*what, variant, thing.seed if kind.variants > 1 else 0)
        values = thing.values
        if share is not None and kind.gait is not None:
            key, values = (*key, share), kind.gait.values(values, share)
        if kind.draped:
            key = (*key, thing.places[0])
        if key not in self._known:
            rng = np.random.default_rng([zlib.crc32(repr(what).encode()), variant, thing.seed])
            mesh = kind.make(values, rng)
            if kind.draped:
                mesh = _draped(mesh, thing, self._description)
            if not len(mesh.xyz):
                raise InputError(f"{self._description.name}, {kind.name}: nothing to draw")
            self._count += len(mesh.xyz)
            TRIANGLES.check(
                self._count,
                f"{self._description.name}: its shapes have {self._count:,} triangles",
                "make fewer different things, or copies of one",
            )
            self._known[key] = mesh
        return self._known[key]


def _draped(mesh: Mesh, thing: Thing, description: Description) -> Mesh:
    """Lay a flat thing on uneven ground, in the thing's own frame."""
    ground = description.ground
    if ground is None or is_flat(ground):
        return mesh
    x, y, _lift, turn, scale = thing.places[0]
    foot = float(ground_height(ground, np.array(x), np.array(y)))
    laid = draped(moved(mesh, (x, y, 0.0), turn, scale), ground)
    return moved(moved(laid, (-x, -y, -foot)), (0.0, 0.0, 0.0), -turn, 1 / scale)


def _matrix(
    description: Description, thing: Thing, copy: int, place: tuple[float, ...], time_s: float
) -> NDArray[np.float64]:
    x, y, lift, turn, scale = place
    if thing.motion is not None:
        x, y, heading = along_path(thing.motion, copy, time_s)
        turn = heading + thing.places[copy][3]
    ground = description.ground
    z = lift + (
        float(ground_height(ground, np.array(x), np.array(y))) if ground is not None else 0.0
    )
    c, s = math.cos(math.radians(turn)), math.sin(math.radians(turn))
    return np.array(
        [
            [scale * c, -scale * s, 0, x],
            [scale * s, scale * c, 0, y],
            [0, 0, scale, z],
            [0, 0, 0, 1],
        ]
    )


def _picked(
    thing: Thing, slots: tuple[str, ...], materials: _Materials, rng: np.random.Generator
) -> list[int]:
    out = []
    chosen = {slot: str(rng.choice(values)) for slot, values in thing.colours.items()}
    for slot in slots:
        name = chosen.get(slot, thing.stuff.get(slot, slot))
        out.append(materials.index(name, thing.kind.stuff.get(slot, "")))
    return out


def _assemble(
    shapes: _Shapes,
    materials: _Materials,
    rows: list[_Placed],
    pick: list[int],
    spots: dict[str, tuple[float, float, float]],
    words: LightWords,
) -> Built:
    top, inverse = _top(rows)
    world = World(
        top,
        inverse,
        np.array([row.root for row in rows], np.int32),
        aligned(np.concatenate(shapes.wide)),
        aligned(np.concatenate(shapes.blocks)),
        np.ascontiguousarray(np.concatenate(shapes.tris), np.float32),
    )
    surfaces = Surfaces(
        np.concatenate(shapes.uvs),
        np.concatenate(shapes.normals),
        np.concatenate(shapes.slots),
        np.concatenate(shapes.things),
        np.array([row.first for row in rows], np.int32),
        np.arange(len(rows), dtype=np.int32),
        np.array(pick, np.int32),
        np.ascontiguousarray(materials.rows),
    )
    return Built(
        world,
        surfaces,
        light_numbers(words),
        spots,
        tuple(tuple(row.solid) for row in rows),
        tuple(tuple(row.names) for row in rows),
        tuple(rows),
    )


def _top(rows: Sequence[_Placed]) -> tuple[NDArray[np.float32], NDArray[np.float32]]:
    """The tree over all placements, and the way from the world into each."""
    low, high, inverse = [], [], []
    for row in rows:
        b = row.bounds
        corners = np.array(
            [[b[i, 0], b[j, 1], b[k, 2], 1.0] for i in (0, 1) for j in (0, 1) for k in (0, 1)]
        )
        there = corners @ row.matrix.T
        low.append(there[:, :3].min(axis=0) - 1e-4)
        high.append(there[:, :3].max(axis=0) + 1e-4)
        inverse.append(np.linalg.inv(row.matrix)[:3].ravel())
    box, kid, order = build_tree(np.asarray(low, np.float32), np.asarray(high, np.float32), leaf=1)
    top, leaves = widened(box, kid)
    links = top.view(np.int32)[:, 48:56]
    links[links < 0] = -1 - order[leaves[-1 - links[links < 0], 0]]
    return aligned(top), np.ascontiguousarray(inverse, np.float32)


def light_numbers(words: LightWords) -> Light:
    """The light's words as the numbers that `render.trace.light` reads."""
    a, e = math.radians(words.sun_heading_deg), math.radians(words.sun_height_deg)
    to = np.array([math.sin(a) * math.cos(e), math.cos(a) * math.cos(e), math.sin(e)])
    gain = 2.0**words.exposure_ev
    sun = np.array(
        linear_rgb(words.sun_colour) if words.sun_colour else sun_colour(words.sun_height_deg)
    )
    sun = sun * words.sun_level * gain if words.sun_height_deg > -0.5 else np.zeros(3)
    zenith = np.array(linear_rgb(words.sky_colour)) * 0.55 * words.sky_level * gain
    horizon = np.array(linear_rgb(words.horizon_colour)) * 0.80 * words.sky_level * gain
    veil = np.array(linear_rgb(words.haze_colour)) * gain if words.haze_colour else 0.92 * horizon
    glow = words.sky_level * sun
    if words.when is not None:  # who says the sky without a date says all of it
        glow = np.maximum(glow, afterglow(words.sun_height_deg, horizon) / _GLOW_AT_SUN)
    ground = 0.18 * (zenith + horizon) + 0.12 * max(to[2], 0.0) * sun
    ambient = 0.30 * (zenith + horizon) / 2 + 0.05 * max(to[2], 0.0) * sun + words.fill * gain
    lamp = np.zeros((len(words.lamps), 13))
    for row, q in zip(lamp, words.lamps, strict=True):
        row[0:3], row[3:6], row[6] = (
            q.at_m,
            np.array(linear_rgb(q.colour)) * q.strength * gain,
            q.radius_m,
        )
        row[10] = -2.0
        if q.toward_m:
            aim = np.array(q.toward_m) - np.array(q.at_m)
            row[7:10] = aim / np.linalg.norm(aim)
            row[10] = math.cos(math.radians(q.cone_deg / 2))
        row[11] = max(row[3:6]) / _DIM
        row[12] = max(row[3:6].mean(), 1e-12)
    return Light(
        to,
        sun,
        math.tan(math.radians(words.sun_softness_deg / 2)),
        float(words.sky_level),
        glow,
        zenith,
        horizon,
        ground,
        ambient,
        float(words.cloud),
        3.912 / (1000.0 * words.visual_range_km),
        veil,
        lamp,
        len(lamp),
    )
